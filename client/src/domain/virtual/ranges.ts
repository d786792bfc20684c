/**
 * What a virtual machine may be: the one table of its parameters. Every range is our own estimate, wide on purpose, from what
 * the trade says happens (a whole turn, a half turn, five on the clock); no published source gives them, and no machine was
 * measured. Two things are not drawn but follow from them: where the top knob balances, and how many of its minutes are good.
 *
 * Widths are set so that the plain walk in half turns needs a median of at least five sewn samples (`npm run bench:advice`
 * prints it). Narrower ones would flatter every method.
 */
import { between, type Random, ratioBetween } from './random';

type Range = { readonly from: number; readonly to: number; readonly unit: string; readonly ratio?: true };

export const ranges = {
  /** Pull of the cone and its eyelet before the first hole. */
  cone: { from: 2, to: 5, unit: 'cN' },
  /** Wrap at each of three pre-tension holes, and at all posts from the discs to the needle. */
  wrapAtHole: { from: 30, to: 80, unit: 'deg' },
  wrapAfter: { from: 90, to: 240, unit: 'deg' },
  /** What a whole turn of the knob adds to the force on the discs, as a share of that force at balance. */
  springPerTurn: { from: 0.12, to: 0.36, unit: 'share', ratio: true },
  /** Pull of the top over pull of the bobbin when the lock lies in the middle. The trade says three to seven by a gauge, one
   * garment trial six to seven; a case that holds at rest pulls at least its weight, which is more than a gauge shows. */
  ratio: { from: 2.2, to: 4.5, unit: 'times', ratio: true },
  /** Extra pull of the bobbin that would drag the lock through the whole sandwich: soft and lofty high, thin and hard low. */
  cloth: { from: 6, to: 18, unit: 'cN', ratio: true },
  /** Case and bobbin together with a full bobbin, and how much of that is thread. */
  caseMass: { from: 24, to: 34, unit: 'g' },
  bobbinThread: { from: 4, to: 8, unit: 'g' },
  /** What a clock-minute of the case screw changes, as a share of the pull at balance. */
  screwPerMinute: { from: 0.012, to: 0.032, unit: 'share', ratio: true },
  staticOverRunning: { from: 1.04, to: 1.2, unit: 'times' },
  /** Height of this person's shake, and how much it differs from one to the next. */
  shake: { from: 35, to: 60, unit: 'mm' },
  shakeSpread: { from: 0.06, to: 0.16, unit: 'share' },
  /** The jerk of the stop, in weights: a case that holds against it does not move at all. */
  stop: { from: 1.9, to: 2.6, unit: 'times' },
  /** Needle flex of a sound machine: first harmonic of the lock's depth, in sandwiches, and where it points. */
  flex: { from: 0.01, to: 0.09, unit: 'sandwich' },
  flexToward: { from: -60, to: 60, unit: 'deg' },
  /** Scatter of the lock from stitch to stitch, and from one sewn line to the next. */
  stitchScatter: { from: 0.02, to: 0.07, unit: 'sandwich' },
  lineScatter: { from: 0.01, to: 0.05, unit: 'sandwich' },
  /** How far a curve at working speed throws the lock toward the back. */
  curve: { from: 0.02, to: 0.1, unit: 'sandwich' },
  /** Scatter of stitch length. */
  lengthScatter: { from: 0.03, to: 0.08, unit: 'share' },
  /** The person: how blurred their limits between "none", "dots" and "loops" are, and how often they plainly misread. */
  blur: { from: 0.01, to: 0.06, unit: 'sandwich' },
  misread: { from: 0.01, to: 0.09, unit: 'chance' },
  /** What this hand takes for the usual pull, as a share more or less; each pull differs by a tenth besides. */
  feelBias: { from: -0.15, to: 0.15, unit: 'share' },
} as const satisfies { readonly [name: string]: Range };

export type Drawn = { readonly [name in keyof typeof ranges]: number };

export function draw(r: Random): Drawn {
  return Object.fromEntries(
    Object.entries<Range>(ranges).map(([name, { from, to, ratio }]) => [
      name,
      ratio ? ratioBetween(r, from, to) : between(r, from, to),
    ]),
  ) as Drawn;
}

/** Random starts of the pure setting faults, in clock-minutes each way: four turns of the top, a third of a turn of the case screw. */
export const starts = { top: 240, bobbin: 20 } as const;

/**
 * Depths of the lock, 0 top face … 1 back face, at which a sharp eye changes its word. A lock drawn out of the cloth lies on its
 * face, hardly above it, where our straight line goes on: a wire is what by the line is well past the face.
 */
export const eye = { dots: 0.25, pulled: 0.07, wire: -0.3 } as const;

/** A drop of 4 to 6 in: common practice. */
export const dropBandMm = { from: 101.6, to: 152.4 } as const;
