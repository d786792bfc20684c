import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type Fork, forkConcerns, forkHolds, renameDot, renameRecord } from './fork';
import {
  applyOp,
  beyond,
  type Context,
  compareDots,
  covers,
  dotOf,
  emptyRecord,
  hidden,
  knownOf,
  liveDots,
  purge,
  purgedBy,
  type Rec,
  raise,
  takeRecord,
  takeVoid,
  trim,
  type Vector,
  type Void,
} from './merge';
import { type Dot, forkName, type Json, type Op } from './ops';

const R = (n: number) => n.toString(16).repeat(32).slice(0, 32);
const short = '0'.repeat(16);
const recordIds = [R(10), R(11)];
const fieldNames = ['text', 'constructor']; // a field may bear any name of letters

/** A copy in memory: what a store holds. An op that is refused for good stands as a void. */
type Copy = { records: Map<string, Rec>; c: Vector; voids: Map<Dot, Void>; purged: Set<Dot> };
type Event = { op: Op; refused: boolean };

const newCopy = (): Copy => ({ records: new Map(), c: {}, voids: new Map(), purged: new Set() });
const contextOf = (k: Copy): Context => ({
  has: (dot) => covers(k.c, dot),
  voidOf: (dot) => k.voids.get(dot),
  purged: (dot) => k.purged.has(dot),
});

function notePurged(k: Copy, dots: readonly Dot[]): void {
  for (const dot of dots) k.purged.add(dot);
  for (const [id, rec] of k.records)
    k.records.set(
      id,
      purge(rec, (dot) => k.purged.has(dot)),
    );
}

function addVoid(k: Copy, v: Void): void {
  k.voids.set(v.dot, v);
  const rec = k.records.get(v.id ?? '');
  if (rec) k.records.set(rec.id, takeVoid(rec, v, contextOf(k)));
}

function apply(k: Copy, { op, refused }: Event): void {
  const dot = dotOf(op.replica, op.n);
  if (covers(k.c, dot)) return;
  if (refused) {
    addVoid(k, { dot, digest: short, kind: op.kind, id: op.id, over: op.over, reason: 'malformed' });
  } else {
    notePurged(k, purgedBy(op.kind, op.set.dots));
    k.records.set(op.id, applyOp(k.records.get(op.id) ?? emptyRecord(op.kind, op.id), op, contextOf(k)));
  }
  k.c = { ...k.c, [op.replica]: [op.n, short] };
}

/** Takes in another copy, all of it or page by page: the vector is raised at the end. */
function merge(k: Copy, other: Copy): void {
  for (const v of other.voids.values()) if (!k.voids.has(v.dot)) addVoid(k, v);
  notePurged(k, [...other.purged]);
  for (const theirs of other.records.values()) {
    k.records.set(theirs.id, takeRecord(k.records.get(theirs.id), theirs, other.c, contextOf(k)));
  }
  k.c = raise(k.c, other.c);
}

function spell(k: Copy): Json {
  const records = [...k.records.values()].map((rec) => trim(rec, contextOf(k)));
  const full = records.filter((rec) => Object.keys(rec.fields).length > 0).sort((a, b) => (a.id < b.id ? -1 : 1));
  const fields = (rec: Rec) => Object.entries(rec.fields).sort(([a], [b]) => (a < b ? -1 : 1));
  return JSON.parse(JSON.stringify([full.map((rec) => [rec.id, fields(rec)]), Object.entries(k.c).sort()]));
}

