/** Giving the dots of one branch of a forked replica another name. */
import {
  common,
  compareDots,
  dotOf,
  type Entry,
  type Field,
  newestFirst,
  numberOf,
  purgedBy,
  type Rec,
  replicaOf,
  type Vector,
} from './merge';
import { type Dot, forkName, isDot, isObject, type Json, type Op } from './ops';

/** From this op on, the replica's dots mean another name's, counted from 1. */
export type Rename = { replica: string; from: number; to: string };

/** A replica wrote two histories, and the one with these digests goes on under another name. */
export type Fork = Rename & {
  before: string; // short digest at from − 1, shared by both
  digests: string[]; // of the renamed branch at from, from + 1 …
  renamed: string[]; // the same ops' digests under the new name at 1, 2 …
};

/** Whether a fork's own parts agree: its new name is worked out alike by everyone. */
export function forkHolds({ replica, to, digests, renamed }: Fork): boolean {
  const first = digests[0];
  return first !== undefined && to === forkName(replica, first) && renamed.length === digests.length;
}

/** Whether a copy with this vector followed the branch that is renamed, and so must rename. */
export function forkConcerns(fork: Fork, c: Vector): boolean {
  const entry = c[fork.replica];
  return entry !== undefined && fork.digests[entry[0] - fork.from] === entry[1];
}

/** A dot of the branch under its new name, others as they are: what lies behind a branch's end is the other branch's. */
export function renameDot({ replica, from, to, renamed }: Rename & Partial<Fork>, dot: Dot): Dot {
  const n = numberOf(dot);
  return replicaOf(dot) === replica && n >= from && n - from < (renamed?.length ?? Number.POSITIVE_INFINITY)
    ? dotOf(to, n - from + 1)
    : dot;
}

/** The record with the branch's dots under their new name, those that a removal or a purge names too. */
export function renameRecord(rec: Rec, rename: Rename): Rec {
  const to = (dot: Dot) => renameDot(rename, dot);
  const fields: Record<string, Field> = {};
  for (const [name, { live, dead }] of Object.entries(rec.fields)) {
    const renamed = live.map((entry) => {
      const own = { ...entry, dot: to(entry.dot) };
      if (entry.value !== undefined) own.value = renameReferences(rec.kind, name, entry.value, to);
      return own;
    });
    fields[name] = once(rec.kind, name, renamed.sort(newestFirst), [...new Set(dead.map(to))].sort(compareDots));
  }
  return { ...rec, fields };
}

/**
 * One of what a record held under both names, as it may when the new one came with another copy: what is dead under one of
 * them is dead.
 */
function once(kind: string, name: string, live: readonly Entry[], dead: Dot[]): Field {
  const byDot = new Map<Dot, Entry>();
  for (const entry of live) {
    const twin = byDot.get(entry.dot);
    if (!dead.includes(entry.dot)) byDot.set(entry.dot, twin ? common(kind, name, twin, entry) : entry);
  }
  return { live: [...byDot.values()], dead };
}

/** The op with the dots that it names under the names that `to` gives them; its own dot stays as it is. */
export function renameInOp(op: Op, to: (dot: Dot) => Dot): Op {
  const over = Object.entries(op.over).map(([name, dots]) => [name, dots.map(to)]);
  const set = Object.entries(op.set).map(([name, value]) => [name, renameReferences(op.kind, name, value, to)]);
  return { ...op, over: Object.fromEntries(over), set: Object.fromEntries(set) };
}

function renameReferences(kind: string, field: string, value: Json, to: (dot: Dot) => Dot): Json {
  if (field === 'dots') {
    const dots = purgedBy(kind, value);
    return dots.some((dot) => to(dot) !== dot) ? dots.map(to) : value;
  }
  if (field === 'removed' && isObject(value) && Array.isArray(value.seen) && value.seen.every(isDot)) {
    return value.seen.some((dot) => to(dot) !== dot) ? { seen: value.seen.map(to) } : value;
  }
  return value;
}
