import { parse } from 'csv-parse/sync';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { csv } from './csv';

/** Reads it back with a general parser, strict about quotes and about how many cells a row has. */
const read = (text: string): string[][] => parse(text, { record_delimiter: '\r\n', relax_quotes: false });

describe('read back by a general parser', () => {
  test('numbers, text with commas, quotes and lines, nothing at all', () => {
    const rows = [[1.5, 'two, three', 'she said "four"', 'a\nb', undefined, true, '', ' edge ']];
    const headings = ['n', 'a', 'b', 'c', 'd', 'e', 'f', 'g'];
    expect(read(csv(headings, rows))).toEqual([
      headings,
      ['1.5', 'two, three', 'she said "four"', 'a\nb', '', 'true', '', ' edge '],
    ]);
    expect(csv(['a'], [])).toBe('a\r\n');
  });

  test('whatever is written, every row and cell comes back, and no cell is a formula', () => {
    const cell = fc.oneof(
      fc.string({ unit: 'binary' }),
      fc.constantFrom('=1+1', '+1', '-1', '@x', '\t=1', '"=1"', '=\r\n', "'", '＝1', '-'),
    );
    const table = fc
      .integer({ min: 1, max: 5 })
      .chain((n) => fc.array(fc.array(cell, { minLength: n, maxLength: n }), { minLength: 1, maxLength: 6 }));
    fc.assert(
      fc.property(table, (rows) => {
        const [headings = [], ...rest] = rows;
        if (headings.length === 1) return; // the parser leaves out rows of one empty cell
        const back = read(`first\r\n${csv(headings, rest)}`.replace('first', headings.map(() => 'x').join())).slice(1);
        const wrong = rows.flatMap((row, r) =>
          row.filter((was, c) => {
            const got = back[r]?.[c];
            const came = got === was || got === `'${was}`;
            return !came || /^\s*[=+\-@＝＋－＠]/.test(got);
          }),
        );
        expect([back.length, wrong]).toEqual([rows.length, []]);
      }),
      { numRuns: 300 },
    );
  });
});

test.each([
  ['=HYPERLINK("x")', '"\'=HYPERLINK(""x"")"'],
  ['+49 30', "'+49 30"],
  ['-5', "'-5"],
  ['@all', "'@all"],
  ['＝1', "'＝1"],
  ['\t=1', "'\t=1"],
  ['a=1', 'a=1'],
  ['5-6', '5-6'],
])('%j is disarmed as %j', (was, want) => {
  expect(csv(['x'], [[was]])).toBe(`x\r\n${want}\r\n`);
});

test('a number below nothing is a number', () => {
  expect(csv(['x'], [[-30]])).toBe('x\r\n-30\r\n');
});
