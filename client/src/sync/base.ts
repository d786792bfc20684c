/** A piece of work on a phone's base and outbox: what comes in is taken here, and comes out as rows to write. */
import { compareStamps, type Stamp, seen } from './clock';
import { type Fork, type Rename, renameDot, renameRecord } from './fork';
import {
  applyOp,
  type Context,
  dotOf,
  type Entry,
  emptyRecord,
  fieldOf,
  knownOf,
  numberOf,
  purge,
  purgedBy,
  type Rec,
  raise,
  replicaOf,
  takeRecord,
  takeVoid,
  trim,
  undone,
  type Vector,
  type Void,
} from './merge';
import { chainStart, type Dot, encodeValue, type Json, shortOf } from './ops';
import {
  baseOf,
  contextOf,
  keyOf,
  type OutboxOp,
  type PhoneMeta,
  type Row,
  readPending,
  rewriteOutbox,
  rowOf,
} from './phone';

/** Rows by key, as loaded. A key with undefined was looked for and is not there. */
export type Rows = ReadonlyMap<string, Row | undefined>;

/** What is under way. It changes only itself: the meta, outbox and rows it was opened with stay as they are. */
export type Work = {
  readonly meta: PhoneMeta;
  outbox: OutboxOp[];
  renamed: boolean; // the outbox was written anew
  readonly rows: Rows;
  readonly touched: Map<string, Rec>; // bases by key
  readonly ctx: Context;
  readonly photosGone: string[]; // sha256 of photos that a purge took
  readonly skewed: Dot[]; // whose stamps are far ahead of this phone's clock
};

export function openWork(from: PhoneMeta, outbox: readonly OutboxOp[], rows: Rows): Work {
  const { c, cursors, voids, revived, purged } = from;
  const meta = { ...from, c: { ...c }, cursors: { ...cursors } };
  Object.assign(meta, { voids: { ...voids }, revived: { ...revived }, purged: { ...purged } });
  const fresh = { touched: new Map<string, Rec>(), photosGone: [], skewed: [] };
  return { meta, outbox: [...outbox], renamed: false, rows, ctx: contextOf(meta), ...fresh };
}

/** The rows to write and the keys of those that hold nothing any more. */
export function closeWork(work: Work): { rows: Row[]; gone: string[] } {
  const waiting = new Map<string, OutboxOp[]>();
  for (const op of work.outbox) {
    const key = keyOf(op.kind, op.id);
    if (work.touched.has(key)) waiting.set(key, [...(waiting.get(key) ?? []), op]);
  }
  const rows: Row[] = [];
  const gone: string[] = [];
  for (const [key, base] of work.touched) {
    const row = rowOf(trim(base, work.ctx), waiting.get(key) ?? [], work.ctx);
    if (row) rows.push(row);
    else gone.push(key);
  }
  return { rows, gone };
}

/** The base of a record as it is by now, undefined where there is none. */
export function peek(work: Work, key: string): Rec | undefined {
  const touched = work.touched.get(key);
  if (touched) return touched;
  if (!work.rows.has(key)) throw new Error(`the row ${key} was not loaded`);
  const row = work.rows.get(key);
  return row && baseOf(row);
}

const put = (work: Work, rec: Rec) => work.touched.set(keyOf(rec.kind, rec.id), rec);

function everyBase(work: Work): Rec[] {
  const keys = new Set([...work.rows.keys(), ...work.touched.keys()]);
  return [...keys].map((key) => peek(work, key)).filter((rec) => rec !== undefined);
}

/** Moves an own op from the outbox into the base. */
export function applyOwn(work: Work, pending: OutboxOp): void {
  const op = readPending(pending);
  notePurged(work, purgedBy(op.kind, op.set.dots));
  const key = keyOf(op.kind, op.id);
  put(work, applyOp(peek(work, key) ?? emptyRecord(op.kind, op.id), op, work.ctx));
  work.meta.c[op.replica] = [op.n, shortOf(pending.chain)];
}

