/** Turns ops and other copies' records into state, the same whatever order they come in. One record at a time, all pure. */
import { compareStamps, type Stamp } from './clock';
import { type Dot, isDot, isObject, type Json, type Op } from './ops';

/** One live value of a field. No `value` key: a purge took it; it keeps its place, so what it replaced stays replaced. */
export type Entry = { dot: Dot; at: Stamp; by: string; value?: Json };
/** Live values newest first; `dead` are dots that some op named before they themselves arrived. */
export type Field = { live: Entry[]; dead: Dot[] };
/** Everything with one kind and id. */
export type Rec = { kind: string; id: string; fields: Record<string, Field> };
/** What is known of each replica: all its ops up to n, and the short digest there. */
export type Vector = Record<string, readonly [n: number, short: string]>;
/** Stands where an op was refused for good. It replaces nothing by itself; who names it replaces what its `over` lists. */
export type Void = {
  dot: Dot;
  digest: string;
  kind?: string;
  id?: string;
  over: Record<string, Dot[]>;
  reason: string;
};
/** What a copy knows beyond the record at hand. */
export type Context = {
  has(dot: Dot): boolean; // covered by its vector
  voidOf(dot: Dot): Void | undefined;
  purged(dot: Dot): boolean;
  revived?(field: string, dot: Dot): boolean; // was replaced here, in that field, by what turned out to be a void
};

export const dotOf = (replica: string, n: number): Dot => `${replica}:${n}`;
export const replicaOf = (dot: Dot): string => dot.slice(0, 32);
export const numberOf = (dot: Dot): number => Number(dot.slice(33));

/** Whether a vector covers a dot. */
export function covers(c: Vector, dot: Dot): boolean {
  return numberOf(dot) <= knownOf(c, replicaOf(dot));
}

/** The last number that a vector has of a replica, 0 when none. */
export const knownOf = (c: Vector, replica: string): number => c[replica]?.[0] ?? 0;

/** The larger entry of each replica. */
export function raise(a: Vector, b: Vector): Vector {
  const c = { ...a };
  for (const [replica, entry] of Object.entries(b)) if (entry[0] > knownOf(c, replica)) c[replica] = entry;
  return c;
}

export const emptyRecord = (kind: string, id: string): Rec => ({ kind, id, fields: {} });

/** A field by name, or an empty one. Names such as `constructor` are fields like any other. */
export function fieldOf(rec: Rec, name: string): Field {
  return (Object.hasOwn(rec.fields, name) ? rec.fields[name] : undefined) ?? nothing;
}

const nothing: Field = { live: [], dead: [] };

/**
 * The record with an op added: the op's dot, unless some op replaced it before it came, less what it names. The caller
 * raises the vector afterwards and passes over ops that the vector covers.
 */
export function applyOp(rec: Rec, op: Op, ctx: Context): Rec {
  const dot = dotOf(op.replica, op.n);
  const fields = { ...rec.fields };
  for (const [name, value] of Object.entries(op.set)) {
    const over = Object.hasOwn(op.over, name) ? (op.over[name] ?? []) : [];
    const field = kill(fieldOf(rec, name), withVoids(name, over, ctx), ctx);
    if (field.dead.includes(dot)) {
      field.dead = field.dead.filter((d) => d !== dot);
    } else if (!field.live.some((e) => e.dot === dot)) {
      const entry: Entry = { dot, at: op.at, by: op.by };
      if (!ctx.purged(dot)) entry.value = value;
      field.live.push(entry);
      field.live.sort(newestFirst);
    }
    fields[name] = field;
  }
  return { ...rec, fields };
}

/**
 * The record with another copy's merged in, read under that copy's vector. A dot stays if both hold it, or if one
 * holds it and the other neither covers it nor holds it dead. A purge stays wherever it comes: nothing replaces it, and a
 * copy of somebody who may not bring it can have raised a vector over it. Does not raise the vector: that comes with the
 * last page.
 */