/** What a set of ops means, said in one go: no order, no partition. */
function union(events: readonly Event[]): Json {
  const byDot = new Map(events.map((e) => [dotOf(e.op.replica, e.op.n), e]));
  const c: Vector = {};
  for (const { op } of events) if (op.n > knownOf(c, op.replica)) c[op.replica] = [op.n, short];
  const purged = new Set(events.flatMap(({ op, refused }) => (refused ? [] : purgedBy(op.kind, op.set.dots))));
  const copy: Copy = { records: new Map(), c, voids: new Map(), purged };
  for (const { op, refused } of byDot.values()) {
    if (refused) continue;
    const rec = copy.records.get(op.id) ?? emptyRecord(op.kind, op.id);
    for (const name of Object.keys(op.set)) {
      const named = new Set<Dot>();
      for (const e of byDot.values()) {
        if (e.refused || e.op.id !== op.id || !Object.hasOwn(e.op.over, name)) continue;
        for (const dot of e.op.over[name] ?? []) named.add(dot);
      }
      for (const dot of named) {
        const v = byDot.get(dot);
        if (v?.refused && Object.hasOwn(v.op.over, name)) for (const d of v.op.over[name] ?? []) named.add(d);
      }
      const field = Object.hasOwn(rec.fields, name)
        ? (rec.fields[name] ?? { live: [], dead: [] })
        : { live: [], dead: [] };
      rec.fields[name] = field;
      field.dead = [...named].filter((dot) => !byDot.has(dot)).sort(compareDots);
      const dot = dotOf(op.replica, op.n);
      if (named.has(dot)) continue;
      const entry = { dot, at: op.at, by: op.by };
      field.live.push(purged.has(dot) ? entry : { ...entry, value: op.set[name] as Json });
      field.live.sort((a, b) => b.at[0] - a.at[0] || b.at[1] - a.at[1] || compareDots(b.dot, a.dot));
    }
    copy.records.set(op.id, rec);
  }
  for (const rec of copy.records.values()) {
    for (const [name, f] of Object.entries(rec.fields))
      if (f.live.length + f.dead.length === 0) delete rec.fields[name];
  }
  return spell(copy);
}

const freshId = (n: number) => (n + 100).toString(16).padStart(32, 'c');

/** Ops of a few authors who see some of each other's, as numbers that decide all of it. */
const choices = fc.array(fc.tuple(fc.nat(2), fc.nat(99), fc.nat(99), fc.nat(99)), { minLength: 1, maxLength: 25 });

function history(script: readonly (readonly [number, number, number, number])[]): Event[] {
  const authors = [newCopy(), newCopy(), newCopy()];
  const events: Event[] = [];
  for (const [who, see, what, skip] of script) {
    const me = authors[who] as Copy;
    for (const e of events) {
      const next = e.op.n === knownOf(me.c, e.op.replica) + 1;
      if (next && (see + e.op.n) % 3 > 0) apply(me, { ...e, refused: false });
    }
    const n = knownOf(me.c, R(1 + who)) + 1;
    const id = recordIds[what % 2] as string;
    const name = fieldNames[(what >> 1) % 2] as string;
    const rec = me.records.get(id);
    const live = rec && Object.hasOwn(rec.fields, name) ? (rec.fields[name]?.live ?? []) : [];
    const over = live.map((e) => e.dot).filter((_, i) => (skip + i) % 5 > 0);
    const base = { replica: R(1 + who), n, at: [what, skip] as const, by: '' };
    const op: Op =
      what > 92 && live[0]
        ? { ...base, kind: 'purge', id: freshId(events.length), set: { dots: [live[0].dot] }, over: {} }
        : {
            ...base,
            kind: 'note',
            id,
            set: { [name]: `v${events.length}` },
            over: over.length > 0 ? { [name]: over } : {},
          };
    const event = { op, refused: skip > 70 };
    events.push(event);
    apply(me, { op, refused: false }); // authors learn of a refusal later, and may name what is refused before
  }
  return events;
}

/** Applies events in some order that keeps each replica's own. */
function build(events: readonly Event[], order: readonly number[]): Copy {
  const copy = newCopy();
  const waiting = [...events];
  for (let i = 0; waiting.length > 0; i++) {
    const ready = waiting.filter(({ op }) => op.n === knownOf(copy.c, op.replica) + 1);
    const next = ready[(order[i % order.length] ?? 0) % ready.length] as Event;
    apply(copy, next);
    waiting.splice(waiting.indexOf(next), 1);
  }
  return copy;
}

const order = fc.array(fc.nat(50), { minLength: 1, maxLength: 30 });
const cut = fc.tuple(fc.nat(12), fc.nat(12), fc.nat(12));
const upTo = (events: readonly Event[], [a, b, c]: readonly number[]) =>
  events.filter(({ op }) => op.n <= ({ [R(1)]: a, [R(2)]: b, [R(3)]: c }[op.replica] ?? 0));

