import { sha256 } from '@noble/hashes/sha2.js';
import { concatBytes } from '@noble/hashes/utils.js';
import fc from 'fast-check';
import { encodeQR } from 'qr';
import { decodeQR } from 'qr/decode.js';
import { describe, expect, it, test } from 'vitest';
import { fromBase45, toBase45 } from './base45';
import { bytesOf, missing, mostParts, partBytes, type Run, runCodes, shownAt, takeCode, takenUp } from './code-run';

/** Bytes that look like packed ones. */
const noise = (length: number, seed = 1): Uint8Array => {
  let n = seed;
  return Uint8Array.from({ length }, () => {
    n = (Math.imul(n, 1_103_515_245) + 12_345) >>> 0;
    return n >>> 24;
  });
};
const codesOf = (bytes: Uint8Array): readonly string[] => runCodes(bytes) ?? [];
const start = 'EVENPULL RUN 1 ';
const bodyOf = (code: string): Uint8Array => fromBase45(code.slice(start.length)) ?? new Uint8Array();
/** A code of our form around any bytes, with the check that belongs to them. */
const formed = (checked: Uint8Array): string => start + toBase45(concatBytes(sha256(checked).subarray(0, 4), checked));
const run8 = (bytes: Uint8Array): Uint8Array => sha256(bytes).subarray(0, 8);
const head = (run: Uint8Array, count: number, index: number): Uint8Array =>
  concatBytes(run, Uint8Array.of(count >> 8, count & 255, index >> 8, index & 255));

function read(texts: readonly string[], run?: Run): Run | undefined {
  return texts.reduce<Run | undefined>((r, text) => {
    const took = takeCode(r, text);
    return 'fault' in took ? r : took.run;
  }, run);
}

/** Bytes of one to five parts, and an order of their codes with repeats. */
const bytesAndLooks = fc
  .uint8Array({ minLength: 1, maxLength: 5 * partBytes })
  .chain((bytes) =>
    fc.record({ bytes: fc.constant(bytes), looks: fc.array(fc.nat(codesOf(bytes).length - 1), { maxLength: 30 }) }),
  );

describe('a run of codes', () => {
  it('comes back in any order, with losses and repeats, and says at each moment what is missing', () => {
    fc.assert(
      fc.property(bytesAndLooks, ({ bytes, looks }) => {
        const codes = codesOf(bytes);
        let run: Run | undefined;
        const seen = new Set<number>();
        for (const i of [...looks, ...codes.keys()]) {
          const took = takeCode(run, codes[i] ?? '');
          expect(took).toMatchObject({ fresh: !seen.has(i) });
          if ('fault' in took) return;
          run = took.run;
          seen.add(i);
          expect(missing(run)).toEqual([...codes.keys()].filter((k) => !seen.has(k)));
          if (seen.size < codes.length) expect(bytesOf(run)).toBeUndefined();
        }
        expect(run && bytesOf(run)).toEqual(bytes);
      }),
      { numRuns: 50 },
    );
  });

  it('is put down as plain data and taken up again', () => {
    fc.assert(
      fc.property(bytesAndLooks, ({ bytes, looks }) => {
        const codes = codesOf(bytes);
        const before = read(looks.map((i) => codes[i] ?? ''));
        const stored = JSON.parse(JSON.stringify((before?.codes ?? []).filter((c) => c !== null))) as string[];
        expect(takenUp(stored)).toEqual(before);
        expect(bytesOf(read(codes, takenUp(stored)) as Run)).toEqual(bytes);
      }),
    );
  });

  it('stored texts that were changed are left out when it is taken up', () => {
    const codes = codesOf(noise(700));
    const run = takenUp([codes[0] ?? '', 'EVENPULL RUN 1 XYZ', '', codesOf(noise(600, 9))[1] ?? '', codes[2] ?? '']);
    expect(run && missing(run)).toEqual([1]);
    expect(takenUp([])).toBeUndefined();
  });

  it('never takes in a part of another run', () => {
    const two = fc.tuple(
      fc.uint8Array({ minLength: 1, maxLength: 900 }),
      fc.uint8Array({ minLength: 1, maxLength: 900 }),
    );
    fc.assert(
      fc.property(two, fc.array(fc.tuple(fc.boolean(), fc.nat(3)), { maxLength: 20 }), ([a, b], looks) => {
        fc.pre(a.join() !== b.join());
        const [own, other] = [codesOf(a), codesOf(b)];
        let run = read(own.slice(0, 1));
        for (const [mine, i] of looks) {
          const took = takeCode(run, (mine ? own : other)[i % (mine ? own : other).length] ?? '');
          if (!mine) expect(took).toEqual({ fault: 'other-run' });
          else if (!('fault' in took)) run = took.run;
        }
        expect(bytesOf(read(own, run) as Run)).toEqual(a);
      }),
    );
  });

  it('fills version 12 at level M and no more, and is read off its squares', () => {
    const [code = ''] = codesOf(noise(2 * partBytes));
    expect(code).toMatch(/^[0-9A-Z $%*+\-./:]{414}$/);
    // ISO/IEC 18004: version 12 has 65 squares a side, and takes 419 alphanumeric signs at level M (table 7).
    const cells = encodeQR(code, 'raw', { ecc: 'medium', border: 4 });
    expect(cells).toHaveLength(65 + 8);
    const size = 3 * cells.length;
    const data = new Uint8ClampedArray(size * size * 4).fill(255);
    for (let y = 0; y < size; y++)
      for (let x = 0; x < size; x++)
        if (cells[Math.floor(y / 3)]?.[Math.floor(x / 3)]) data.fill(0, 4 * (y * size + x), 4 * (y * size + x) + 3);
    expect(decodeQR({ width: size, height: size, data })).toBe(code);
  });

  it('is not begun for nothing, nor for more than a run may have', () => {
    expect(runCodes(new Uint8Array())).toBeUndefined();
    const codes = codesOf(noise(mostParts * partBytes));
    expect(codes).toHaveLength(mostParts);
    expect(missing(read(codes.slice(-1)) as Run)).toHaveLength(mostParts - 1);
    expect(runCodes(noise(mostParts * partBytes + 1))).toBeUndefined();
  });
});

