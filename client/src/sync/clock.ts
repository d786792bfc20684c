/**
 * Hybrid logical clock of two integers. Stamps are for showing and for naming the first of two, never for correctness.
 * After Kulkarni, Demirbas, Madappa, Avva and Leone, "Logical Physical Clocks" (2014), with a bounded count.
 */

/** UTC milliseconds since 1970 and a count within that millisecond (0 to 65,535). */
export type Stamp = readonly [ms: number, count: number];

/** How far ahead of the local clock a foreign stamp may be and still move it: 5 minutes. */
export const maxAheadMs = 5 * 60 * 1000;

const maxCount = 65_535;

/** Negative, 0 or positive as a lies before, at or after b. */
export function compareStamps(a: Stamp, b: Stamp): number {
  return a[0] - b[0] || a[1] - b[1];
}

/**
 * The stamp of a new event after `last`, the last one given or seen. Wall time may step back, the stamp never does;
 * a full count moves it 1 ms ahead. The result is the clock's new `last` too.
 */
export function next(last: Stamp, nowMs: number): Stamp {
  if (nowMs > last[0]) return [nowMs, 0];
  return last[1] === maxCount ? [last[0] + 1, 0] : [last[0], last[1] + 1];
}

/**
 * Takes in a foreign stamp, so that what is written next lies after what was read. One more than 5 minutes ahead of
 * wall time leaves the clock alone and is skewed.
 */
export function seen(last: Stamp, stamp: Stamp, nowMs: number): { last: Stamp; skewed: boolean } {
  if (stamp[0] > nowMs + maxAheadMs) return { last, skewed: true };
  return { last: compareStamps(stamp, last) > 0 ? stamp : last, skewed: false };
}
