/**
 * First five, what a good operator does before thinking: rethread from the cone, a new needle, card under the spring, three
 * drops, two lines in two colours. Each is done or not now; what each shows goes down as a finding.
 */
import { findingStates } from '../knowledge/findings';
import { main, notNow, picked, tiles } from './offer';
import { newNeedle, place } from './place';
import type { Move, Step, Task } from './task';

export const five = ['rethread', 'needle', 'card', 'drops', 'lines'] as const;
type Five = (typeof five)[number];

export type FirstFiveData = { readonly did?: readonly Five[]; readonly sample?: string };

const after = (step: Five): string => five[five.indexOf(step) + 1] ?? 'done';

function step(
  name: Five,
  rest: Pick<Step<FirstFiveData>, 'kind' | 'cautions' | 'offers' | 'act'>,
): Step<FirstFiveData> {
  return {
    ...rest,
    offers: (s, ctx) => [...rest.offers(s, ctx), notNow],
    act: (s, a, ctx, w) => (picked(a, ['not-now']) ? { to: after(name) } : rest.act(s, a, ctx, w)),
  };
}

const done = (did: readonly Five[] | undefined, name: Five): Move<FirstFiveData> => ({
  to: after(name),
  data: { did: [...(did ?? []), name] },
});

const threaded = findingStates.threading_walk;
const lint = findingStates.card_spring;

export const firstFive: Task<FirstFiveData> = {
  name: 'first-five',
  caution: ['still', 'needle', 'manual'],
  first: () => ({ to: 'rethread' }),
  returned(s, o) {
    if (o.task === 'drop-test')
      return ['in-band', 'left'].includes(o.how) ? done(s.data.did, 'drops') : { to: 'drops' };
    if (o.how !== 'sewn') return { to: s.step };
    const { sample } = o.data;
    const move = done(s.data.did, 'lines');
    return 'to' in move
      ? { ...move, data: { ...move.data, sample: typeof sample === 'string' ? sample : undefined } }
      : move;
  },
  steps: {
    rethread: step('rethread', {
      kind: 'tiles',
      cautions: ['still'],
      offers: () => tiles(threaded),
      act(s, a, _ctx, w) {
        const state = picked(a, threaded);
        if (!state) return undefined;
        w.put('finding', { machine: s.machine, finding: 'threading_walk', state, ...place(s) });
        return done(s.data.did, 'rethread');
      },
    }),
    needle: step('needle', {
      kind: 'tick',
      cautions: ['still', 'needle', 'eyes'],
      offers: () => [main],
      act(s, a, ctx, w) {
        if (a.do !== 'next') return undefined;
        newNeedle(s, ctx.now, w);
        return done(s.data.did, 'needle');
      },
    }),
    card: step('card', {
      kind: 'tiles',
      cautions: ['still', 'screw'],
      offers: () => tiles(lint),
      act(s, a, _ctx, w) {
        const state = picked(a, lint);
        if (!state) return undefined;
        w.put('finding', { machine: s.machine, finding: 'card_spring', state, ...place(s) });
        return done(s.data.did, 'card');
      },
    }),
    drops: step('drops', {
      kind: 'tick',
      cautions: ['floor'],
      offers: () => [main],
      act: (_s, a) => (a.do === 'next' ? { call: 'drop-test' } : undefined),
    }),
    lines: step('lines', {
      kind: 'tick',
      cautions: ['moving'],
      offers: () => [main],
      act: (_s, a) => (a.do === 'next' ? { call: 'sew' } : undefined),
    }),
    done: {
      kind: 'result',
      offers: () => [main],
      act: (s, a) => (a.do === 'next' ? { end: 'done', with: { sample: s.data.sample, wrote: true } } : undefined),
    },
  },
};
