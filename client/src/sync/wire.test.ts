import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { forkName, type Json } from './ops';
import { BadMessage, readAnswer, readRecord, recordText, requestBody } from './wire';

const id = (n: number) => n.toString(16).padStart(32, '0');
const short = '0123456789abcdef';
const dot = `${id(1)}:1`;
const record = {
  kind: 'note',
  id: id(2),
  fields: { text: { live: [{ dot, at: [5, 0], by: '', value: { a: [1] } }], dead: [`${id(3)}:2`] } },
};
const answer = {
  format: 1,
  server: id(9),
  epoch: 'e',
  upTo: 3,
  upToDigest: short,
  reading: 3,
  acked: { [id(1)]: [1, short] },
  records: [record],
  more: false,
  have: { [id(1)]: [1, short] },
  voids: [{ dot, digest: short, kind: 'note', id: id(2), over: { text: [dot] }, reason: 'malformed' }],
  forks: [{ replica: id(1), from: 1, to: forkName(id(1), short), before: short, digests: [short], renamed: [short] }],
  refused: [{ replica: id(1), n: 1, reason: 'no-right', forGood: false }],
  photosWanted: ['f'.repeat(64)],
};

/** The places of a tree, each as the keys that lead there. */
function places(tree: Json, path: string[] = []): string[][] {
  if (typeof tree !== 'object' || tree === null) return [path];
  return [path, ...Object.entries(tree).flatMap(([key, item]) => places(item, [...path, key]))];
}

function withAt(tree: Json, [key, ...rest]: string[], value: Json): Json {
  if (key === undefined) return value;
  const copy = (Array.isArray(tree) ? [...tree] : { ...(tree as object) }) as Record<string, Json>;
  copy[key] = withAt(copy[key] as Json, rest, value);
  return copy as Json;
}

describe('an answer', () => {
  test('of ours is read as it stands, and what is not known of it passed over', () => {
    expect(readAnswer({ ...answer, later: 1 })).toEqual(answer);
    const { have, voids, forks, photosWanted, ...least } = answer;
    expect(readAnswer(least)).toEqual({ ...least, voids: [], forks: [], photosWanted: [] });
  });
  test('with anything at all in any place of it is read or refused, and reads the same again', () => {
    const all = places(answer as unknown as Json);
    fc.assert(
      fc.property(fc.constantFrom(...all), fc.jsonValue({ maxDepth: 3 }), (path, value) => {
        let read: unknown;
        try {
          read = readAnswer(withAt(answer as unknown as Json, path, value as Json));
        } catch (e) {
          expect(e).toBeInstanceOf(BadMessage);
          return;
        }
        expect(readAnswer(read)).toEqual(read);
      }),
      { seed: 5, numRuns: 3000 },
    );
  });
  test.each<[string, string[], Json]>([
    ['a fraction as a value', ['records', '0', 'fields', 'text', 'live', '0', 'value'], 1.5],
    ['a lone surrogate', ['records', '0', 'fields', 'text', 'live', '0', 'value'], '\ud800'],
    ['a long lone surrogate', ['records', '0', 'fields', 'text', 'live', '0', 'value'], `${'x'.repeat(20_000)}\ud800`],
    ['a value larger than an op', ['records', '0', 'fields', 'text', 'live', '0', 'value'], 'x'.repeat(70_000)],
    [
      'a value too deep',
      ['records', '0', 'fields', 'text', 'live', '0', 'value'],
      JSON.parse('['.repeat(20) + ']'.repeat(20)),
    ],
    ['a count below 0', ['upTo'], -1],
    ['a stamp beyond its count', ['records', '0', 'fields', 'text', 'live', '0', 'at'], [1, 65_536]],
    ['a digest that is too long', ['acked', id(1)], [1, 'a'.repeat(64)]],
    ['a kind of server that is none', ['wrong'], 'everything'],
    [
      'a dot twice in a field',
      ['records', '0', 'fields', 'text', 'live'],
      [0, 1].map(() => ({ dot, at: [5, 0], by: '' })),
    ],
    ['a field that is no word', ['records', '0', 'fields'], { 'a b': { live: [] } }],
  ])('with %s is refused', (_, path, value) => {
    expect(() => readAnswer(withAt(answer as unknown as Json, path, value))).toThrow(BadMessage);
  });
});

test('a record travels with its values in the format’s one spelling, and fields in order', () => {
  const rec = readRecord({
    kind: 'note',
    id: id(2),
    fields: { b: record.fields.text, a: { live: [{ dot, at: [5, 0], by: id(4) }] } },
  });
  expect(recordText(rec)).toBe(
    `{"kind":"note","id":"${id(2)}","fields":{"a":{"live":[{"dot":"${dot}","at":[5,0],"by":"${id(4)}"}]},` +
      `"b":{"live":[{"dot":"${dot}","at":[5,0],"by":"","value":{"a":[1]}}],"dead":["${id(3)}:2"]}}}`,
  );
  expect(readRecord(JSON.parse(recordText(rec)))).toEqual(rec);
});

test('the body of a request holds the very bytes of its ops', () => {
  const ops = ['{"z":1,"10":2,"9":"<&>\u2028"}'];
  const place = {
    server: '',
    epoch: '',
    after: 0,
    afterDigest: '',
    reading: 0,
    replica: id(1),
    from: 1,
    prevDigest: 'f'.repeat(64),
  };
  expect(requestBody({ format: 1, ...place, ops })).toContain(`"ops":[${ops[0]}]`);
});
