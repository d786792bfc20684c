import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, utf8ToBytes } from '@noble/hashes/utils.js';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { adoptFile, fileOf, mergeFile } from './handover';
import { type MemoryPhone, newMemoryPhone, request, sorted, spell, take, write } from './memory';
import { fieldOf } from './merge';
import { keyOf, type Row } from './phone';
import { BadFile, decodeStudioFile, encodeStudioFile, readStudioFile, type StudioFile, toBase64 } from './statefile';
import { newStub, serve } from './stub-server';
import { readAnswer, requestBody } from './wire';

const id = (n: number) => n.toString(16).padStart(32, '0');
const note = (n: number) => ({ kind: 'note', id: id(n) });
let fresh = 1000;
const world = { nowMs: 5000, newId: () => id(++fresh) };

function phoneWith(...texts: string[]): MemoryPhone {
  const phone = newMemoryPhone(id(1), id(2));
  texts.forEach((text, i) => void write(phone, { ...note(i), set: { text } }, 1000 + i));
  return phone;
}

const bytes = utf8ToBytes('not really a picture');
const photo = { sha256: bytesToHex(sha256(bytes)), type: 'image/jpeg', base64: toBase64(bytes) };
const fileFrom = (phone: MemoryPhone) => fileOf(phone.meta, sorted(phone), [photo], 7000);
const textOf = (file: StudioFile) => [...encodeStudioFile(file)].join('');

const adopted = (file: StudioFile, replica: string): MemoryPhone => {
  const { meta, rows } = adoptFile(file, replica);
  return { meta, outbox: [], rows: new Map(rows.map((row) => [keyOf(row.kind, row.id), row])), needs: [] };
};

function merge(phone: MemoryPhone, file: StudioFile): void {
  const merged = mergeFile(phone.meta, phone.outbox, phone.rows, file, world);
  phone.meta = merged.meta;
  for (const row of merged.rows) phone.rows.set(keyOf(row.kind, row.id), row);
  for (const key of merged.gone) phone.rows.delete(key);
  phone.outbox = merged.outbox ?? phone.outbox.filter((op) => op.n > merged.dropTo);
}

const shown = (phone: MemoryPhone) =>
  sorted(phone).map((row: Row) => [row.id, fieldOf(row, 'text').live.map((e) => e.value)]);