/** Leaves a void where an own op was refused for good. */
export function refuseOwn(work: Work, pending: OutboxOp, reason: string): void {
  const { replica, n, kind, id, over } = readPending(pending);
  const digest = shortOf(pending.chain);
  const key = keyOf(kind, id);
  put(work, peek(work, key) ?? emptyRecord(kind, id)); // what is shown is another thing now
  addVoid(work, { dot: dotOf(replica, n), digest, kind, id, over, reason });
  work.meta.c[replica] = [n, digest];
}

/** Takes in a void. What it replaced while its op was held as real may come back with a page. */
export function addVoid(work: Work, v: Void): void {
  const { voids, revived } = work.meta;
  if (voids[v.dot]) return;
  const rec = v.kind === undefined || v.id === undefined ? undefined : peek(work, keyOf(v.kind, v.id));
  if (rec) for (const [field, dot] of undone(rec, v, work.ctx)) revived[`${field}/${dot}`] = true;
  voids[v.dot] = v;
  if (rec) put(work, takeVoid(rec, v, work.ctx));
}

/** Takes the values of the named dots out of the copy, now and whenever they come. */
export function notePurged(work: Work, dots: readonly Dot[]): void {
  const fresh = new Set(dots.filter((dot) => !work.meta.purged[dot]));
  if (fresh.size === 0) return;
  for (const dot of fresh) work.meta.purged[dot] = true;
  for (const rec of everyBase(work)) {
    const taken = Object.values(rec.fields).flatMap((f) => f.live.filter((e) => fresh.has(e.dot)));
    if (taken.length === 0) continue;
    if (rec.kind === 'photo') {
      const sums = fieldOf(rec, 'sha256').live.filter((e) => fresh.has(e.dot) && typeof e.value === 'string');
      work.photosGone.push(...sums.map((e) => e.value as string));
    }
    put(
      work,
      purge(rec, (dot) => fresh.has(dot)),
    );
  }
}

/** The dots that records of kind purge name. */
export const purgedIn = (records: readonly Rec[]): Dot[] =>
  records.flatMap((rec) => fieldOf(rec, 'dots').live.flatMap((e) => purgedBy(rec.kind, e.value)));

/** Takes in records read under another copy's vector. Does not raise the vector. */
export function takeRecords(work: Work, records: readonly Rec[], theirC: Vector, nowMs: number): void {
  notePurged(work, purgedIn(records));
  for (const theirs of records) {
    for (const { live } of Object.values(theirs.fields)) for (const { dot, at } of live) see(work, dot, at, nowMs);
    const mine = peek(work, keyOf(theirs.kind, theirs.id));
    put(work, takeRecord(mine, theirs, theirC, work.ctx));
  }
}

function see(work: Work, dot: Dot, at: Stamp, nowMs: number): void {
  if (at[0] <= nowMs && compareStamps(at, work.meta.clock) <= 0) return; // nothing to learn, and no object made
  const { last, skewed } = seen(work.meta.clock, at, nowMs);
  work.meta.clock = last;
  if (skewed) work.skewed.push(dot);
}

/** Takes in the vector of a whole reading. */
export function raiseTo(work: Work, theirC: Vector): void {
  Object.assign(work.meta.c, raise(work.meta.c, theirC));
}

/** Goes on under another name, whose chain stands at `chain`, with what was not acknowledged. */
export function rename(work: Work, to: string, chain = chainStart): void {
  writeOutboxAnew(work, { replica: to, chain }, (dot) => dot);
}