export function takeRecord(mine: Rec | undefined, theirs: Rec, theirC: Vector, ctx: Context): Rec {
  if (!mine && allNew(theirs, ctx)) return theirs;
  const own = mine ?? emptyRecord(theirs.kind, theirs.id);
  const fields: Record<string, Field> = {};
  for (const name of new Set([...Object.keys(own.fields), ...Object.keys(theirs.fields)])) {
    const field = takeField(own.kind, name, fieldOf(own, name), fieldOf(theirs, name), theirC, ctx);
    if (field.live.length + field.dead.length > 0) fields[name] = field;
  }
  return { ...own, fields };
}

/** Whether all of a record is news and in its order, so that it can be taken as it is: what a first reading brings. */
function allNew({ fields }: Rec, ctx: Context): boolean {
  for (const { live, dead } of Object.values(fields)) {
    const first = live[0];
    if (live.length !== 1 || dead.length > 0 || !first) return false;
    if (ctx.has(first.dot) || ctx.voidOf(first.dot) || ctx.purged(first.dot)) return false;
  }
  return true;
}

function takeField(kind: string, name: string, mine: Field, theirs: Field, theirC: Vector, ctx: Context): Field {
  const dead = withVoids(name, theirs.dead, ctx);
  const held = new Set(mine.live.map((e) => e.dot));
  const sent = new Map(theirs.live.map((e) => [e.dot, e]));
  const stays = kind === 'purge';
  const live = mine.live
    .filter((e) => !ctx.voidOf(e.dot) && (stays || sent.has(e.dot) || !covers(theirC, e.dot)))
    .map((e) => common(kind, name, e, sent.get(e.dot)));
  for (const entry of theirs.live) {
    const known = !stays && ctx.has(entry.dot) && !ctx.revived?.(name, entry.dot);
    if (held.has(entry.dot) || known || ctx.voidOf(entry.dot) || mine.dead.includes(entry.dot)) continue;
    live.push(ctx.purged(entry.dot) ? withoutValue(entry) : entry);
  }
  return kill({ live: live.sort(newestFirst), dead: mine.dead }, dead, ctx);
}

/**
 * What two copies of one value agree on: nothing where one was purged. Copies differ otherwise only where a fork renamed
 * dots that a removal or a purge names in one of them; they then keep the dots that both name.
 */
export function common(kind: string, name: string, mine: Entry, theirs: Entry | undefined): Entry {
  if (!theirs || mine.value === undefined) return mine;
  if (theirs.value === undefined) return withoutValue(mine);
  const sent = new Set(namedDots(kind, name, theirs.value));
  const named = namedDots(kind, name, mine.value);
  const both = named.filter((dot) => sent.has(dot));
  if (both.length === named.length) return mine;
  return { ...mine, value: name === 'removed' ? { seen: both } : both };
}

/** The dots that a removal or a purge names; none where it can't be read, and of other values. */
function namedDots(kind: string, name: string, value: Json): readonly Dot[] {
  if (name === 'dots') return purgedBy(kind, value);
  const seen = name === 'removed' && isObject(value) && Object.hasOwn(value, 'seen') ? value.seen : undefined;
  return Array.isArray(seen) && seen.every(isDot) ? seen : [];
}

/** A new field without the named dots; those not yet seen become dead. */
function kill(field: Field, dots: readonly Dot[], ctx: Context): Field {
  const unseen = dots.filter((dot) => !ctx.has(dot) && !field.dead.includes(dot));
  return {
    live: field.live.filter((e) => !dots.includes(e.dot)),
    dead: unseen.length === 0 ? [...field.dead] : [...field.dead, ...new Set(unseen)].sort(compareDots),
  };
}

/** The dots and, for each that is a void, what the void would have replaced, and so on. */
function withVoids(field: string, dots: readonly Dot[], ctx: Context): Dot[] {
  const all = new Set(dots);
  for (const dot of all) {
    const over = ctx.voidOf(dot)?.over;
    for (const d of (over && Object.hasOwn(over, field) && over[field]) || []) all.add(d); // a set hands out what is added meanwhile
  }
  return [...all];
}

/**
 * What a void replaced, with the field, while this copy held its op as real: copies that know better may bring it back.
 * Where another op replaced the void's, that one stands for all that the void replaced.
 */
