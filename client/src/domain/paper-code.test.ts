import { encodeQR } from 'qr';
import { decodeQR } from 'qr/decode.js';
import { describe, expect, it, test } from 'vitest';
import { crc32 } from './crc32';
import { caseCode, mostCodeBytes, type PaperRecipe, readCode, recipeCode } from './paper-code';
import { differsFromPaper, foundHere, keepPaper, toPaper } from './paper-recipe';
import { faults } from './records';
import { codeLetters, shortCode, typedCode } from './short-code';
import { bobbinCase, filled, hex, machine } from './task/world';

const bytes = (text: string) => new TextEncoder().encode(text);
const whole: PaperRecipe = {
  id: hex(0xe1),
  fields: {
    ...{ name: 'Nachtblau, "Größe" 🧵', bobbinKind: 'pre-wound', fill: 'full', dropTenthsIn: 45, work: 'show' },
    ...{ topMinutesFromFlush: -75, bobbinMinutesHint: 0, needle: '100', batting: 'wool', backing: 'plain cotton' },
    ...{ score: -1, stitchesPerInch: 11, text: 'Slower over the seams.\nSecond line.' },
  },
  machine: { name: 'Big frame', code: shortCode(hex(0xa1)) },
  bobbinCase: { name: 'Green dot', code: shortCode(hex(0xb1)) },
  topThread: { number: '40', fibre: 'polyester', colour: '#113388' },
  bobbinThread: { number: '60/2', countSystem: 'Ne', countThousandths: 60_000, countPlies: 2 },
};
const codeOf = (r: PaperRecipe) => recipeCode(r)?.code ?? '';
/** A text of our form around any body, with the check that belongs to it. */
const formed = (body: string, version = '1') => `EVENPULL RECIPE ${version} ${crc32(bytes(body))} ${body}`;

test('the CRC-32 of the nine digits is CBF43926, as every list of CRCs has it', () => {
  // The check value of CRC-32/ISO-HDLC; ITU-T V.42 gives the same polynomial and order of bits.
  expect(crc32(bytes('123456789'))).toBe('CBF43926');
  expect(crc32(bytes(''))).toBe('00000000');
});

describe('short codes', () => {
  it('stand for an id on every phone, in letters that do not look alike', () => {
    const codes = Array.from({ length: 2000 }, (_, i) => shortCode(hex(i * 7_919)));
    for (const code of codes) expect(code).toMatch(new RegExp(`^[${codeLetters}]{6}$`));
    expect(new Set(codes).size).toBe(2000);
    expect(codeLetters).not.toMatch(/[01ILOU]/);
  });
  it('are taken as people type them', () => {
    expect(typedCode(' 7km-xw2 ')).toBe('7KMXW2');
    for (const wrong of ['', '7KMXW', '7KMXW22', '7KMXW0', 'ABC DEF GHJ', '7KMXW2\u0000'])
      expect(typedCode(wrong)).toBeUndefined();
  });
  it('are read off a label by camera or by hand', () => {
    const code = caseCode(bobbinCase);
    expect(code).toMatch(/^[0-9A-Z ]{20}$/); // 20 signs of the alphanumeric set fill version 1 at level M (ISO/IEC 18004, table 7)
    expect(encodeQR(code, 'raw', { ecc: 'medium', border: 1 })).toHaveLength(23);
    expect(readCode(code)).toEqual({ bobbinCase: shortCode(bobbinCase) });
    expect(readCode(shortCode(bobbinCase).toLowerCase())).toEqual({ bobbinCase: shortCode(bobbinCase) });
  });
});

describe('the code of a recipe', () => {
  it('holds the whole recipe', () => expect(readCode(codeOf(whole))).toEqual({ recipe: whole }));

  it('holds one that says next to nothing', () => {
    const bare = { id: hex(1), fields: {} };
    expect(readCode(codeOf(bare))).toEqual({ recipe: bare });
  });

  it('comes back from the squares that are printed', () => {
    const cells = encodeQR(codeOf(whole), 'raw', { ecc: 'medium', border: 4 });
    const scale = 3;
    const size = cells.length * scale;
    const data = new Uint8ClampedArray(size * size * 4).fill(255);
    for (let y = 0; y < size; y++)
      for (let x = 0; x < size; x++)
        if (cells[Math.floor(y / scale)]?.[Math.floor(x / scale)])
          data.fill(0, 4 * (y * size + x), 4 * (y * size + x) + 3);
    expect(readCode(decodeQR({ width: size, height: size, data }))).toEqual({ recipe: whole });
  });

  it('leaves the words out where there is no room for them, and gives up where names alone are too long', () => {
    const long = { ...whole, fields: { ...whole.fields, text: 'word '.repeat(200) } };
    const made = recipeCode(long);
    expect(made?.without).toBe(true);
    const { text: _, ...rest } = whole.fields;
    expect(readCode(made?.code ?? '')).toEqual({ recipe: { ...whole, fields: rest } });
    expect(recipeCode(whole)?.without).toBe(false);
    const wide = '織'.repeat(80);
    expect(recipeCode({ ...whole, fields: { name: wide, batting: wide, backing: wide } })).toBeUndefined();
    expect(bytes(codeOf(whole)).length).toBeLessThanOrEqual(mostCodeBytes);
  });
});