describe('the same ops give the same state', () => {
  test('in any order', () => {
    fc.assert(
      fc.property(choices, order, (script, o) => {
        const events = history(script);
        expect(spell(build(events, o))).toEqual(union(events));
      }),
      { seed: 1, numRuns: 400 },
    );
  }, 30_000);
  test('in any partition, merged either way, and again', () => {
    fc.assert(
      fc.property(choices, order, order, cut, cut, (script, o, p, x, y) => {
        const events = history(script);
        const [left, right] = [upTo(events, x), upTo(events, y)];
        const want = union([...new Set([...left, ...right])]);
        const a = build(left, o);
        const b = build(right, p);
        merge(a, b);
        expect(spell(a)).toEqual(want);
        merge(a, build(right, o));
        expect(spell(a)).toEqual(want);
        merge(b, a);
        expect(spell(b)).toEqual(want);
      }),
      { seed: 2, numRuns: 400 },
    );
  }, 30_000);
  test('through a third copy that lags', () => {
    fc.assert(
      fc.property(choices, order, cut, cut, cut, (script, o, x, y, z) => {
        const events = history(script);
        const copies = [x, y, z].map((c) => build(upTo(events, c), o));
        const [a, b, c] = copies as [Copy, Copy, Copy];
        merge(b, a);
        merge(c, b);
        merge(a, c);
        const all = [x, y, z].flatMap((k) => upTo(events, k));
        expect(spell(a)).toEqual(union([...new Set(all)]));
        expect(spell(c)).toEqual(spell(a));
      }),
      { seed: 3, numRuns: 300 },
    );
  }, 30_000);
});

const at = (ms: number) => [ms, 0] as const;
const note = (fields: Rec['fields']): Rec => ({ kind: 'note', id: R(10), fields });
const entry = (replica: number, n: number, value: Json = 'x', ms = n) => ({
  dot: dotOf(R(replica), n),
  at: at(ms),
  by: '',
  value,
});
const plain: Context = { has: () => false, voidOf: () => undefined, purged: () => false };

describe('removal', () => {
  const body = { text: { live: [entry(1, 1), entry(2, 1)], dead: [] } };
  const removal = (seen: Json) => ({ live: [entry(1, 9, { seen })], dead: [] });
  test('hides while it has seen every live dot, of fields with two values too', () => {
    expect(hidden(note({ ...body, removed: removal(liveDots(note(body))) }))).toBe(true);
  });
  test('a dot that it has not seen brings the record back', () => {
    expect(hidden(note({ ...body, removed: removal([dotOf(R(1), 1)]) }))).toBe(false);
  });
  test('two removals count together', () => {
    const both = { live: [entry(1, 9, { seen: [dotOf(R(1), 1)] }), entry(2, 9, { seen: [dotOf(R(2), 1)] })], dead: [] };
    expect(hidden(note({ ...body, removed: both }))).toBe(true);
  });
  test.each<[string, Json]>([
    ['no list', 'all'],
    ['what is no dot', [dotOf(R(1), 1), dotOf(R(2), 1), 'x']],
  ])('one that can not be read, %s, hides nothing', (_, seen) => {
    expect(hidden(note({ ...body, removed: removal(seen) }))).toBe(false);
  });
  test('a record without one is not hidden', () => {
    expect(hidden(note(body))).toBe(false);
  });
});

test('a void that was held as real goes, and what it replaced comes back with a page', () => {
  const v: Void = {
    dot: dotOf(R(1), 2),
    digest: short,
    kind: 'note',
    id: R(10),
    over: { text: [dotOf(R(1), 1)] },
    reason: 'too-large',
  };
  const revived: Context = {
    has: () => true,
    voidOf: (d) => (d === v.dot ? v : undefined),
    purged: () => false,
    revived: (f, d) => f === 'text' && d === dotOf(R(1), 1),
  };
  const after = takeVoid(note({ text: { live: [entry(1, 2)], dead: [] } }), v, revived);
  expect(after.fields).toEqual({});
  const page = note({ text: { live: [entry(1, 1, 'old')], dead: [] } });
  expect(takeRecord(after, page, { [R(1)]: [2, short] }, revived).fields.text?.live).toEqual([entry(1, 1, 'old')]);
  const { revived: _, ...covered } = revived;
  expect(takeRecord(after, page, { [R(1)]: [2, short] }, covered).fields).toEqual({});
});

test('a value that turned out to be a void goes when its record is next touched', () => {
  const v: Void = { dot: dotOf(R(1), 2), digest: short, over: {}, reason: 'too-large' };
  const ctx: Context = { ...plain, voidOf: (d) => (d === v.dot ? v : undefined) };
  const mine = note({ text: { live: [entry(1, 2), entry(2, 1)], dead: [] } });
  expect(takeRecord(mine, note({}), {}, ctx).fields.text?.live).toEqual([entry(2, 1)]);
});

