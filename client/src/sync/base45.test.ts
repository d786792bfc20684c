import { utf8ToBytes } from '@noble/hashes/utils.js';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { fromBase45, toBase45 } from './base45';

describe('base45', () => {
  // The examples of RFC 9285, sections 4.3 and 4.4.
  test.each([
    ['AB', 'BB8'],
    ['Hello!!', '%69 VD92EX0'],
    ['base-45', 'UJCLQE7W581'],
    ['ietf!', 'QED8WEX0'],
  ])('%s is %s', (plain, spelled) => {
    expect(toBase45(utf8ToBytes(plain))).toBe(spelled);
    expect(fromBase45(spelled)).toEqual(utf8ToBytes(plain));
  });

  test('brings any bytes back', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 300 }), (bytes) => {
        expect(fromBase45(toBase45(bytes))).toEqual(bytes);
      }),
    );
  });

  // Worked out by hand from 4: FGW is 15 + 16·45 + 32·2025 = 65,535 and U5 is 30 + 5·45 = 255, the most that fit.
  test.each(['GGW', ':::', 'V5', '::', 'A', 'BB8A', 'bb8', 'BB8\n', 'B"8', 'B\u{1f9f5}'])('%j is refused', (text) => {
    expect(fromBase45('FGW')).toEqual(Uint8Array.of(255, 255));
    expect(fromBase45('U5')).toEqual(Uint8Array.of(255));
    expect(fromBase45(text)).toBeUndefined();
  });

  test('any text is refused or is what its bytes are spelled as', () => {
    const signs = fc.constantFrom(...'0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:a"');
    fc.assert(
      fc.property(fc.string({ unit: signs, maxLength: 12 }), (text) => {
        const bytes = fromBase45(text);
        if (bytes) expect(toBase45(bytes)).toBe(text);
      }),
    );
  });
});
