import { expect, test } from 'vitest';
import type { Kept, Sample } from './context';
import { sewnNow } from './directions-now';
import { filled } from './world';

const place = { balancing: 'b', round: 2 };
let ids = 0;
const sample = (scores: readonly number[], more: Partial<Sample> = {}): Kept<Sample> => ({
  id: `s${ids++}`,
  at: ids,
  by: '',
  ...place,
  allAlike: false,
  rays: scores.map((score, i) => ({ direction: (360 / scores.length) * i, score })),
  ...more,
});
const now = (...samples: readonly Kept<Sample>[]) => sewnNow({ ...filled, samples }, place);

test('only what was sewn in this round of this balancing', () => {
  expect(now()).toBeUndefined();
  expect(now(sample([1, 1], { round: 1 }), sample([1, 1], { balancing: 'a' }))).toBeUndefined();
  expect(now(sample([1, 1]))?.said.verdict.is).toBe('tension');
  expect(
    sewnNow({ ...filled, samples: [sample([1, 1], { balancing: undefined, round: 1 })] }, { round: 1 }),
  ).toBeUndefined();
});

test('sewn again the same way, the newest counts; the other way stands beside it', () => {
  const again = now(sample([2, 0], { mode: 'regulated' }), sample([1, 1], { mode: 'regulated' }));
  expect(again?.stars.map((s) => s.rays.map((r) => r.score))).toEqual([[1, 1]]);
  const both = now(sample([1, 1], { mode: 'regulated' }), sample([0, 0], { mode: 'manual' }));
  expect(both?.stars.map((s) => s.mode)).toEqual(['regulated', 'manual']);
  expect(both?.said.modes).toBe('regulated-only');
});

test('a star takes the place of the two lines, two lines not that of a star', () => {
  const star = sample([2, 1, 0, 0, 0, 0, 0, 1]);
  expect(now(sample([2, 0]), star)?.stars.map((s) => s.rays.length)).toEqual([8]);
  expect(now(star, sample([0, 0]))?.stars.map((s) => s.rays.length)).toEqual([8, 2]);
});