describe('what is not taken', () => {
  const body = codeOf(whole).slice('EVENPULL RECIPE 1 12345678 '.length);
  const changed = (more: object) => formed(JSON.stringify({ ...JSON.parse(body), ...more }));

  it('is a text with any one sign changed, or cut short anywhere', () => {
    const code = codeOf(whole);
    for (let i = 'EVENPULL RECIPE 1 '.length; i < code.length; i++) {
      const other = code[i] === '7' ? '8' : '7';
      expect(readCode(code.slice(0, i) + other + code.slice(i + 1)), `sign ${i}`).toEqual({ fault: 'damaged' });
    }
    for (let i = 0; i < code.length - 1; i++) expect(readCode(code.slice(0, i))).toHaveProperty('fault');
  });

  it.each([
    ['', 'not-ours'],
    ['https://example.org/recipe', 'not-ours'],
    ['evenpull recipe 1', 'not-ours'],
    ['EVENPULL CASE 7KMXW', 'damaged'],
    ['EVENPULL CASE 7KMXW0', 'damaged'],
    ['EVENPULL RECIPE 1', 'damaged'],
    ['EVENPULL RECIPE 0 00000000 {}', 'damaged'],
    [formed('{}', '2'), 'newer'],
    [formed('[]'), 'damaged'],
    [formed('null'), 'damaged'],
    [formed('{'), 'damaged'],
    [formed('['.repeat(2_900)), 'damaged'],
    [formed('{}'), 'unusable'],
    [`EVENPULL RECIPE 1 ${'x'.repeat(4_000)}`, 'too-long'],
    ['x'.repeat(1_000_000), 'not-ours'],
  ])('%.40s: %s', (text, fault) => expect(readCode(text)).toEqual({ fault }));

  it.each([
    { i: 'short' },
    { i: 7 },
    { n: 'x'.repeat(81) },
    { n: 'two\nlines' },
    { n: { toString: 1 } },
    { d: 1e9 },
    { l: 3 },
    { d: 4.5 },
    { d: -1 },
    { d: '45' },
    { o: 75, g: 45 },
    { k: 'gold' },
    { w: '__proto__' },
    { m: 'Big frame' },
    { m: ['Big frame', '7KMXW2X'] },
    { m: ['', '7KMXW2'] },
    { c: ['x'.repeat(81), '7KMXW2'] },
    { t: '40' },
    { t: ['40', 'polyester', 'blue'] },
    { t: ['40', 'polyester', '#113388', 'wishes', 1] },
    { b: [1, 2, 3, 4, 5, 6, 7] },
  ])('is one in which a value can’t be right: %j', (more) => {
    expect(readCode(changed(more))).toEqual({ fault: 'unusable' });
  });

  it('adds a field that this version does not know, and nothing else of it', () => {
    expect(readCode(changed({ z: 'a later field', __proto__: { n: 'no' } }))).toEqual({ recipe: whole });
  });
});

describe('a recipe on its way to paper and back', () => {
  const fields = {
    ...{ name: 'River stones', machine, bobbinCase, topThread: hex(0xc1), bobbinThread: hex(0xc2), zone: 120 },
    ...{ dropTenthsIn: 50, topMinutesFromFlush: 60, work: 'custom' },
  };
  const paper = toPaper(hex(0xe1), fields, filled);
  const ids = [hex(0xf1), hex(0xf2)] as const;

  it('finds its own machine, case and threads again', () => {
    const read = readCode(codeOf(paper));
    expect(read).toEqual({ recipe: paper });
    expect(foundHere(paper, filled)).toEqual({
      ...{ machine, bobbinCase, topThread: hex(0xc1), bobbinThread: hex(0xc2) },
    });
    expect(keepPaper(paper, filled, ids, 'of another')).toEqual([{ kind: 'recipe', id: hex(0xe1), set: fields }]);
  });

  it('in another studio takes no machine of the same name for its own, and puts its threads on the shelf', () => {
    const other = {
      ...filled,
      machine: hex(0xaa),
      machines: [{ ...filled.machines[0], id: hex(0xaa), at: 0, by: '', name: 'Long one' }],
      bobbinCases: [],
      threads: [{ id: hex(0xcc), at: 0, by: '', number: '40', fibre: 'polyester', colour: '#113388' }],
    };
    const drafts = keepPaper(paper, other, ids, 'From paper: Long one');
    expect(drafts.map((d) => d.kind)).toEqual(['thread', 'recipe']);
    expect(drafts[0]).toEqual({
      kind: 'thread',
      id: ids[0],
      set: { number: '60', fibre: 'polyester', colour: '#dd7711', zone: 120 },
    });
    expect(drafts[1]?.set).toEqual({
      ...{ name: 'River stones', dropTenthsIn: 50, topMinutesFromFlush: 60, work: 'custom', zone: 120 },
      ...{ topThread: hex(0xcc), bobbinThread: ids[0], text: 'From paper: Long one' },
    });
    for (const d of drafts) expect(faults(d.kind, d.set, true)).toEqual([]);
  });

  it('puts a thread that is on both sides on the shelf once', () => {
    const same = {
      ...paper,
      topThread: { number: '80', fibre: 'silk' },
      bobbinThread: { number: '80', fibre: 'silk' },
    };
    const drafts = keepPaper(same, filled, ids, '');
    expect(drafts.map((d) => d.kind)).toEqual(['thread', 'recipe']);
    expect(drafts[1]?.set).toMatchObject({ topThread: ids[0], bobbinThread: ids[0] });
  });

  it('says in what the recipe was changed since its card was printed', () => {
    expect(differsFromPaper(paper, fields)).toEqual([]);
    expect(differsFromPaper(paper, { ...fields, dropTenthsIn: 45, work: undefined as never })).toEqual([
      ...['dropTenthsIn', 'work'],
    ]);
  });
});
