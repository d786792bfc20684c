/**
 * Top feel: draw the thread from behind the needle and away, needle up, tension closed. What is not as usual leads to
 * one look at the path, then the feel again: a path mended is no reason to turn a knob.
 */
import { findingStates } from '../knowledge/findings';
import { notNow, picked, tiles } from './offer';
import { place } from './place';
import type { Move, Task, TaskState, Writer } from './task';

/** States of the finding `pull_top`. */
export const feels = findingStates.pull_top;
export type Feel = (typeof feels)[number];

/** Where to look first, as a finding and its states (normal first). */
const pathLooks = {
  light: { finding: 'floss_discs', states: findingStates.floss_discs },
  stiff: { finding: 'threading_walk', states: findingStates.threading_walk },
  jerky: { finding: 'supply_look', states: findingStates.supply_look },
} as const;

export type TopFeelData = { readonly feel?: Feel; readonly looked?: true };
type S = TaskState<TopFeelData>;

export const topFeel: Task<TopFeelData> = {
  name: 'top-feel',
  caution: ['still', 'needle'],
  first: () => ({ to: 'pull' }),
  steps: {
    pull: {
      kind: 'tiles',
      cautions: ['still'],
      offers: () => [...tiles(feels), ...tiles(['cant-tell']), notNow],
      act(s, a, _ctx, w) {
        const feel = picked(a, feels);
        if (feel) return felt(s, feel, w);
        const none = picked(a, ['cant-tell', 'not-now']);
        return none ? { end: none } : undefined;
      },
    },
    look: {
      kind: 'tiles',
      cautions: ['still', 'needle'],
      offers: (s) => [...tiles(lookAt(s).states), notNow],
      act(s, a, _ctx, w) {
        const { finding, states } = lookAt(s);
        const state = picked<string>(a, states);
        if (state) {
          w.put('finding', { machine: s.machine, finding, state, ...place(s) });
          return { to: 'pull', data: { looked: true } };
        }
        return picked(a, ['not-now']) ? { end: 'felt', with: { feel: s.data.feel, wrote: true } } : undefined;
      },
    },
  },
};

function felt(s: S, feel: Feel, w: Writer): Move<TopFeelData> {
  w.put('reading', { type: 'pull', machine: s.machine, answer: feel, ...place(s) });
  w.put('finding', { machine: s.machine, finding: 'pull_top', state: feel, ...place(s) });
  return feel === 'as_usual' || s.data.looked
    ? { end: 'felt', with: { feel, wrote: true } }
    : { to: 'look', data: { feel } };
}

function lookAt(s: S): (typeof pathLooks)[keyof typeof pathLooks] {
  return pathLooks[s.data.feel === undefined || s.data.feel === 'as_usual' ? 'light' : s.data.feel];
}
