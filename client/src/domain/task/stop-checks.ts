/**
 * What to look at after something happened, in order (power off first, always). Kept as data: the same table drives the
 * steps and their tests. Common practice at the bench, no published source.
 */
import { findingStates } from '../knowledge/findings';

export const happenings = ['struck', 'jam', 'knock', 'heat', 'runs-by-itself', 'dropped'] as const;
export type Happening = (typeof happenings)[number];

export type StopCheck = {
  readonly finding?: string; // where the model knows this look
  readonly states: readonly string[]; // good ones first; a single one is an act to be done
  readonly bad: readonly string[]; // of the states: a technician, or another bobbin case after a fall
  readonly sews?: true; // power is on again for it, and its one button says that it was sewn and has stopped
};

export const stopChecks = {
  'cut-free': { states: ['free', 'stuck'], bad: ['stuck'] },
  seat: { finding: 'case_seat', states: findingStates.case_seat, bad: [] },
  pieces: { states: ['whole', 'all-found', 'missing'], bad: ['missing'] },
  needle: { states: ['new-needle'], bad: [] },
  look: { finding: 'hook_look', states: findingStates.hook_look, bad: ['nick'] },
  cotton: { states: ['smooth', 'catches'], bad: ['catches'] },
  turn: { finding: 'hand_turn', states: findingStates.hand_turn, bad: ['misses', 'binds'] },
  thread: { states: ['threaded'], bad: [] },
  'sew-scrap': { states: ['sewn'], bad: [], sews: true },
  scrap: { states: ['sews-well', 'ticks', 'misses-stitches'], bad: ['ticks', 'misses-stitches'] },
  dent: { states: ['none', 'dent'], bad: ['dent'] },
  roll: { states: ['true', 'wobbles'], bad: ['wobbles'] },
  spin: { states: ['free', 'rubs'], bad: ['rubs'] },
  click: { states: ['clicks', 'no-click'], bad: ['no-click'] },
} as const satisfies { readonly [check: string]: StopCheck };
export type StopCheckName = keyof typeof stopChecks;

const afterStrike = ['pieces', 'needle', 'look', 'cotton', 'thread', 'turn', 'sew-scrap', 'scrap'] as const;

/** Heat and a machine that runs by itself have nothing an operator looks at: power off, technician. */
export const stopPaths: { readonly [h in Happening]: readonly StopCheckName[] } = {
  struck: afterStrike,
  jam: ['cut-free', ...afterStrike],
  knock: ['seat', ...afterStrike],
  heat: [],
  'runs-by-itself': [],
  dropped: ['dent', 'roll', 'spin', 'click'],
};
