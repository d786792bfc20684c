/** Takes "do not run" away from a machine, with the reason of whoever does it. */
import { main, notNow, picked } from './offer';
import type { Task } from './task';
import { reasonLimit, taken, writes } from './typed';
import { standing } from './way-in';

export type LiftData = { readonly text?: string };

export const lift: Task<LiftData> = {
  name: 'lift',
  first: (_s, ctx) => (standing(ctx).length > 0 ? { to: 'reason' } : { end: 'lifted' }),
  steps: {
    reason: {
      kind: 'text',
      cautions: ['technician', 'manual'],
      offers: (s) => [writes(s.data.text ?? ''), ...(taken(s.data.text, reasonLimit) ? [main] : []), notNow],
      act(s, a, ctx, w) {
        if (a.do === 'type') return { to: s.step, data: { text: a.text } };
        if (picked(a, ['not-now'])) return { end: 'stays' };
        const reason = taken(s.data.text, reasonLimit);
        if (a.do !== 'next' || !reason) return undefined;
        for (const of of standing(ctx)) w.put('event', { machine: s.machine, type: 'lifted', of, reason });
        return { end: 'lifted', with: { wrote: true } };
      },
    },
  },
};
