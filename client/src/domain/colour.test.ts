import { describe, expect, test } from 'vitest';
import published from '../../../testdata/published/colour.json';
import { alikeBelow, ciede2000, type Lab, labOf, linear, type Rgb, rgbOf, tooAlike, xyzOf } from './colour';

type Row = {
  id: string;
  calc: string;
  expect: number | number[];
  tolerance: number;
  source: string;
  hex?: string;
  rgb?: number[];
  c?: number;
  lab1?: number[];
  lab2?: number[];
};

const rows = published.cases as Row[];

const rgb = (row: Row): Rgb => (row.rgb ? (row.rgb as unknown as Rgb) : rgbOf(row.hex ?? ''));

function compute(row: Row): readonly number[] {
  switch (row.calc) {
    case 'ciede2000':
      return [ciede2000(row.lab1 as unknown as Lab, row.lab2 as unknown as Lab)];
    case 'srgb_to_lab':
      return labOf(rgb(row));
    case 'srgb_to_xyz':
      return xyzOf(rgb(row));
    case 'srgb_to_linear':
      return [linear(row.c ?? Number.NaN)];
    default:
      throw new Error(`${row.id}: nothing computes ${row.calc}`);
  }
}

describe('published colour values', () => {
  test('all kinds are there, each with its source', () => {
    const count = (calc: string) => rows.filter((r) => r.calc === calc).length;
    expect([count('ciede2000'), count('srgb_to_lab'), count('srgb_to_xyz'), count('srgb_to_linear')]).toEqual([
      27, 10, 3, 4,
    ]);
    for (const row of rows) expect(row.source, row.id).not.toBe('');
  });

  for (const row of rows) {
    test(`${row.id} ${row.calc}`, () => {
      const got = compute(row);
      const want = [row.expect].flat();
      expect(got).toHaveLength(want.length);
      for (const [i, w] of want.entries()) {
        expect(Math.abs((got[i] ?? Number.NaN) - w)).toBeLessThanOrEqual(row.tolerance);
      }
    });
  }

  test('the order of the two colours does not matter', () => {
    for (const row of rows.filter((r) => r.calc === 'ciede2000')) {
      const [a, b] = [row.lab1 as unknown as Lab, row.lab2 as unknown as Lab];
      expect(ciede2000(a, b)).toBeCloseTo(ciede2000(b, a), 9);
    }
  });
});

describe('two threads too alike', () => {
  test.each([
    ['#ffffff', '#f5e6c8', true, 'white and cream'],
    ['#000000', '#141c3a', true, 'black and dark navy'],
    ['#8a8a8a', '#8a8a8a', true, 'one colour'],
    ['#c0392b', '#e67e22', false, 'red and orange'],
    ['#0a4a9e', '#9c3d00', false, 'the two of the day theme'],
    ['#ffffff', '#000000', false, 'white and black'],
  ])('%s with %s: %s (%s)', (a, b, want) => {
    expect(tooAlike(a, b)).toBe(want);
    expect(tooAlike(b, a)).toBe(want);
  });

  test('the bar is twenty units', () => expect(alikeBelow).toBe(20));

  test.each(['', '#fff', 'red', '#12345g', '#1234567'])('%j is refused', (bad) => {
    expect(() => rgbOf(bad)).toThrow(RangeError);
  });
});
