import fc from 'fast-check';
import { expect, test } from 'vitest';
import { type MemoryPhone, newMemoryPhone, request, spell, take, write } from './memory';
import { encodeOp, type Json, MalformedOp, parseOp } from './ops';
import { id, note, studio } from './scene';
import { newStub, serve } from './stub-server';
import { loadVectors } from './vectors';
import { BadMessage, readAnswer, readRecord, recordText, requestBody } from './wire';

type Step = { request: Json; want: { records: Json[] } };
const steps = loadVectors<{ steps: Step[] }>('exchange', ['name', 'steps']).flatMap((c) => c.steps);
const ours = 'a'.repeat(32); // the name that most conversations are about
const dot = `${ours}:1`;

/** Values that are at home in some place of a message, and wrong in all others. */
const wild: Json[] = [
  ...['', '0', ours, dot, `${ours}:0`, 'two words', '__proto__', '\ud800', '0'.repeat(16)],
  ...[0, -1, 1.5, 2 ** 53, Number.MAX_SAFE_INTEGER, 1e300, null, true, [], {}, [null], [dot, dot]],
  [1, '0'.repeat(16)],
  [Number.MAX_SAFE_INTEGER, '0'.repeat(16)],
  { [ours]: [9, '0'.repeat(16)] },
  { text: { live: [{ dot: `${ours}:9`, at: [1, 0], by: '', value: 'x' }], dead: [`${ours}:9`] } },
  [{ dot, digest: '0'.repeat(16), kind: 'note', id: ours, over: { text: [dot] }, reason: 'malformed' }],
  [{ replica: ours, n: 1, reason: 'fork', forGood: false }],
  [{ replica: ours, n: 1, reason: 'malformed', forGood: true }],
  [{ replica: ours, from: 1, to: ours, before: '0'.repeat(16), digests: ['0'.repeat(16)], renamed: [] }],
];
const value = fc.oneof(fc.constantFrom(...wild), fc.jsonValue({ maxDepth: 2 }) as fc.Arbitrary<Json>);
const twists = fc.array(fc.tuple(fc.nat(10_000), value), { minLength: 1, maxLength: 2 });

const count = (tree: Json): number =>
  typeof tree === 'object' && tree !== null ? 1 + Object.values(tree).reduce((n: number, v) => n + count(v), 0) : 1;

/** The tree with its n-th node as another. */
function replaced(tree: Json, n: number, by: Json): Json {
  if (n === 0 || typeof tree !== 'object' || tree === null) return by;
  let left = n - 1;
  const entries = Object.entries(tree).map(([key, item]) => {
    const size = count(item);
    const next = left >= 0 && left < size ? replaced(item, left, by) : item;
    left -= size;
    return [key, next] as const;
  });
  return Array.isArray(tree) ? entries.map(([, item]) => item) : Object.fromEntries(entries);
}

const twisted = (tree: Json, by: readonly (readonly [number, Json])[]) =>
  by.reduce((t, [place, v]) => replaced(t, place % count(t), v), tree);

/** A phone that said something here already, and has more to say. */
function busyPhone(): MemoryPhone {
  const server = newStub('9'.repeat(32));
  const phone = newMemoryPhone(studio, ours, server);
  const world = { nowMs: 1000, newId: () => id(77) };
  write(phone, { ...note(1), set: { text: 'said' } }, 1000);
  const asked = request(phone, server.id, world);
  take(phone, asked, readAnswer(JSON.parse(serve(server, requestBody(asked)))), world);
  write(phone, { ...note(1), set: { text: 'waits' } }, 2000);
  return phone;
}

const busy = busyPhone();

test('whatever an answer says, it is refused whole or taken, and the phone goes on', () => {
  let took = 0;
  const answers = steps.map((s) => s.want as Json);
  fc.assert(
    fc.property(fc.constantFrom(...answers), twists, (answer, by) => {
      const phone = structuredClone(busy);
      const world = { nowMs: 3000, newId: () => id(78) };
      const asked = request(phone, '9'.repeat(32), world);
      const before = spell(phone);
      let read: ReturnType<typeof readAnswer>;
      try {
        read = readAnswer(JSON.parse(JSON.stringify(twisted(answer, by))));
      } catch (e) {
        expect(e).toBeInstanceOf(BadMessage);
        expect(spell(phone)).toBe(before);
        return;
      }
      take(phone, asked, read, world);
      const kept = phone.outbox.length + phone.needs.length === 1;
      const acked = (read.acked[asked.replica]?.[0] ?? 0) >= asked.from;
      expect(kept || acked, 'an own op that nobody acknowledged is gone').toBe(true);
      write(phone, { ...note(2), set: { text: 'goes on' } }, 4000);
      JSON.parse(requestBody(request(phone, '9'.repeat(32), world)));
      if (read.server === '9'.repeat(32)) took++;
    }),
    { seed: 21, numRuns: 1000 },
  );
  expect(took, 'answers that were taken').toBeGreaterThan(40);
});

test('whatever a record says, it is refused or is written as it was read', () => {
  let good = 0;
  const records = steps.flatMap((s) => s.want.records);
  fc.assert(
    fc.property(fc.constantFrom(...records), twists, (record, by) => {
      let read: ReturnType<typeof readRecord>;
      try {
        read = readRecord(JSON.parse(JSON.stringify(twisted(record, by))));
      } catch (e) {
        expect(e).toBeInstanceOf(BadMessage);
        return;
      }
      expect(readRecord(JSON.parse(recordText(read)))).toEqual(read);
      good++;
    }),
    { seed: 22, numRuns: 1500 },
  );
  expect(good, 'records that were read').toBeGreaterThan(50);
});

test('whatever an op says, it is malformed or has this one spelling', () => {
  const ops = steps.flatMap((s) => (s.request as { ops: Json[] }).ops).filter((op) => JSON.stringify(op).length < 1000);
  let good = 0;
  fc.assert(
    fc.property(fc.constantFrom(...ops), twists, fc.nat(3), (op, by, spelling) => {
      const text = JSON.stringify(twisted(op, by), undefined, spelling === 3 ? ' ' : '');
      try {
        expect(encodeOp(parseOp(text))).toBe(text);
        good++;
      } catch (e) {
        expect(e).toBeInstanceOf(MalformedOp);
      }
    }),
    { seed: 23, numRuns: 1500 },
  );
  expect(good, 'ops that are of the format').toBeGreaterThan(25);
});