export function undone(rec: Rec, v: Void, ctx: Context): [field: string, dot: Dot][] {
  const held = (name: string) => fieldOf(rec, name).live.some((e) => e.dot === v.dot) || ctx.revived?.(name, v.dot);
  return Object.entries(v.over).flatMap(([name, dots]) =>
    held(name) ? withVoids(name, dots, ctx).map((dot): [string, Dot] => [name, dot]) : [],
  );
}

/**
 * The record after its void became known: without the value that this copy held as real, and without what the void
 * would have replaced where an op already named it.
 */
export function takeVoid(rec: Rec, v: Void, ctx: Context): Rec {
  const fields: Record<string, Field> = {};
  for (const [name, field] of Object.entries(rec.fields)) {
    const named = field.dead.includes(v.dot) ? withVoids(name, [v.dot], ctx) : [];
    const left = kill({ ...field, live: field.live.filter((e) => e.dot !== v.dot) }, named, ctx);
    if (left.live.length + left.dead.length > 0) fields[name] = left;
  }
  return { ...rec, fields };
}

/** The record without the values of purged dots. */
export function purge(rec: Rec, purged: (dot: Dot) => boolean): Rec {
  const fields: Record<string, Field> = {};
  for (const [name, field] of Object.entries(rec.fields)) {
    fields[name] = { ...field, live: field.live.map((e) => (purged(e.dot) ? withoutValue(e) : e)) };
  }
  return { ...rec, fields };
}

const withoutValue = ({ dot, at, by }: Entry): Entry => ({ dot, at, by });

/** The dots that a purge names. A list that can't be read names none. */
export function purgedBy(kind: string, dots: Json | undefined): Dot[] {
  return kind === 'purge' && Array.isArray(dots) && dots.every(isDot) ? dots : [];
}

/** The record without dead dots that the vector covers by now, and without fields that hold nothing. */
export function trim(rec: Rec, ctx: Pick<Context, 'has'>): Rec {
  if (Object.values(rec.fields).every(({ live, dead }) => live.length > 0 && dead.length === 0)) return rec;
  const fields: Record<string, Field> = {};
  for (const [name, field] of Object.entries(rec.fields)) {
    const dead = field.dead.filter((dot) => !ctx.has(dot));
    if (field.live.length + dead.length > 0) fields[name] = { live: field.live, dead };
  }
  return { ...rec, fields };
}

/** Whether the record holds a dot that the vector does not cover: only then can a copy with that vector learn from it. */
export function beyond(rec: Rec, c: Vector): boolean {
  return Object.values(rec.fields).some(
    ({ live, dead }) => live.some((e) => !covers(c, e.dot)) || dead.some((dot) => !covers(c, dot)),
  );
}

/** Whether the record is removed: each live dot of its other fields is in some live removal's `seen`. */
export function hidden(rec: Rec): boolean {
  const removals = fieldOf(rec, 'removed').live;
  if (removals.length === 0) return false;
  const seen = new Set<Dot>();
  for (const { value } of removals) {
    const dots = isObject(value) && Object.hasOwn(value, 'seen') ? value.seen : undefined;
    if (Array.isArray(dots) && dots.every(isDot)) for (const dot of dots) seen.add(dot);
  }
  return Object.entries(rec.fields).every(
    ([name, field]) => name === 'removed' || field.live.every((e) => seen.has(e.dot)),
  );
}

/** The dots of a record that a removal must name: all live ones of its other fields. */
export function liveDots(rec: Rec): Dot[] {
  return Object.entries(rec.fields).flatMap(([name, field]) =>
    name === 'removed' ? [] : field.live.map((e) => e.dot),
  );
}

/** Orders values by (at, replica, n), the newest first. */
export function newestFirst(a: Entry, b: Entry): number {
  return compareStamps(b.at, a.at) || compareDots(b.dot, a.dot);
}

/** Orders dots by replica, then by number. */
export function compareDots(a: Dot, b: Dot): number {
  const r = replicaOf(a);
  const s = replicaOf(b);
  return r < s ? -1 : r > s ? 1 : numberOf(a) - numberOf(b);
}
