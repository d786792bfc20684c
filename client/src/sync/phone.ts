/**
 * A phone's copy of a studio as plain data, and writing in it. The base is what servers acknowledged or sent, with its
 * vector; the outbox holds own ops that none acknowledged yet; what is shown is the base with the outbox on top, so a
 * refusal or a fork undoes nothing: it drops or renames in the outbox.
 */
import { next, type Stamp } from './clock';
import { renameInOp } from './fork';
import {
  applyOp,
  type Context,
  covers,
  emptyRecord,
  fieldOf,
  knownOf,
  type Rec,
  type Vector,
  type Void,
} from './merge';
import { chainHex, chainStart, type Dot, encodeOp, type Json, limits, type Op, repair } from './ops';

/** How far one server was read, and what it is owed. */
export type Cursor = {
  epoch: string;
  after: number;
  digest: string; // of the server's chain at after
  reading: number; // the server's seq when a reading of several pages began, 0 when none goes on
  start: number; // our after when it began, and the digest there
  startDigest: string;
  ask: boolean; // send the vector with the next request, and hand back what the server lacks
  doubt: Record<string, true>; // keys of records that the server holds with a value we know to be replaced
  ahead?: true; // it gave records that say more than its vector: somebody's hand-back to it is not finished
  back?: HandBack; // a hand-back that is not finished
  left?: Writer; // under which we wrote to it before we turned to another; good while n is still the last of it
};

/** A name to write under, with the last number acknowledged and the whole chain digest there. */
export type Writer = { replica: string; n: number; chain: string };

/** Hand-back goes by record key, one part a request, under the vectors of its beginning. */
export type HandBack = { have: Vector; theirs: Vector; doubt: Record<string, true>; from: string };

/** Everything a phone keeps of a studio beside records and outbox. Plain data: it can be stored as it is. */
export type PhoneMeta = {
  studio: string;
  replica: string;
  home: string; // the server, by id, that the replica writes to: one replica, one server, one epoch; '' before the first
  c: Vector; // of the base: what is acknowledged or came in whole readings
  ackedChain: string; // whole chain digest at c[replica]
  last: number; // own ops written, those of the outbox too
  lastChain: string; // whole chain digest there
  clock: Stamp;
  cursors: Record<string, Cursor>; // by server id
  voids: Record<Dot, Void>;
  revived: Record<string, true>; // `${field}/${dot}`: was replaced here by what turned out to be a void
  purged: Record<Dot, true>; // only grows
};

/** An own op that no server acknowledged yet. `chain` is the whole digest after it. */
export type OutboxOp = { n: number; kind: string; id: string; text: string; chain: string };

/** A stored record: `fields` are shown; `base` stands beside them only while own ops on that record wait. */
export type Row = Rec & { base?: Rec['fields'] };

export const keyOf = (kind: string, id: string): string => `${kind}/${id}`;

export const baseOf = ({ kind, id, fields, base }: Row): Rec => ({ kind, id, fields: base ?? fields });

/** An empty copy under a fresh replica. */
export function newPhone(studio: string, replica: string): PhoneMeta {
  const none = { c: {}, cursors: {}, voids: {}, revived: {}, purged: {} };
  return { studio, replica, home: '', ackedChain: chainStart, last: 0, lastChain: chainStart, clock: [0, 0], ...none };
}

/** What the copy knows beyond a record. It reads meta as it then is. */
export function contextOf(meta: PhoneMeta): Context {
  return {
    has: (dot) => covers(meta.c, dot),
    voidOf: (dot) => meta.voids[dot],
    purged: (dot) => meta.purged[dot] === true,
    revived: (field, dot) => meta.revived[`${field}/${dot}`] === true,
  };
}

/**
 * What to write. `over` says what is replaced, field by field; where it is silent, all that is shown of the field. `at`
 * is given only for copies of what was written earlier.
 */
export type Draft = {
  readonly kind: string;
  readonly id: string;
  readonly set: { readonly [field: string]: Json };
  readonly over?: { readonly [field: string]: readonly Dot[] };
  readonly at?: Stamp;
};

export type Written = { meta: PhoneMeta; op: Op; pending: OutboxOp; row: Row };

/**
 * Makes the next op, by a person or ''. `row` is the stored record, if there is one. Throws RangeError on what the format
 * refuses.
 */
export function writeOp(meta: PhoneMeta, by: string, draft: Draft, row: Row | undefined, nowMs: number): Written {
  const { kind, id } = draft;
  const shown: Row = row ?? { ...emptyRecord(kind, id), base: {} };
  const set = repair({ ...draft.set } as Record<string, Json>);
  const over: Record<string, Dot[]> = {};
  for (const name of Object.keys(set)) {
    const given = draft.over && Object.hasOwn(draft.over, name) ? draft.over[name] : undefined;
    over[name] = (given ?? fieldOf(shown, name).live.map((e) => e.dot)).slice(0, limits.over);
  }
  const clock = draft.at ? meta.clock : next(meta.clock, nowMs);
  const op: Op = { replica: meta.replica, n: meta.last + 1, at: draft.at ?? clock, by, kind, id, set, over };
  const pending = pendingOp(op, meta.lastChain);
  const { fields } = applyOp(shown, op, contextOf(meta));
  return {
    meta: { ...meta, clock, last: op.n, lastChain: pending.chain },
    op,
    pending,
    row: { kind, id, fields, base: shown.base ?? shown.fields },
  };
}

function pendingOp(op: Op, prev: string): OutboxOp {
  const text = encodeOp(op);
  return { n: op.n, kind: op.kind, id: op.id, text, chain: chainHex(prev, text) };
}

/** An own op out of its text. It was checked when it was written. */
export const readPending = (pending: OutboxOp): Op => JSON.parse(pending.text) as Op;

/** The row of a record with this base and these ops waiting, or undefined where nothing is left. */
export function rowOf(base: Rec, waiting: readonly OutboxOp[], ctx: Context): Row | undefined {
  if (waiting.length === 0) return Object.keys(base.fields).length > 0 ? base : undefined;
  const shown = waiting.map(readPending).reduce((rec, op) => applyOp(rec, op, ctx), base);
  return { ...shown, base: base.fields };
}

/** The outbox written anew behind what is acknowledged, under the meta's replica, with the dots it names renamed. */
export function rewriteOutbox(meta: PhoneMeta, outbox: readonly OutboxOp[], to: (dot: Dot) => Dot): OutboxOp[] {
  const rewritten: OutboxOp[] = [];
  let n = knownOf(meta.c, meta.replica);
  let chain = meta.ackedChain;
  for (const waiting of outbox) {
    const op = renameInOp(readPending(waiting), to);
    const pending = pendingOp({ ...op, replica: meta.replica, n: ++n }, chain);
    rewritten.push(pending);
    chain = pending.chain;
  }
  return rewritten;
}
