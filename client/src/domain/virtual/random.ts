/** A seeded stream of numbers: the same seed gives the same machine, the same person and the same mistakes. */

export type Random = {
  /** From 0 up to 1. */
  readonly next: () => number;
  /** Standard normal. */
  readonly normal: () => number;
};

/** 32-bit state, period 2^32 (mulberry32; public domain). Good enough to draw machines with, for nothing secret. */
export function seeded(seed: number): Random {
  let state = seed >>> 0;
  const next = () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
  // Box and Muller's second number is thrown away: a stream that remembers nothing can be forked.
  const normal = () => Math.sqrt(-2 * Math.log(1 - next())) * Math.cos(2 * Math.PI * next());
  return { next, normal };
}

/** A stream of its own for one part of a run, so that what one part draws does not move another. */
export const fork = (seed: number, part: number): Random => seeded(Math.imul(seed ^ 0x9e3779b9, 2 * part + 1));

export const between = (r: Random, from: number, to: number) => from + (to - from) * r.next();
/** As many below the geometric middle as above: for quantities that are "half or double". */
export const ratioBetween = (r: Random, from: number, to: number) => from * (to / from) ** r.next();
export const chance = (r: Random, p: number) => r.next() < p;
export function pick<T>(r: Random, all: readonly T[]): T {
  const one = all[Math.floor(r.next() * all.length)];
  if (one === undefined) throw new RangeError('nothing to pick from');
  return one;
}
/** A key by its weight; the weights need not sum to 1. */
export function weighted(r: Random, weights: { readonly [key: string]: number }): string {
  const all = Object.entries(weights);
  let left = r.next() * all.reduce((n, [, w]) => n + w, 0);
  for (const [key, w] of all) {
    left -= w;
    if (left < 0) return key;
  }
  throw new RangeError('no weight above 0');
}
