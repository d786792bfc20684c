import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  type CountSystem,
  compare,
  convert,
  diameterMm,
  filamentUm,
  folded,
  fromTex,
  metresOf,
  packingOf,
  peirceMm,
  printed,
  specificVolume,
  stepsFiner,
  systems,
  texOf,
  thicknessOf,
  toTex,
} from './thread';
import { parseSize } from './units';

const table = readFileSync(new URL('../../../testdata/published/gnu-units.tsv', import.meta.url), 'utf8')
  .trimEnd()
  .split('\n')
  .map((line) => line.split('\t') as [kind: string, value: string, from: string, to: string, result: string]);

const near = (got: number, want: number, share = 1e-12) => expect(Math.abs(got / want - 1)).toBeLessThan(share);

describe('against GNU units', () => {
  test('counts of every system, both ways', () => {
    const counts = table.filter(([kind]) => kind === 'count');
    expect(new Set(counts.flatMap(([, , from, to]) => [from, to]))).toEqual(new Set(systems));
    for (const [, value, from, to, result] of counts)
      near(convert(Number(value), from as CountSystem, to as CountSystem), Number(result));
  });

  test('typed lengths of every unit', () => {
    const lengths = table.filter(([kind]) => kind === 'length');
    expect(lengths).toHaveLength(36);
    for (const [, value, unit, , mm] of lengths) {
      const typed = parseSize(`${value} ${unit}`, 'in', { least: 0, most: 1e6 });
      expect('um' in typed && typed.um).toBe(Math.round(Number(mm) * 1000));
    }
  });
});

test('there and back again is the same thread', () => {
  fc.assert(
    fc.property(fc.constantFrom(...systems), fc.double({ min: 0.1, max: 5000, noNaN: true }), (system, count) => {
      near(fromTex(toTex(count, system), system), count);
    }),
  );
});

test('published figures', () => {
  expect(convert(20, 'tex', 'denier')).toBeCloseTo(180, 9); // GATE textile paper 1992, question 2
  expect(convert(20, 'tex', 'Nm')).toBeCloseTo(50, 9); // the same
  expect(convert(20, 'tex', 'Ne')).toBeCloseTo(29.525, 2); // the same, worked with 590.5
  expect(convert(40, 'wt', 'tex')).toBeCloseTo(25, 9); // tex = 1000 / weight: textile glossaries
  expect(convert(40, 'Nm', 'metricTicket')).toBeCloseTo(120, 9); // merchandising table, row 80/2
  expect(fromTex(folded([toTex(24, 'Ne'), toTex(40, 'Ne')]), 'Ne')).toBeCloseTo(15, 9); // two-fold of 24s and 40s, worked example
  expect(diameterMm(30, 1.54, 0.64587)).toBeCloseTo(0.1958, 3); // GATE 2008 TF question 71
  expect(peirceMm(36)).toBeCloseTo(25.4 / 168, 12); // GATE 2007 TF question 85
  expect(specificVolume(20, 0.1989)).toBeCloseTo(1.57, 1); // GATE 2005 question 71
  expect(filamentUm(1, 1)).toBeCloseTo(11.3, 1); // textile primer: 11.3 sqrt(dtex / specific gravity)
});

test('worked out twice: the packing that gives a diameter gives it', () => {
  expect(packingOf(40, 1.38, diameterMm(40, 1.38, 0.61))).toBeCloseTo(0.61, 12);
  expect(metresOf(100, toTex(40, 'tex'))).toBe(2500); // definition
  expect(folded([20, 20], 0.04)).toBeCloseTo(41.6, 12); // definition of take-up
});

test.each([
  ['40', { form: 'plain', count: 40 }],
  [' 40 wt', { form: 'plain', count: 40 }],
  ['12,5', { form: 'plain', count: 12.5 }],
  ['50/3', { form: 'two-part', count: 50, plies: 3 }],
  ['50 / 3 wt', { form: 'two-part', count: 50, plies: 3 }],
  ['50/0', { form: 'text' }],
  ['0', { form: 'text' }],
  ['not known', { form: 'text' }],
  ['', { form: 'text' }],
  ['40 cotton', { form: 'text' }],
  ['9'.repeat(400), { form: 'text' }],
])('a label that says %j', (label, want) => {
  expect(printed(label)).toEqual(want);
});

test('a bare number is a weight number and an estimate; a count that was looked up goes first', () => {
  expect(texOf({ number: '40' })).toEqual({ tex: 25, worth: 'estimate' });
  expect(texOf({ number: '40', countSystem: 'tex', countThousandths: 27_000 })).toEqual({ tex: 27, worth: 'exact' });
  expect(texOf({ number: '40', countSystem: 'metricTicket', countThousandths: 120_000 })?.worth).toBe('estimate');
  expect(texOf({ number: '50/3' })).toBeUndefined();
  expect(texOf({ number: '50/3', countSystem: 'Nm', countThousandths: 50_000, countPlies: 3 })).toEqual({
    tex: 60,
    worth: 'estimate', // twisting takes up a share that no label tells
  });
  expect(texOf({ countSystem: 'Ne', countThousandths: 40_000, countPlies: 1 })?.worth).toBe('exact');
  expect(texOf({ countSystem: 'tex', countThousandths: 27_000, countPlies: 2 })).toEqual({ tex: 27, worth: 'exact' }); // plies of an earlier system
  expect(texOf({})).toBeUndefined();
  expect(texOf(undefined)).toBeUndefined();
});

test('a diameter needs a fibre of one stuff', () => {
  expect(thicknessOf({ number: '40', fibre: 'Polyester ' })).toBeCloseTo(0.1877, 4);
  expect(thicknessOf({ number: '40', fibre: 'polyester', packingPercent: 70 })).toBeCloseTo(0.1809, 4);
  for (const fibre of ['metallic', 'clear', 'not known', '', undefined, 'toString'])
    expect(thicknessOf({ number: '40', fibre })).toBeUndefined();
});

describe('two threads', () => {
  test('by diameter where both fibres are known', () => {
    const cotton = { number: '40', fibre: 'cotton' };
    const polyester = { number: '40', fibre: 'polyester' };
    expect(compare(polyester, cotton)).toEqual({ thicker: 'first', percent: 5, by: 'diameter', worth: 'estimate' }); // sqrt(1.52 / 1.39)
    expect(compare(cotton, polyester)).toMatchObject({ thicker: 'second', percent: 5 });
  });

  test('by mass where one is not', () => {
    expect(compare({ number: '40' }, { number: '60', fibre: 'cotton' })).toMatchObject({
      thicker: 'first',
      percent: 22,
      by: 'mass',
    });
  });

  test('alike within what cones differ by', () => {
    expect(compare({ number: '50' }, { number: '51' })).toMatchObject({ thicker: 'alike' });
    expect(compare({ number: '50' }, { number: '60' })).toMatchObject({ thicker: 'first', percent: 10 });
  });

  test('not at all where a size is not known', () => {
    expect(compare({ number: '50/2' }, { number: '60' })).toBeUndefined();
  });
});

test.each([
  [40, 60, 2],
  [60, 40, -2],
  [50, 60, 1],
  [40, 40, 0],
  [42, 40, 0],
  [12, 100, 7],
  [500, 100, 0],
])('from weight %i to %i is %i steps finer', (from, to, want) => {
  expect(stepsFiner(toTex(from, 'wt'), toTex(to, 'wt'))).toBe(want);
});
