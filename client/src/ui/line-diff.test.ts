import { expect, test } from 'vitest';
import { diffLines } from './line-diff';

const marked = (a: string, b: string) =>
  diffLines(a, b).map((side) => side.map((l) => (l.same ? l.text : `* ${l.text}`)));

test('equal texts have no marks', () => {
  expect(marked('one\ntwo', 'one\ntwo')).toEqual([
    ['one', 'two'],
    ['one', 'two'],
  ]);
});

test('a changed line is marked on both sides, its neighbours are not', () => {
  expect(marked('net on\ncone 2\nslow', 'net on\ncone 3\nslow')).toEqual([
    ['net on', '* cone 2', 'slow'],
    ['net on', '* cone 3', 'slow'],
  ]);
});

test('a line that only one has', () => {
  expect(marked('a\nb', 'a\nnew\nb')).toEqual([
    ['a', 'b'],
    ['a', '* new', 'b'],
  ]);
});

test('a line twice on one side is the same only once', () => {
  expect(marked('x', 'x\nx')).toEqual([['x'], ['x', '* x']]);
});

test('nothing in common', () => {
  expect(marked('a', 'b')).toEqual([['* a'], ['* b']]);
});

test('very long texts are shown unmarked, whole', () => {
  const long = Array.from({ length: 401 }, (_, i) => `line ${i}`).join('\n');
  const [left, right] = diffLines(long, 'other');
  expect(left).toHaveLength(401);
  expect(left.every((l) => l.same)).toBe(true);
  expect(right).toEqual([{ text: 'other', same: true }]);
});
