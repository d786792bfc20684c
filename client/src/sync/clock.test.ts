import fc from 'fast-check';
import { expect, test } from 'vitest';
import { compareStamps, maxAheadMs, next, type Stamp, seen } from './clock';

test.each<[string, Stamp, number, Stamp]>([
  ['wall clock steps back', [5000, 7], 4000, [5000, 8]],
  ['same millisecond', [5000, 7], 5000, [5000, 8]],
  ['new millisecond', [5000, 7], 5001, [5001, 0]],
  ['a full count moves one millisecond ahead', [5000, 65_535], 5000, [5001, 0]],
])('next: %s', (_, last, nowMs, want) => {
  expect(next(last, nowMs)).toEqual(want);
});

test.each<[string, Stamp, Stamp, number, Stamp, boolean]>([
  ['a later stamp moves the clock', [5000, 7], [6000, 3], 5000, [6000, 3], false],
  ['an earlier one does not', [5000, 7], [4000, 9], 5000, [5000, 7], false],
  ['five minutes ahead still moves it', [5000, 7], [5000 + maxAheadMs, 1], 5000, [5000 + maxAheadMs, 1], false],
  ['further ahead is skewed', [5000, 7], [5001 + maxAheadMs, 0], 5000, [5000, 7], true],
])('seen: %s', (_, last, stamp, nowMs, want, skewed) => {
  expect(seen(last, stamp, nowMs)).toEqual({ last: want, skewed });
});

const stamp = fc.tuple(fc.nat(100), fc.nat(65_535));
test('what is written next lies after all that was written or read, whatever wall time does', () => {
  fc.assert(
    fc.property(stamp, fc.array(fc.tuple(fc.boolean(), fc.nat(100), stamp)), (start, acts) => {
      let last: Stamp = start;
      for (const [write, nowMs, foreign] of acts) {
        const before = last;
        last = write ? next(last, nowMs) : seen(last, foreign, nowMs).last;
        const after = compareStamps(last, before);
        if (write ? after <= 0 : after < 0) return false;
      }
      return true;
    }),
    { seed: 3 },
  );
});
