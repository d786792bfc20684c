import { expect, test } from 'vitest';
import { bothKept, type Row, versions } from './read';

const entry = (replica: string, value: string | undefined) => ({
  dot: `${replica.repeat(32)}:1`,
  at: [1000, 0] as const,
  by: '',
  ...(value === undefined ? {} : { value }),
});
const row = (...live: ReturnType<typeof entry>[]) =>
  ({ kind: 'note', id: '0'.repeat(32), t: 0, fields: { text: { live, dead: [] } } }) as unknown as Row;

test('two values are two versions, in their order', () => {
  const both = row(entry('a', 'one'), entry('b', 'two'));
  expect(versions(both, 'text').map((v) => v.value)).toEqual(['one', 'two']);
  expect(bothKept(both)).toEqual(['text']);
});

test('one value under two names is one, and who replaces it names both', () => {
  const twice = row(entry('a', 'one'), entry('b', 'one'));
  expect(versions(twice, 'text').map((v) => v.dots)).toEqual([[`${'a'.repeat(32)}:1`, `${'b'.repeat(32)}:1`]]);
  expect(bothKept(twice)).toEqual([]);
});

test('a purged value is no version', () => {
  expect(bothKept(row(entry('a', 'one'), entry('b', undefined)))).toEqual([]);
});
