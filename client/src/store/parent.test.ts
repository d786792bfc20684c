import { expect, test } from 'vitest';
import type { Field } from '../sync/merge';
import { madeAt, parentOf } from './parent';

const dot = `${'aa'.repeat(16)}:1`;
const field = (ms: number, ...values: (string | undefined)[]): Field => ({
  live: values.map((value) => ({ dot, at: [ms, 0], by: '', ...(value !== undefined && { value }) })),
  dead: [],
});

test.each([
  ['change', { screw: field(1, 'top:m'), machine: field(1, 'm') }, 'top:m'],
  ['reading', { machine: field(1, 'm'), bobbinCase: field(1, 'c') }, 'c'],
  ['reading', { machine: field(1, 'm') }, 'm'],
  ['note', { thread: field(1, 't'), quilt: field(1, 'q') }, 't'],
  ['note', { text: field(1, 'hello') }, ''],
  ['bench', { quilt: field(1, 'q') }, ''],
  ['recipe', { machine: field(1, 'newest', 'older') }, 'newest'],
  ['recipe', { machine: field(1, undefined, 'older') }, 'older'], // the newer one was purged
  ['event', { machine: field(1, 'm'), type: field(1, 'good-now') }, 'm'],
  ['event', { machine: field(1, 'm'), type: field(1, 'do-not-run') }, 'm:stop'],
  ['event', { machine: field(1, 'm'), type: field(1, 'lifted') }, 'm:stop'],
  ['kindOfALaterVersion', { machine: field(1, 'm') }, ''],
  ['constructor', { machine: field(1, 'm') }, ''], // a stranger's copy may have any kind
])('%s %#', (kind, fields, want) => expect(parentOf(kind, fields)).toBe(want));

test('a record was made when its zone was written, whatever clock wrote the rest', () => {
  expect(madeAt({ zone: field(500, 'z'), text: field(3, 'from a phone whose clock is behind') })).toBe(500);
  expect(madeAt({ text: field(9, 'a'), name: field(7, 'b') })).toBe(7);
  expect(madeAt({})).toBe(0);
});
