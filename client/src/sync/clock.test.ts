import fc from 'fast-check';
import { expect, test } from 'vitest';
import { compareStamps, next, type Stamp, seen } from './clock';
import { loadVectors } from './vectors';

type Case = {
  name: string;
  call: 'next' | 'seen';
  lastMs: number;
  lastCount: number;
  nowMs: number;
  seenMs?: number;
  seenCount?: number;
  wantMs: number;
  wantCount: number;
  skewed?: boolean;
};

const keys = [
  'name',
  'call',
  'lastMs',
  'lastCount',
  'nowMs',
  'seenMs?',
  'seenCount?',
  'wantMs',
  'wantCount',
  'skewed?',
];

test.each(loadVectors<Case>('clock', keys))('$call: $name', (c) => {
  const last: Stamp = [c.lastMs, c.lastCount];
  const want: Stamp = [c.wantMs, c.wantCount];
  if (c.call === 'next') expect(next(last, c.nowMs)).toEqual(want);
  else expect(seen(last, [c.seenMs ?? -1, c.seenCount ?? -1], c.nowMs)).toEqual({ last: want, skewed: c.skewed });
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
