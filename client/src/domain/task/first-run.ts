/** The first run asks one thing only: what the machine is called. The rest is asked when an act needs it. */
import { main } from './offer';
import type { Task } from './task';
import { nameLimit, taken, writes } from './typed';

export type FirstRunData = { readonly text?: string };

export const firstRun: Task<FirstRunData> = {
  name: 'first-run',
  first: () => ({ to: 'name' }),
  steps: {
    name: {
      kind: 'text',
      offers: (s) => [writes(s.data.text ?? ''), ...(taken(s.data.text, nameLimit) ? [main] : [])],
      act(s, a, _ctx, w) {
        if (a.do === 'type') return { to: s.step, data: { text: a.text } };
        const name = taken(s.data.text, nameLimit);
        if (a.do !== 'next' || !name) return undefined;
        return { end: 'named', with: { machine: w.put('machine', { name }), wrote: true } };
      },
    },
  },
};
