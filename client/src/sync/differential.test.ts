/** Our merge against a general-purpose library with the same semantics: what nobody who saw it replaced or removed stays. */
import { getBackend, init } from '@automerge/automerge';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import {
  applyOp,
  type Context,
  covers,
  emptyRecord,
  fieldOf,
  knownOf,
  liveDots,
  type Rec,
  raise,
  takeRecord,
  trim,
  type Vector,
} from './merge';
import type { Dot, Json, Op } from './ops';
import { id } from './scene';

const records = [0, 1];
const fields = ['a', 'b'];

/**
 * One replica, kept by both: ours as records under a vector, theirs as one flat map, by the library's lower layer: its
 * view in the page is slow, and after a merge may show what a deletion took. Values are numbers: text would be woven.
 */
type Copy = { name: string; recs: Rec[]; c: Vector; log: Op[]; doc: ReturnType<typeof getBackend> };
/** What a step does is in its numbers. */
type Step = readonly [what: number, who: number, other: number, record: number, field: number];
type Met = { beside: number; removed: number; survived: number };

const contextOf = (copy: Copy): Context => ({
  has: (dot) => covers(copy.c, dot),
  voidOf: () => undefined,
  purged: () => false,
});

const newCopy = (n: number): Copy => ({
  name: id(n + 1),
  recs: records.map((r) => emptyRecord('note', id(r))),
  c: {},
  log: [],
  doc: getBackend(init({ actor: id(n + 1) })),
});

const recOf = (copy: Copy, record: number): Rec => copy.recs[record] as Rec;

function take(copy: Copy, op: Op): void {
  if (covers(copy.c, `${op.replica}:${op.n}`)) return;
  const record = records.findIndex((r) => id(r) === op.id);
  copy.recs[record] = applyOp(recOf(copy, record), op, contextOf(copy));
  copy.c = { ...copy.c, [op.replica]: [op.n, '0'.repeat(16)] };
  copy.log.push(op);
}

function set(copy: Copy, record: number, field: string, value: Json): void {
  const n = knownOf(copy.c, copy.name) + 1;
  const over = { [field]: fieldOf(recOf(copy, record), field).live.map((e) => e.dot) };
  take(copy, {
    replica: copy.name,
    n,
    at: [n, 0],
    by: '',
    kind: 'note',
    id: id(record),
    set: { [field]: value },
    over,
  });
}

const keyOf = (record: number, field: string) => `${record}/${field}`;

function write(copy: Copy, record: number, field: string, value: number): void {
  set(copy, record, field, value);
  copy.doc.put('_root', keyOf(record, field), value, 'int');
  copy.doc.commit();
}

/** Here a removal names what it has seen; there it deletes each field of the record. */
function remove(copy: Copy, record: number): void {
  set(copy, record, 'removed', { seen: liveDots(recOf(copy, record)) });
  for (const field of fields) copy.doc.delete('_root', keyOf(record, field));
  copy.doc.commit();
}

/** Ours come either as ops, in the order in which the other learnt them, or as whole records with their vector. */
function hear(copy: Copy, other: Copy, asOps: boolean): void {
  copy.doc.merge(other.doc);
  if (asOps) {
    for (const op of other.log) take(copy, op);
    return;
  }
  const ctx = contextOf(copy);
  const taken = records.map((r) => takeRecord(recOf(copy, r), recOf(other, r), other.c, ctx));
  for (const op of other.log) if (!covers(copy.c, `${op.replica}:${op.n}`)) copy.log.push(op);
  copy.c = raise(copy.c, other.c);
  copy.recs = taken.map((rec) => trim(rec, contextOf(copy)));
}

function seenBy(rec: Rec): Set<Dot> {
  const removals = fieldOf(rec, 'removed').live.map((e) => e.value as { seen: Dot[] });
  return new Set(removals.flatMap(({ seen }) => seen));
}

/** The values of a field that stand and that no removal has seen. */
function ours(copy: Copy, record: number, field: string): string[] {
  const seen = seenBy(recOf(copy, record));
  const left = fieldOf(recOf(copy, record), field).live.filter((e) => !seen.has(e.dot));
  return left.map((e) => String(e.value)).sort();
}

function theirs({ doc }: Copy, record: number, field: string): string[] {
  return doc
    .getAll('_root', keyOf(record, field))
    .map(([, value]) => String(value))
    .sort();
}

function compare(copies: readonly Copy[], met: Met): void {
  for (const copy of copies) {
    for (const record of records) {
      for (const field of fields) {
        const mine = ours(copy, record, field);
        const same = theirs(copy, record, field);
        if (mine.join() !== same.join()) expect(mine, `record ${record}, field ${field}`).toEqual(same); // slow, so only then
        if (mine.length > 1) met.beside++;
      }
      const removed = seenBy(recOf(copy, record)).size > 0;
      if (removed) met.removed++;
      if (removed && fields.some((field) => ours(copy, record, field).length > 0)) met.survived++;
    }
  }
}

function play(steps: readonly Step[], met: Met): void {
  const copies = [0, 1, 2].map(newCopy);
  for (const [i, [what, who, other, record, f]] of steps.entries()) {
    const copy = copies[who] as Copy;
    if (what < 9) write(copy, record, fields[f] as string, i);
    else if (what < 11) remove(copy, record);
    else if (other !== who) hear(copy, copies[other] as Copy, what % 2 === 0);
  }
  compare(copies, met);
  const [first, ...rest] = copies as [Copy, Copy, Copy];
  for (const [i, copy] of rest.entries()) hear(first, copy, i === 0);
  for (const [i, copy] of rest.entries()) hear(copy, first, i === 0);
  compare(copies, met);
}

const step = fc.tuple(fc.nat(18), fc.nat(2), fc.nat(2), fc.nat(1), fc.nat(1));

test('2,000 histories of writes, concurrent writes and removals leave the same values in each field', {
  timeout: 300_000,
}, () => {
  const met: Met = { beside: 0, removed: 0, survived: 0 };
  let histories = 0;
  fc.assert(
    fc.property(fc.array(step, { minLength: 6, maxLength: 16 }), (steps) => {
      play(steps, met);
      histories++;
    }),
    { seed: 31, numRuns: 2000 },
  );
  expect(histories).toBe(2000);
  for (const [what, times] of Object.entries(met)) expect(times, `no history met ${what}`).toBeGreaterThan(500);
});
