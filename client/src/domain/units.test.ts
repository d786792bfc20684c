import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { clockMinutes, dialTenths, parseLength, parseNumber, parseSize } from './units';

describe('a typed length', () => {
  test.each([
    ['4.5', 45],
    ['4,5', 45],
    ['4 1/2', 45],
    ['4-1/2', 45],
    ['4½', 45],
    ['½', 5],
    ['1/4', 3], // 0.25 in rounds to 0.3
    ['4 1 / 2 in', 45],
    ['  5 inches ', 50],
    ['5"', 50],
    ['5.', 50],
    ['.5', 5],
    ['0', 0],
    ['-0', 0],
    ['114 mm', 45],
    ['114mm', 45],
    ['11.4 cm', 45],
    ['4.35', 44],
    ['40', 400],
    ['1016 mm', 400],
  ])('%s is %i tenths of an inch', (text, want) => {
    expect(parseLength(text)).toEqual({ length: want });
  });

  test.each([
    ['', 'empty'],
    ['   ', 'empty'],
    ['about five', 'not-a-length'],
    ['4..5', 'not-a-length'],
    ['4.5.6', 'not-a-length'],
    ['4 1/0', 'not-a-length'],
    ['4.5 1/2', 'not-a-length'],
    ['1/2/3', 'not-a-length'],
    ['4 5', 'not-a-length'],
    ['.', 'not-a-length'],
    ['NaN', 'not-a-length'],
    ['1e9', 'not-a-length'],
    ['5 ft', 'unit-unknown'],
    ['5 <b>', 'unit-unknown'],
    ['-3', 'negative'],
    ['\u22123 mm', 'negative'],
    ['40.1', 'too-long'],
    ['999999', 'too-long'],
  ])('%j is refused: %s', (text, want) => {
    expect(parseLength(text)).toEqual({ fault: want });
  });

  test('any text gives a length in range or a fault, in little time', () => {
    fc.assert(
      fc.property(fc.oneof(fc.string({ maxLength: 300 }), fc.stringMatching(/^[0-9 ./,½"incm-]{0,300}$/)), (text) => {
        const got = parseLength(text);
        if ('length' in got) expect(got.length).toBeGreaterThanOrEqual(0);
        if ('length' in got) expect(got.length).toBeLessThanOrEqual(400);
      }),
    );
  });
});

describe('a typed size', () => {
  const quilt = { least: 50, most: 10_000 };

  test.each([
    ['90', 'in', 2_286_000],
    ['90 in', 'mm', 2_286_000],
    ['1 1/2 in', 'mm', 38_100],
    ['1 1/2', 'in', 38_100],
    ['2½ yd', 'in', 2_286_000],
    ['7.5 ft', 'mm', 2_286_000],
    ["7,5'", 'mm', 2_286_000],
    ['2,286 m', 'in', 2_286_000],
    ['228.6 cm', 'in', 2_286_000],
    ['2286', 'mm', 2_286_000],
    ['50mm', 'in', 50_000],
  ] as const)('%s, where plain means %s, is %i micrometres', (text, plain, um) => {
    const bounds = text.startsWith('1 1/2') ? { least: 1, most: 10_000 } : quilt;
    expect(parseSize(text, plain, bounds)).toEqual({ um });
  });

  test.each([
    ['', 'empty'],
    ['wide', 'not-a-length'],
    ['5 ft 3 in', 'not-a-length'],
    ['90 x 100', 'not-a-length'],
    ['90 miles', 'unit-unknown'],
    ['-90', 'negative'],
    ['0', 'zero'],
    ['0 mm', 'zero'],
    ['1', 'too-small'],
    ['999999', 'too-big'],
    ['99999999999999999999', 'not-a-length'],
  ])('%j is refused: %s', (text, fault) => {
    expect(parseSize(text, 'in', quilt)).toEqual({ fault });
  });
});

test('a comma before three digits is asked about where only a thousand can be meant', () => {
  expect(parseSize('2,300 mm', 'in', { least: 50, most: 20_000 })).toEqual({ fault: 'one-comma' });
});

test.each([
  ['2,500 mm', { fault: 'one-comma' }],
  ['1,500', { fault: 'one-comma' }],
  ['2500 mm', { um: 2_500_000 }],
  ['2,50 mm', { um: 2_500 }],
  ['1,250 in', { um: 31_750 }], // 1250 in would be too long
  ['0,750 mm', { um: 750 }],
] as const)('a comma before three digits in a size: %s', (text, got) => {
  expect(parseSize(text, 'mm', { least: 0.5, most: 2_500 })).toEqual(got);
});

describe('a typed number', () => {
  const hours = { least: 0, most: 100_000 };

  test.each([
    ['0', 0],
    ['812', 812],
    ['812.5', 812.5],
    ['812,5', 812.5],
    ['0,125', 0.125],
    ['1250,125', 1250.125],
    ['1 1/2', 1.5],
  ])('%s', (text, number) => {
    expect(parseNumber(text, hours)).toEqual({ number });
  });

  test.each([
    ['', 'empty'],
    ['ten', 'not-a-number'],
    ['12 h', 'not-a-number'],
    ['40/2', 'not-a-number'],
    ['12 in', 'not-a-number'],
    ['-1', 'negative'],
    ['1,250', 'one-comma'],
    ['100001', 'too-big'],
    ['99999999', 'too-big'],
  ])('%j is refused: %s', (text, fault) => {
    expect(parseNumber(text, hours)).toEqual({ fault });
  });
});

test('what is not whole is our mistake', () => {
  expect(() => clockMinutes(2.5)).toThrow(RangeError);
  expect(() => dialTenths(Number.NaN)).toThrow(RangeError);
  expect(Object.is(clockMinutes(-0), 0)).toBe(true);
});