describe('the file', () => {
  test('comes out as it went in', () => {
    const phone = phoneWith('loose 🧵', 'tight\n"here"', '\u2028');
    write(phone, { ...note(0), set: { text: 'better' } }, 2000);
    expect(decodeStudioFile(textOf(fileFrom(phone)))).toEqual(fileFrom(phone));
  });
  test('is damaged where no date can name when it was made', () => {
    const made = (madeMs: number) => decodeStudioFile(textOf({ ...fileFrom(phoneWith('loose')), madeMs }));
    expect(made(8.64e15).madeMs).toBe(8.64e15);
    expect(() => made(9e15)).toThrow(expect.objectContaining({ reason: 'damaged' }));
  });
  test('is read bit by bit: shares that only grow, and the same file at the end', () => {
    const phone = phoneWith(...Array.from({ length: 1500 }, (_, i) => `note ${i} ${'🧵'.repeat(100)}`));
    const text = textOf(fileFrom(phone));
    const shares: number[] = [];
    const reading = readStudioFile(text);
    let step = reading.next();
    for (; !step.done; step = reading.next()) shares.push(step.value);
    expect(step.value).toEqual(decodeStudioFile(text));
    expect(shares.length).toBeGreaterThan(9); // a million letters of it
    expect(shares).toEqual([...shares].sort((a, b) => a - b));
    expect(shares.at(-1)).toBeLessThanOrEqual(1);
  });
  test.each<[string, (text: string) => string, BadFile['reason']]>([
    ['nothing', () => '', 'not-ours'],
    ['another program’s JSON', () => '{"format":"other","version":1}\n', 'not-ours'],
    ['no text at all', () => '\u0000\u0001', 'not-ours'],
    ['a later version', (t) => t.replace('"version":1', '"version":2'), 'too-new'],
    ['one letter changed', (t) => t.replace('loose', 'Loose'), 'damaged'],
    ['the last line gone', (t) => t.slice(0, t.lastIndexOf('\n', t.length - 2) + 1), 'damaged'],
    ['cut in the middle', (t) => t.slice(0, t.length / 2), 'damaged'],
    ['cut in the first line', (t) => t.slice(0, 40), 'not-ours'],
    ['something after the end', (t) => `${t}{}\n`, 'damaged'],
    ['a line twice, with a sum that holds', (t) => resum(t.replace(/(\{"kind"[^\n]*\n)/, '$1$1')), 'damaged'],
    [
      'a record twice, counted',
      (t) => resum(t.replace(/(\{"kind"[^\n]*\n)/, '$1$1').replace('"records":1', '"records":2')),
      'damaged',
    ],
    ['a hostile dot', (t) => resum(t.replaceAll(`${id(2)}:1"`, `${id(2)}:0"`)), 'damaged'],
    ['a fraction', (t) => resum(t.replace('"value":"loose"', '"value":0.5')), 'damaged'],
    ['a deep value', (t) => resum(t.replace('"loose"', `${'['.repeat(5000)}${']'.repeat(5000)}`)), 'damaged'],
    ['a photo of another sum', (t) => resum(t.replace(photo.base64, toBase64(utf8ToBytes('another')))), 'damaged'],
    ['a photo that is a page', (t) => resum(t.replace('image/jpeg', 'text/html')), 'damaged'],
    ['a line of five million letters', (t) => resum(t.replace('"loose"', `"${'x'.repeat(5_000_000)}"`)), 'too-large'],
  ])('%s is refused whole', (_, spoil, reason) => {
    const good = textOf(fileFrom(phoneWith('loose')));
    expect(decodeStudioFile(good).records).toHaveLength(1);
    expect(() => decodeStudioFile(spoil(good))).toThrow(new BadFile(reason));
  });
  test('whatever is done to a byte of it, it is refused and never half read', () => {
    const good = textOf(fileFrom(phoneWith('loose')));
    fc.assert(
      fc.property(fc.nat(good.length - 1), fc.string({ minLength: 1, maxLength: 3 }), (at, s) => {
        const spoilt = good.slice(0, at) + s + good.slice(at + s.length);
        fc.pre(spoilt.trimEnd() !== good.trimEnd());
        expect(() => decodeStudioFile(spoilt)).toThrow(BadFile);
      }),
      { seed: 4, numRuns: 500 },
    );
  });
});

const resum = (text: string): string => {
  const body = text.slice(0, text.lastIndexOf('\n', text.length - 2) + 1);
  return `${body}{"sha256":"${bytesToHex(sha256(utf8ToBytes(body)))}"}\n`;
};

describe('opening it', () => {
  test('in an empty app the studio is adopted with its dots, under a new replica', () => {
    const first = phoneWith('a', 'b');
    const second = adopted(decodeStudioFile(textOf(fileFrom(first))), id(3));
    expect(shown(second)).toEqual(shown(first));
    expect(second.meta.replica).toBe(id(3));
    expect(second.outbox).toEqual([]);
    expect(JSON.parse(write(second, { ...note(0), set: { text: 'c' } }, 9000)).over).toEqual({ text: [`${id(2)}:1`] });
  });
  test('in the same studio it is merged, once or twice', () => {
    const first = phoneWith('a', 'b');
    const second = adopted(fileFrom(first), id(3));
    write(second, { ...note(0), set: { text: 'from the second' } }, 9000);
    write(first, { ...note(1), set: { text: 'from the first' } }, 9000);
    const file = fileFrom(second);
    merge(first, file);
    const want = [
      [id(0), ['from the second']],
      [id(1), ['from the first']],
    ];
    expect(shown(first)).toEqual(want);
    const once = structuredClone(first);
    merge(first, file);
    expect([shown(first), first.outbox, first.meta.c]).toEqual([shown(once), once.outbox, once.meta.c]);
    merge(second, fileFrom(first));
    expect(shown(second)).toEqual(want);
  });
  test('one’s own file changes nothing: what no server has goes on waiting, and is sent', () => {
    const phone = phoneWith('a');
    write(phone, { ...note(0), set: { text: 'b' } }, 2000);
    const before = shown(phone);
    const file = fileFrom(phone);
    write(phone, { ...note(1), set: { text: 'later' } }, 3000);
    merge(phone, file);
    expect(phone.meta.replica).toBe(id(2));
    expect(phone.outbox.map((op) => op.n)).toEqual([1, 2, 3]);
    expect(shown(phone)).toEqual([...before, [id(1), ['later']]]);
    const server = newStub(id(9));
    settle(phone, server);
    expect(Object.keys(server.records)).toHaveLength(2);
    expect(server.c[phone.meta.replica]?.[0]).toBe(3);
    expect(phone.outbox).toEqual([]);
  });
  test('a file that knows another history of our replica makes us a new one, and no word is lost', () => {
    const phone = phoneWith('a');
    const clone = structuredClone(phone);
    write(phone, { ...note(5), set: { text: 'here' } }, 2000);
    write(clone, { ...note(6), set: { text: 'there' } }, 2000);
    merge(phone, fileFrom(clone));
    expect(phone.meta.replica).not.toBe(id(2));
    expect(shown(phone).flat(2)).toEqual([id(0), 'a', 'a', id(5), 'here', id(6), 'there']);
  });
  test('what a file says is purged is purged here', () => {
    const phone = phoneWith('secret', 'open');
    merge(phone, { ...fileFrom(phone), records: [], purged: [`${id(2)}:1`] });
    expect(shown(phone)).toEqual([
      [id(0), [undefined]],
      [id(1), ['open']],
    ]);
    expect(phone.meta.purged).toEqual({ [`${id(2)}:1`]: true });
  });
  test('a file of another studio is no state of this one', () => {
    expect(() => merge(newMemoryPhone(id(8), id(4)), fileFrom(phoneWith('a')))).toThrow('another studio');
  });
});

function settle(phone: MemoryPhone, server: ReturnType<typeof newStub>): void {
  for (let i = 0; i < 8; i++) {
    const asked = request(phone, server.id);
    take(phone, asked, readAnswer(JSON.parse(serve(server, requestBody(asked)))), world);
  }
  expect(phone.outbox).toEqual([]);
  expect(spell(phone)).toContain('later');
}