describe('what is not taken', () => {
  const bytes = noise(600);
  const codes = codesOf(bytes);
  const own = run8(bytes);
  const part = (i: number) => bytes.subarray(i * partBytes, (i + 1) * partBytes);

  test('a code in which any one byte is another', () => {
    const run = read(codes.slice(1));
    for (const code of [codes[0] ?? '', codes[2] ?? '']) {
      const body = bodyOf(code);
      for (let i = 0; i < body.length; i++)
        for (const flip of [1, 128, 255]) {
          const changed = body.map((b, k) => (k === i ? b ^ flip : b));
          expect(takeCode(run, start + toBase45(changed)), `byte ${i}`).toEqual({ fault: 'damaged' });
        }
    }
  });

  test('a code in which any one sign is another, or that is cut short or longer', () => {
    const code = codes[1] ?? '';
    for (let i = 0; i < code.length; i++) {
      const other = code[i] === '7' ? '8' : '7';
      expect(takeCode(undefined, code.slice(0, i) + other + code.slice(i + 1)), `sign ${i}`).toHaveProperty('fault');
      expect(takeCode(undefined, code.slice(0, i))).toHaveProperty('fault');
    }
    for (const more of ['0', '00', '000', ' ', '\n']) expect(takeCode(undefined, code + more)).toHaveProperty('fault');
  });

  test.each([
    ['', 'not-ours'],
    ['https://example.org/', 'not-ours'],
    ['EVENPULL CASE 7KMXW2', 'not-ours'],
    ['evenpull run 1', 'not-ours'],
    ['EVENPULL RUN ', 'damaged'],
    ['EVENPULL RUN 0 00', 'damaged'],
    ['EVENPULL RUN 01 00', 'damaged'],
    ['EVENPULL RUN 2 ANYTHING', 'newer'],
    ['EVENPULL RUN 1 ', 'damaged'],
  ])('%j: %s', (text, fault) => expect(takeCode(undefined, text)).toEqual({ fault }));

  test('a text that is far too long', () => {
    expect(takeCode(undefined, start + '0'.repeat(300_000))).toEqual({ fault: 'damaged' });
    expect(takeCode(undefined, 'x'.repeat(300_000))).toEqual({ fault: 'not-ours' });
  });

  test.each<[string, Uint8Array]>([
    ['no part', head(own, 3, 0)],
    ['a part that is not full, and is not the last', concatBytes(head(own, 3, 0), part(0).subarray(1))],
    ['a part that is too long', concatBytes(head(own, 3, 0), noise(partBytes + 1))],
    ['an index past the count', concatBytes(head(own, 3, 3), part(0))],
    ['no codes at all', concatBytes(head(own, 0, 0), part(0))],
    ['more codes than a run may have', concatBytes(head(own, mostParts + 1, 0), part(0))],
    ['65,535 codes', concatBytes(head(own, 65_535, 0), part(0))],
  ])('a forged code, its check in order, with %s', (_, checked) => {
    expect(takeCode(undefined, formed(checked))).toEqual({ fault: 'damaged' });
  });

  test('a forged part in the run that is being read: another count, or other bytes in a place that is taken', () => {
    const run = read(codes.slice(0, 2)) as Run;
    expect(takeCode(run, formed(concatBytes(head(own, 4, 2), part(0))))).toEqual({ fault: 'damaged' });
    expect(takeCode(run, formed(concatBytes(head(own, 3, 1), part(0))))).toEqual({ fault: 'damaged' });
  });

  test('a whole in which a forged part came first: its own digest tells, and nothing comes out', () => {
    const forged = read([formed(concatBytes(head(own, 3, 1), part(0))), ...codes]) as Run;
    expect(missing(forged)).toEqual([]);
    expect(bytesOf(forged)).toBeUndefined();
  });

  test('any text at all', () => {
    const run = read(codes.slice(0, 1));
    fc.assert(
      fc.property(
        fc.oneof(
          fc.string(),
          fc.string().map((s) => start + s),
        ),
        (text) => {
          expect(takeCode(run, text)).toHaveProperty('fault');
        },
      ),
    );
  });
});

describe('the round', () => {
  it('shows every part, and all of them to a camera that catches one in up to ten', () => {
    for (const count of [1, 2, 3, 10, 35, 60, 121, 210])
      for (let beat = 1; beat <= 10; beat++) {
        const seen = new Set<number>();
        const looks = count + 12; // a round is a little longer than the run
        for (let n = 0; n < looks; n++) seen.add(shownAt(count, 3 + n * beat));
        expect(
          [...seen].sort((a, b) => a - b),
          `${count} codes, one in ${beat}`,
        ).toEqual([...Array(count).keys()]);
      }
  });
});
