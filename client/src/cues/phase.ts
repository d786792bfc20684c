/** What a paced test asks for at a moment, worked out from the clock alone: nothing is counted by ticks. Pure. */
import { type Cue, dropMs, type Gaps } from '../domain/task';

export type Phase = {
  /** pick-up: take hold close to the case · hold: still · shake: once · read: the strip · over */
  readonly name: 'pick-up' | 'hold' | 'shake' | 'read' | 'over';
  readonly drop: number; // place in this run, from 0
  readonly left: number; // whole seconds until the next word, at least 1 while anything is left
};

/** "Shake" stands for a second, then the strip is to be read (our choice; the quiet may be shorter). */
const shakeMs = 1000;

/** `ms` since Start. */
export function phaseAt(gaps: Gaps, drops: number, ms: number): Phase {
  const one = dropMs(gaps);
  if (ms >= one * drops) return { name: 'over', drop: drops - 1, left: 0 };
  const drop = Math.max(0, Math.floor(ms / one));
  const into = Math.max(0, ms) - drop * one;
  const hold = gaps.pickUpS * 1000;
  const shake = hold + gaps.holdS * 1000;
  const read = Math.min(shake + shakeMs, one);
  const left = (until: number) => Math.max(1, Math.ceil((until - into) / 1000));
  if (into < hold) return { name: 'pick-up', drop, left: left(hold) };
  if (into < shake) return { name: 'hold', drop, left: left(shake) };
  if (into < read) return { name: 'shake', drop, left: left(one) };
  return { name: 'read', drop, left: left(one) };
}

/** How many drops of a run are over, the quiet after them included. */
export const passedAt = (gaps: Gaps, drops: number, ms: number): number =>
  Math.min(drops, Math.max(0, Math.floor(ms / dropMs(gaps))));

/** The cues that fell in (after, upTo] ms since Start. */
export const cuesBetween = (cues: readonly Cue[], after: number, upTo: number): readonly Cue[] =>
  cues.filter((c) => c.atMs > after && c.atMs <= upTo);
