import { describe, expect, test } from 'vitest';
import { type Amount, readAmount } from './amount';

const counted: Amount = { per: 1, least: 1, most: 24 };
const tenths: Amount = { per: 10, least: 1, most: 40 };
const size: Amount = { size: true, per: 1000, least: 0.5, most: 2000 };

describe('what is typed and can’t be used', () => {
  test.each([
    [counted, '0', 'zero'],
    [counted, '-3', 'negative'],
    [counted, '25', 'too-big'],
    [counted, '99999999999999999999', 'not-a-number'],
    [counted, 'two', 'not-a-number'],
    [counted, '2 in', 'not-a-number'],
    [counted, '1,250', 'one-comma'],
    [counted, '1 1/2', 'not-whole'],
    [counted, '2,5', 'not-whole'],
    [tenths, '0.5', 'too-small'],
    [size, '0 mm', 'zero'],
    [size, '-1 1/2 in', 'negative'],
    [size, '3 m', 'too-big'],
    [size, '1 in 3 mm', 'not-a-length'],
    [size, '9 miles', 'unit-unknown'],
    [size, 'wide', 'not-a-length'],
  ] as const)('%j typed %j: %s', (amount, typed, fault) => {
    expect(readAmount(typed, amount, 'in')).toEqual({ fault });
  });
});

test.each([
  [counted, '2', 2],
  [tenths, '10,5', 105],
  [tenths, '10 1/2', 105],
  [size, '1 1/2 in', 38_100],
  [size, '1½', 38_100],
  [size, '38,1 mm', 38_100],
])('%j typed %j is %i', (amount, typed, kept) => {
  expect(readAmount(typed, amount, 'in')).toEqual({ kept });
});