test('a purged value is never taken back, and its entry keeps its place', () => {
  const held = note({ text: { live: [{ dot: dotOf(R(1), 1), at: at(1), by: '' }], dead: [] } });
  const page = note({ text: { live: [entry(1, 1, 'secret')], dead: [] } });
  const purged: Context = { ...plain, purged: () => true };
  for (const mine of [undefined, held]) {
    expect(takeRecord(mine, page, { [R(1)]: [1, short] }, purged).fields.text?.live).toEqual(held.fields.text?.live);
  }
  expect(purgedBy('note', [dotOf(R(1), 1)])).toEqual([]);
  expect(purgedBy('purge', [dotOf(R(1), 1), 7])).toEqual([]);
});

test('a value that the other side holds without one goes here too', () => {
  const page = note({ text: { live: [{ dot: dotOf(R(1), 1), at: at(1), by: '' }], dead: [] } });
  const mine = note({ text: { live: [entry(1, 1, 'secret')], dead: [] } });
  expect(takeRecord(mine, page, { [R(1)]: [1, short] }, plain).fields.text?.live[0]).not.toHaveProperty('value');
});

test('a copy has something to tell where a record holds a dot beyond a vector, dead ones too', () => {
  const rec = note({ text: { live: [entry(1, 2)], dead: [dotOf(R(2), 3)] } });
  expect(beyond(rec, { [R(1)]: [2, short], [R(2)]: [3, short] })).toBe(false);
  expect(beyond(rec, { [R(1)]: [1, short], [R(2)]: [3, short] })).toBe(true);
  expect(beyond(rec, { [R(1)]: [2, short], [R(2)]: [2, short] })).toBe(true);
});

describe('a fork between servers', () => {
  const digests = ['1111111111111111', '2222222222222222'];
  const to = forkName(R(1), '1111111111111111');
  const fork: Fork = {
    replica: R(1),
    from: 5,
    to,
    before: short,
    digests,
    renamed: ['aaaaaaaaaaaaaaaa', 'bbbbbbbbbbbbbbbb'],
  };
  test('concerns who followed the branch, and no one else', () => {
    expect(forkConcerns(fork, { [R(1)]: [6, '2222222222222222'] })).toBe(true);
    expect(forkConcerns(fork, { [R(1)]: [6, '3333333333333333'] })).toBe(false);
    expect(forkConcerns(fork, { [R(1)]: [4, short] })).toBe(false);
    expect(forkConcerns(fork, {})).toBe(false);
  });
  test('names the branch anew from its first op on, everywhere a dot stands', () => {
    expect(renameDot(fork, dotOf(R(1), 4))).toBe(dotOf(R(1), 4));
    expect(renameDot(fork, dotOf(R(1), 5))).toBe(dotOf(to, 1));
    const rec = note({
      text: { live: [entry(1, 6)], dead: [dotOf(R(1), 5)] },
      removed: { live: [entry(2, 1, { seen: [dotOf(R(1), 6), dotOf(R(1), 4)] })], dead: [] },
    });
    expect(renameRecord(rec, fork).fields).toEqual({
      text: { live: [{ ...entry(1, 6), dot: dotOf(to, 2) }], dead: [dotOf(to, 1)] },
      removed: { live: [entry(2, 1, { seen: [dotOf(to, 2), dotOf(R(1), 4)] })], dead: [] },
    });
  });
  test('that does not work out its own name is not believed', () => {
    expect(forkHolds(fork)).toBe(true);
    expect(forkHolds({ ...fork, to: R(3) })).toBe(false);
    expect(forkHolds({ ...fork, renamed: [] })).toBe(false);
  });
});

test('a purge stays wherever it comes, also where a vector was raised over it', () => {
  const dot = `${R(1)}:1` as Dot;
  const live = [{ dot, at: [1, 0] as [number, number], by: '', value: [`${R(2)}:1`] }];
  const record: Rec = { kind: 'purge', id: R(5), fields: { dots: { live, dead: [] } } };
  const covered: Vector = { [R(1)]: [1, short] };
  const ctx = contextOf({ ...newCopy(), c: covered });
  expect(takeRecord(undefined, record, covered, ctx).fields.dots?.live).toEqual(live);
  expect(takeRecord(record, emptyRecord('purge', R(5)), covered, ctx).fields.dots?.live).toEqual(live);
});
