import fc from 'fast-check';
import { expect, test } from 'vitest';
import { asked, atRest, backOff, closestMs, failed, longestMs, never, savedMs, succeeded } from './when';

const now = 1_000_000;

test('waits double from 2 s to 5 minutes and are spread by chance', () => {
  expect([1, 2, 3, 4, 5, 6, 7, 8, 99].map((n) => backOff(n, 0) / 1000)).toEqual([2, 4, 8, 16, 32, 64, 128, 150, 150]);
  expect([1, 2, 99].map((n) => backOff(n, 0.999))).toEqual([3998, 7996, 299_850].map((ms) => expect.closeTo(ms, 0)));
  fc.assert(
    fc.property(
      fc.integer({ min: 1, max: 1000 }),
      fc.double({ min: 0, max: 0.999, noNaN: true }),
      (failures, random) => {
        const ms = backOff(failures, random);
        return ms >= closestMs && ms <= longestMs;
      },
    ),
  );
});

test('a save waits for what follows at once, other triggers do not wait', () => {
  expect(asked(atRest, 'saved', now).nextAt).toBe(now + savedMs);
  expect(asked(atRest, 'hand', now).nextAt).toBe(now);
  expect(asked(asked(atRest, 'saved', now), 'saved', now + 300).nextAt).toBe(now + savedMs);
});

test('after a failure nothing but a hand comes sooner than 2 s, and nothing before the server asked', () => {
  const down = failed(atRest, now, 0.5);
  expect(asked(down, 'online', now + 100).nextAt).toBe(now + closestMs);
  expect(asked(down, 'hand', now + 100).nextAt).toBe(now + 100);
  expect(asked(down, 'online', now + 2500).nextAt).toBe(now + 2500);
  expect(asked(failed(atRest, now, 0, 60), 'hand', now).nextAt).toBe(now + 60_000);
});

test('a try that went well forgets the failures, not what was asked for meanwhile', () => {
  const after = failed(failed(atRest, now, 0), now, 0);
  expect(succeeded({ ...after, nextAt: never }, now)).toEqual({ ...atRest, triedAt: now });
  expect(succeeded(asked({ ...after, nextAt: never }, 'hand', now), now).nextAt).toBe(now);
});
