/** The drop test's pacing as data: what sounds when, for as many drops as one Start runs. */
import type { Gaps } from './context';

export type Cue = {
  readonly atMs: number; // since Start
  /** number: a local voice says which drop, or a short tone · hold: low tone · shake: high tone · tick: of two, take hold again · end */
  readonly cue: 'number' | 'hold' | 'shake' | 'tick' | 'end';
  readonly drop: number; // place in this run, from 0
};

export const dropsPerStart = 3;

/** What the gaps may be, in seconds. Hold 3 s is common practice, no published source; the rest is our choice. */
export const gapBounds = {
  pickUpS: { least: 0, usual: 5, most: 60 },
  holdS: { least: 2, usual: 3, most: 30 },
  quietS: { least: 2, usual: 3, most: 60 },
} as const;

export const usualGaps: Gaps = {
  pickUpS: gapBounds.pickUpS.usual,
  holdS: gapBounds.holdS.usual,
  quietS: gapBounds.quietS.usual,
};

/** Gaps as they may be used: whole seconds inside the bounds, the usual ones for what is no number. */
export function fitGaps(gaps: Gaps): Gaps {
  const one = (key: keyof Gaps) => {
    const { least, usual, most } = gapBounds[key];
    const s = gaps[key];
    return Number.isFinite(s) ? Math.min(most, Math.max(least, Math.round(s))) : usual;
  };
  return { pickUpS: one('pickUpS'), holdS: one('holdS'), quietS: one('quietS') };
}

/** Length of one drop in ms: take hold, hold, shake and read. */
export const dropMs = (gaps: Gaps) => (gaps.pickUpS + gaps.holdS + gaps.quietS) * 1000;

/** Ticks stand 300 ms apart (our choice: two sounds the ear still counts as a pair). */
const tickApartMs = 300;

export function schedule(gaps: Gaps, drops: number = dropsPerStart): readonly Cue[] {
  const cues: Cue[] = [];
  for (let drop = 0; drop < drops; drop++) {
    const from = drop * dropMs(gaps);
    const hold = from + gaps.pickUpS * 1000;
    const shake = hold + gaps.holdS * 1000;
    const over = shake + gaps.quietS * 1000;
    if (gaps.pickUpS > 0 || drop === 0) cues.push({ atMs: from, cue: 'number', drop });
    cues.push({ atMs: hold, cue: 'hold', drop }, { atMs: shake, cue: 'shake', drop });
    if (drop === drops - 1) cues.push({ atMs: over, cue: 'end', drop });
    else cues.push({ atMs: over - tickApartMs, cue: 'tick', drop }, { atMs: over, cue: 'tick', drop });
  }
  return cues;
}

/** Which drop of a run is under way at atMs. */
export const dropAt = (gaps: Gaps, drops: number, atMs: number) =>
  Number.isFinite(atMs) ? Math.min(drops - 1, Math.max(0, Math.floor(atMs / dropMs(gaps)))) : 0;

/** A touch as the page saw it. */
export type Touch = { readonly pointers: number; readonly heldMs: number; readonly asking: boolean };

/** A palm, a long press, or a touch while nothing is asked does not count. One pointer, under 1 s: our choice. */
export const touchCounts = (t: Touch) => t.asking && t.pointers === 1 && t.heldMs < 1000;