/** Follows a server that gave the branch of a replica, which this copy took in, another name. */
export function takeFork(work: Work, fork: Fork, newId: () => string): void {
  const { meta } = work;
  for (const rec of everyBase(work)) if (names(rec, fork)) put(work, renameRecord(rec, fork));
  for (const v of Object.values(meta.voids)) {
    const dot = renameDot(fork, v.dot);
    if (dot === v.dot) continue;
    delete meta.voids[v.dot];
    meta.voids[dot] = { ...v, dot, digest: fork.renamed[numberOf(dot) - 1] ?? v.digest };
  }
  for (const dot of Object.keys(meta.purged)) {
    const renamed = renameDot(fork, dot);
    if (renamed === dot) continue;
    delete meta.purged[dot];
    meta.purged[renamed] = true;
  }
  const last = knownOf(meta.c, fork.replica) - fork.from;
  if (fork.from === 1) delete meta.c[fork.replica];
  else meta.c[fork.replica] = [fork.from - 1, fork.before];
  raiseTo(work, { [fork.to]: [last + 1, fork.renamed[last] ?? ''] });
  const mine = fork.replica === meta.replica; // who writes under that name next is not us
  const name = mine ? { replica: newId(), chain: chainStart } : undefined;
  writeOutboxAnew(work, name, (dot) => renameDot(fork, dot));
}

const names = (rec: Rec, { replica }: Rename): boolean => JSON.stringify(rec.fields).includes(replica);

/** Writes the outbox anew, under a new name if one is given: its own dots follow; others become what `others` says. */
function writeOutboxAnew(
  work: Work,
  name: { replica: string; chain: string } | undefined,
  others: (dot: Dot) => Dot,
): void {
  const { meta, outbox } = work;
  const old = meta.replica;
  const first = name && outbox[0] ? outbox[0].n : Number.POSITIVE_INFINITY;
  if (name) Object.assign(meta, { replica: name.replica, ackedChain: name.chain });
  const known = knownOf(meta.c, meta.replica);
  const to = (dot: Dot) =>
    replicaOf(dot) === old && numberOf(dot) >= first
      ? dotOf(meta.replica, known + numberOf(dot) - first + 1)
      : others(dot);
  for (const { kind, id } of outbox) {
    const key = keyOf(kind, id);
    put(work, peek(work, key) ?? emptyRecord(kind, id));
  }
  work.outbox = rewriteOutbox(meta, outbox, to);
  meta.last = known + outbox.length;
  meta.lastChain = work.outbox.at(-1)?.chain ?? meta.ackedChain;
  work.renamed = true;
}

/** Whether foreign state holds ops of a replica beyond n. Where it is a name of ours they are ours, whose answer was lost, or a clone's. */
export function bears(replica: string, n: number, theirC: Vector, records: readonly Rec[]): boolean {
  if (knownOf(theirC, replica) > n) return true;
  const beyond = (dot: Dot) => dot.startsWith(replica) && numberOf(dot) > n;
  return records.some((rec) =>
    Object.values(rec.fields).some(({ live, dead }) => dead.some(beyond) || live.some((e) => beyond(e.dot))),
  );
}

/**
 * Whether all that foreign records hold under our name, beyond what was acknowledged, waits in our outbox: it went up
 * once and came back by another copy, to a server that lost what came before it and so can't judge it.
 */
export function wrote({ meta, outbox }: Work, records: readonly Rec[]): boolean {
  const known = knownOf(meta.c, meta.replica);
  const waits = ({ kind, id }: Rec, field: string, dot: Dot, entry?: Entry): boolean => {
    if (replicaOf(dot) !== meta.replica || numberOf(dot) <= known) return true;
    const pending = outbox.find((op) => op.n === numberOf(dot) && op.kind === kind && op.id === id);
    const op = pending && readPending(pending);
    if (!op || !Object.hasOwn(op.set, field)) return false;
    if (!entry) return true;
    const { at, value } = entry;
    const same = value === undefined || encodeValue(value) === encodeValue(op.set[field] as Json);
    return compareStamps(at, op.at) === 0 && same;
  };
  return records.every((rec) =>
    Object.entries(rec.fields).every(
      ([field, { live, dead }]) =>
        dead.every((dot) => waits(rec, field, dot)) && live.every((entry) => waits(rec, field, entry.dot, entry)),
    ),
  );
}
