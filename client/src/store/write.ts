/** Turns what a person did into ops and records. Pure: the store loads before and writes after, in one transaction. */
import { next } from '../sync/clock';
import { applyOp, type Context, covers, dotOf, emptyRecord, type Field, fieldOf, type Rec } from '../sync/merge';
import { chainHex, type Dot, encodeOp, type Json, limits, noteFits, type Op, repair, shortOf } from '../sync/ops';
import { type Pending, type Phone, type Row, StoreError } from './db';
import { parentOf } from './parent';

/** Fields to set on a record. `over` tells which values to replace where that is not all that is shown. */
export type Draft = {
  readonly kind: string;
  readonly id: string;
  readonly set: { readonly [field: string]: Json };
  readonly over?: { readonly [field: string]: readonly Dot[] };
};

export type Written = { phone: Phone; rows: Row[]; pending: Pending[] };

/** What a phone knows, for merging a record. */
export function contextOf(phone: Phone): Context {
  const voids = new Map(phone.voids.map((v) => [v.dot, v]));
  const purged = new Set(phone.purged);
  return { has: (dot) => covers(phone.c, dot), voidOf: (dot) => voids.get(dot), purged: (dot) => purged.has(dot) };
}

/**
 * Writes drafts one after the other. `rowOf` gives the rows as stored. Throws StoreError 'refused' where a draft is
 * over a limit of the format; nothing is written then.
 */
export function write(
  phone: Phone,
  by: string,
  drafts: readonly Draft[],
  rowOf: (kind: string, id: string) => Row | undefined,
  nowMs: number,
): Written {
  const rows = new Map<string, Row>();
  const pending: Pending[] = [];
  let now = phone;
  for (const draft of drafts) {
    const key = `${draft.kind}/${draft.id}`;
    const row = rows.get(key) ?? rowOf(draft.kind, draft.id);
    const shown: Rec = row ? { kind: row.kind, id: row.id, fields: row.fields } : emptyRecord(draft.kind, draft.id);
    const set = repair({ ...draft.set } as { [field: string]: Json });
    const over: Record<string, Dot[]> = {};
    for (const field of Object.keys(set)) {
      const dots = draft.over?.[field] ?? fieldOf(shown, field).live.map((v) => v.dot);
      over[field] = dots.slice(0, limits.over);
    }
    const clock = next(now.clock, nowMs);
    const op: Op = { replica: now.replica, n: now.last + 1, at: clock, by, kind: draft.kind, id: draft.id, set, over };
    const text = encoded(op);
    const chain = chainHex(now.lastChain, text);
    now = { ...now, clock, last: op.n, lastChain: chain, copies: now.copies + 1 };
    pending.push({ studio: now.studio, replica: op.replica, n: op.n, text, chain, kind: op.kind, id: op.id });
    const fields = applyOp(shown, op, contextOf(now)).fields;
    rows.set(key, rowWith(now.studio, draft.kind, draft.id, fields, row, op, nowMs));
  }
  return { phone: now, rows: [...rows.values()], pending };
}

function encoded(op: Op): string {
  if (op.kind === 'note' && typeof op.set.text === 'string' && !noteFits(op.set.text)) throw new StoreError('refused');
  try {
    return encodeOp(op);
  } catch (e) {
    throw e instanceof RangeError ? new StoreError('refused', e) : e;
  }
}

function rowWith(
  studio: string,
  kind: string,
  id: string,
  fields: Record<string, Field>,
  row: Row | undefined,
  op: Op,
  nowMs: number,
): Row {
  const base = row ? (row.base ?? row.fields) : {};
  return { studio, kind, id, parent: row?.parent || parentOf(kind, op.set), t: row?.t ?? nowMs, fields, base };
}

/** The short digest and dot of a phone's last acknowledged op. */
export const ackedEntry = (phone: Phone): readonly [n: number, short: string] => [
  phone.acked,
  shortOf(phone.ackedChain),
];
export const ownDot = (phone: Phone, n: number): Dot => dotOf(phone.replica, n);
