import { expect, test } from 'vitest';
import { passes, type Work } from './tolerance';

const star = (...scores: number[]) =>
  [0, 45, 90, 135, 180, 225, 270, 315, 'circle-left', 'circle-right'].map((direction, i) => ({
    direction,
    score: scores[i] ?? 0,
  }));
const two = (a: number, b: number, marks?: string[]) => [
  { direction: 0, score: a, marks },
  { direction: 180, score: b },
];

test.each<[Work, string, ReturnType<typeof star> | ReturnType<typeof two>, string]>([
  ['show', 'clean both ways, the rest not sewn', two(0, 0), 'sew-all'],
  ['show', 'clean in all eight and both circles', star(), 'passes'],
  ['show', 'one dot in one direction', star(0, 0, 1), 'fails'],
  ['custom', 'dots on the back', two(1, 1), 'fails'],
  ['custom', 'clean', two(0, 0), 'passes'],
  ['custom', 'dots on top', two(-1, -1), 'fails'],
  ['custom', 'loops on the back', two(2, 2), 'fails'],
  ['edge-to-edge', 'dots on top', two(-1, 0), 'passes'],
  ['edge-to-edge', 'dots on top one way and on the back the other', two(-1, 1), 'fails'],
  ['edge-to-edge', 'loops on top', two(-2, -2), 'fails'],
  ['practice', 'dots either way', two(-1, 1), 'passes'],
  ['practice', 'loops', two(2, 0), 'fails'],
  ['practice', 'stitches lift', two(0, 0, ['lifts']), 'fails'],
  ['practice', 'nothing sewn', [], 'fails'],
])('%s: %s', (work, _what, rays, want) => expect(passes(work, rays)).toBe(want));

test('custom: dots pass where the threads look alike', () => {
  expect(passes('custom', two(1, 1), true)).toBe('passes');
  expect(passes('custom', two(-1, 0), true)).toBe('passes');
  expect(passes('custom', two(2, 2), true)).toBe('fails');
  expect(passes('show', two(1, 1), true)).toBe('fails');
});
