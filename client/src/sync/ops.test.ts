import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, hexToBytes, utf8ToBytes } from '@noble/hashes/utils.js';
import { describe, expect, test } from 'vitest';
import {
  chain,
  chainHex,
  chainStart,
  encodeOp,
  encodeValue,
  forkName,
  isId,
  type Json,
  limits,
  MalformedOp,
  measure,
  newId,
  noteFits,
  type Op,
  parseOp,
  repair,
  utf8Length,
} from './ops';
import { loadVectors } from './vectors';

type Case = {
  name: string;
  text?: string;
  fill?: [string, number];
  prev?: string;
  value?: Json;
  want: 'ok' | 'malformed' | 'too-large';
  chain?: string;
};

const cases = loadVectors<Case>('ops', ['name', 'text?', 'fill?', 'prev?', 'value?', 'want', 'chain?']);

/** What a function gives, or the reason for which it refuses. */
function outcome<T>(f: () => T): T | string {
  try {
    return f();
  } catch (e) {
    if (e instanceof MalformedOp) return e.reason;
    throw e;
  }
}

describe('ops vectors', () => {
  for (const c of cases) {
    test(c.name, () => {
      if (c.value !== undefined) {
        expect(outcome(() => encodeValue(repair(c.value as Json)))).toBe(c.want === 'ok' ? c.text : c.want);
        return;
      }
      const text = c.fill ? (c.text ?? '').replace('@@', () => c.fill?.[0].repeat(c.fill[1]) ?? '') : (c.text ?? '');
      const op = outcome(() => parseOp(text));
      if (c.want !== 'ok') {
        expect(op).toBe(c.want);
        return;
      }
      expect(encodeOp(op as Op)).toBe(text);
      expect(chainHex(c.prev ?? chainStart, text)).toBe(c.chain);
    });
  }
});

const op: Op = {
  replica: 'a'.repeat(32),
  n: 1,
  at: [5, 0],
  by: '',
  kind: 'note',
  id: 'b'.repeat(32),
  set: { text: 'x' },
  over: {},
};

describe('encodeOp', () => {
  test('leaves out of over the fields with no dots', () => {
    expect(encodeOp({ ...op, over: { text: [] } })).toBe(encodeOp(op));
  });
  test.each<[string, Partial<Op>]>([
    ['a fraction', { set: { text: 1.5 } }],
    ['a lone surrogate', { set: { text: '\ud800' } }],
    ['undefined', { set: { text: undefined as unknown as Json } }],
    ['no field', { set: {} }],
    ['n of 0', { n: 0 }],
    ['a kind that is no word', { kind: 'my note' }],
  ])('refuses %s as a mistake of the caller', (_, change) => {
    expect(() => encodeOp({ ...op, ...change })).toThrow(RangeError);
  });
  test('refuses an op of more than 64 KiB as too large', () => {
    expect(outcome(() => encodeOp({ ...op, set: { text: 'é'.repeat(33_000) } }))).toBe('too-large');
  });
});

describe('repair', () => {
  test('puts U+FFFD for each lone surrogate, in keys too, and leaves pairs', () => {
    expect(repair({ 'k\udc00': ['a\ud800', '🧵', '\ud834\udd1e\udd1e'] })).toEqual({
      'k\ufffd': ['a\ufffd', '🧵', '\ud834\udd1e\ufffd'],
    });
  });
  test('writes −0 as 0', () => {
    expect(Object.is(repair<Json>([-0]) && (repair<Json>([-0]) as number[])[0], 0)).toBe(true);
    expect(encodeValue([-0])).toBe('[0]');
  });
  test('keeps a key named __proto__ as a key', () => {
    const value = JSON.parse('{"__proto__":{"a":1}}') as Json;
    expect(encodeValue(repair(value))).toBe('{"__proto__":{"a":1}}');
  });
});

describe('how long a note is', () => {
  test.each([
    ['plain text', 'abc', 3, 3],
    ['a line feed and a quote are two bytes each', '\n"', 2, 4],
    ['a control character is six bytes', '\u0001', 1, 6],
    ['two, three and four bytes in UTF-8', 'é€🧵', 4, 9],
    ['a lone surrogate as it will be stored', '\ud800', 1, 3],
  ])('%s', (_, text, units, bytes) => {
    expect(measure(text)).toEqual({ units, bytes });
  });
  test.each([
    ['20,000 units', 'a'.repeat(20_000), true],
    ['one unit more', 'a'.repeat(20_001), false],
    ['48 KiB as written', '€'.repeat(16_384), true],
    ['three bytes more', '€'.repeat(16_385), false],
    ['escapes counted', '\u0001'.repeat(8_193), false],
  ])('%s', (_, text, fits) => {
    expect(noteFits(text)).toBe(fits);
  });
  test('the largest note makes an op within the limit', () => {
    const text = '€'.repeat(16_384);
    expect(utf8Length(encodeOp({ ...op, set: { text, zone: 60, quilt: 'c'.repeat(32) } }))).toBeLessThan(
      limits.opBytes,
    );
  });
});

test('the chain runs over the whole digest and the bytes of the text', () => {
  const first = chain(new Uint8Array(32), 'é');
  expect(bytesToHex(first)).toBe(bytesToHex(sha256(new Uint8Array([...new Uint8Array(32), ...utf8ToBytes('é')]))));
  expect(chainHex(bytesToHex(first), 'x')).toBe(bytesToHex(sha256(new Uint8Array([...first, 120]))));
});

test('a fork is named by its replica and the digest where it parts', () => {
  const replica = '0123456789abcdef0123456789abcdef';
  expect(forkName(replica, '0011223344556677')).toBe(
    bytesToHex(sha256(hexToBytes(`${replica}0011223344556677`))).slice(0, 32),
  );
});

test('a new id is 32 lower hex digits and never the same', () => {
  const ids = new Set(Array.from({ length: 100 }, newId));
  expect(ids.size).toBe(100);
  expect([...ids].every(isId)).toBe(true);
});
