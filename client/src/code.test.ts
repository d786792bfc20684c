import { describe, expect, test } from 'vitest';
import { cleanCode, codeInAddress, fitsCode, inFours } from './code';

describe('a code', () => {
  test.each([
    ['', undefined],
    ['#', undefined],
    ['#claim=', { code: 'CLAIM=', claim: false }],
    ['#abcd-2345', { code: 'ABCD2345', claim: false }],
    ['#claim=ABCD2345', { code: 'ABCD2345', claim: true }],
    [`#${'A'.repeat(5000)}`, { code: 'A'.repeat(20), claim: false }],
  ])('in the address %.20j', (hash, want) => expect(codeInAddress(hash)).toEqual(want));

  test.each([
    ['abcd 2345', true],
    ['ABCD-2345', true],
    ['ABCD234', false],
    ['ABCD23456', false],
    ['ABCD234O', false], // O and 0, I and 1, L, U are in no code
    ['ABCD2341', false],
    ['<b>D2345', false],
  ])('typed as %j fits: %s', (typed, fits) => expect(fitsCode(cleanCode(typed))).toBe(fits));

  test('is shown in two groups of four', () => expect(inFours('abcd2345')).toBe('ABCD 2345'));
});
