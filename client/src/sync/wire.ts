/** The messages of one exchange, and the checks that make foreign ones safe to take in. */
import type { Fork } from './fork';
import { forkHolds } from './fork';
import type { Entry, Field, Rec, Vector, Void } from './merge';
import {
  encodeValue,
  isCount,
  isDot,
  isField,
  isId,
  isKind,
  isObject,
  isShort,
  isStamp,
  type Json,
  limits,
} from './ops';

/** What a phone sends. `ops` are the texts of its ops; they go into the body as they are. */
export type Request = {
  format: number;
  server: string; // '' on first contact
  epoch: string;
  after: number;
  afterDigest: string; // short digest of the server's chain at after, '' at 0
  reading: number; // 0 when none goes on
  replica: string;
  from: number;
  prevDigest: string; // whole chain digest at from − 1
  ops: string[];
  have?: Vector;
  back?: BackPart;
};

/** One part of a hand-back: what a server lacks, read under `have`. It raises its vector with the last part. */
export type BackPart = {
  have: Vector;
  records: Rec[];
  voids: Void[];
  last: boolean;
  /** Keys between which this part was read: after `from`, up to and with `upTo`. They stay on the phone. */
  from: string;
  upTo: string;
};

export type Refusal = { replica: string; n: number; reason: string; forGood: boolean };

/** What a server answers. */
export type Answer = {
  format: number;
  server: string;
  epoch: string;
  upTo: number;
  upToDigest: string;
  reading: number;
  acked: Vector;
  records: Rec[];
  more: boolean;
  have?: Vector;
  voids: Void[];
  forks: Fork[];
  refused: Refusal[];
  photosWanted: string[];
  wrong?: 'epoch' | 'digest' | 'server';
};

/** An answer, a record or a file that no version of the program would write. Nothing of it was taken. */
export class BadMessage extends Error {}

/** The body of a request. An op's text is never encoded again: its digest is over these very bytes. */
export function requestBody(request: Request): string {
  const { ops, back, reading, have, ...rest } = request;
  const parts = Object.entries({
    ...rest,
    ...(reading > 0 && { reading }),
    ...(have && Object.keys(have).length > 0 && { have }),
  }).map(([key, value]) => `"${key}":${JSON.stringify(value)}`);
  parts.push(`"ops":[${ops.join(',')}]`);
  if (back) {
    const records = back.records.map(recordText).join(',');
    const { have, voids, last } = back;
    parts.push(
      `"back":{"have":${JSON.stringify(have)},"records":[${records}],"voids":${JSON.stringify(voids)},"last":${last}}`,
    );
  }
  return `{${parts.join(',')}}`;
}

/** A record as it travels: values in the format's one spelling, `dead` left out where there is none. */
export function recordText({ kind, id, fields }: Rec): string {
  const field = ([name, { live, dead }]: [string, Field]) => {
    const tail = dead.length > 0 ? `,"dead":${JSON.stringify(dead)}` : '';
    return `"${name}":{"live":[${live.map(entryText).join(',')}]${tail}}`;
  };
  const sorted = Object.entries(fields).sort(([a], [b]) => (a < b ? -1 : 1)); // names are ASCII
  return `{"kind":"${kind}","id":"${id}","fields":{${sorted.map(field).join(',')}}}`;
}

const entryText = ({ dot, at, by, value }: Entry) =>
  `{"dot":"${dot}","at":[${at}],"by":"${by}"${value === undefined ? '' : `,"value":${encodeValue(value)}`}}`;

/** Reads an answer. Throws BadMessage. Keys that this version does not know are passed over. */
export function readAnswer(tree: unknown): Answer {
  const a = object(tree, 'answer');
  const answer: Answer = {
    format: count(a.format, 'format'),
    server: word(a.server, 'server'),
    epoch: word(a.epoch, 'epoch'),
    upTo: count(a.upTo, 'upTo'),
    upToDigest: a.upToDigest === '' ? '' : short(a.upToDigest, 'upToDigest'),
    reading: count(a.reading, 'reading'),
    acked: readVector(a.acked),
    records: list(a.records, 'records').map(readRecord),
    more: a.more === true,
    voids: list(a.voids ?? [], 'voids').map(readVoid),
    forks: list(a.forks ?? [], 'forks').map(readFork),
    refused: list(a.refused ?? [], 'refused').map(readRefusal),
    photosWanted: list(a.photosWanted ?? [], 'photosWanted').filter(isSha256),
  };
  if (a.have !== undefined && a.have !== null) answer.have = readVector(a.have);
  if (a.wrong === 'epoch' || a.wrong === 'digest' || a.wrong === 'server') answer.wrong = a.wrong;
  else if (a.wrong !== undefined && a.wrong !== '') throw new BadMessage('wrong');
  return answer;
}

export function readVector(tree: unknown): Vector {
  const vector = object(tree, 'vector');
  for (const [replica, entry] of Object.entries(vector)) {
    const ok = isId(replica) && Array.isArray(entry) && entry.length === 2 && isCount(entry[0]) && isShort(entry[1]);
    if (!ok) throw new BadMessage('vector');
  }
  return vector as unknown as Vector;
}

/** Reads a foreign record: as hostile as an op. */
export function readRecord(tree: unknown): Rec {
  const r = object(tree, 'record');
  if (!isKind(r.kind) || !isId(r.id)) throw new BadMessage('record');
  const fields = Object.entries(object(r.fields, 'fields'));
  if (fields.length > 4 * limits.fields) throw new BadMessage('fields');
  return {
    kind: r.kind,
    id: r.id,
    fields: Object.fromEntries(fields.map(([name, field]) => [name, readField(name, field)])),
  };
}

function readField(name: string, tree: unknown): Field {
  if (!isField(name)) throw new BadMessage('field');
  const f = object(tree, 'field');
  const live = list(f.live ?? [], 'live').map(readEntry);
  const dead = list(f.dead ?? [], 'dead');
  if (!dead.every(isDot) || new Set(live.map((e) => e.dot)).size !== live.length) throw new BadMessage('dots');
  return { live, dead };
}

function readEntry(tree: unknown): Entry {
  const { dot, at, by, value } = object(tree, 'value');
  if (!isDot(dot) || !isStamp(at) || !(by === '' || isId(by))) throw new BadMessage('value');
  if (value === undefined) return { dot, at, by };
  checkValue(value);
  return { dot, at, by, value };
}

const plainUnits = 10_000; // even with six bytes for each, an op holds it

function checkValue(value: Json): void {
  if (typeof value === 'boolean' || value === null || (typeof value === 'number' && Number.isSafeInteger(value)))
    return;
  if (typeof value === 'string' && value.length < plainUnits && !/\p{Cs}/u.test(value)) return;
  try {
    if (encodeValue(value).length <= limits.opBytes) return;
  } catch {
    // falls through: not of the format
  }
  throw new BadMessage('value');
}

export function readVoid(tree: unknown): Void {
  const { dot, digest, kind, id, over, reason } = object(tree, 'void');
  const fields = Object.entries(object(over ?? {}, 'over'));
  const ok =
    isDot(dot) &&
    isShort(digest) &&
    fields.every(([name, dots]) => isField(name) && Array.isArray(dots) && dots.every(isDot)) &&
    typeof reason === 'string' &&
    reason.length <= 64;
  if (!ok) throw new BadMessage('void');
  const v: Void = { dot, digest, over: Object.fromEntries(fields) as Void['over'], reason };
  if (isKind(kind) && isId(id)) Object.assign(v, { kind, id });
  return v;
}

function readFork(tree: unknown): Fork {
  const { replica, from, to, before, digests, renamed } = object(tree, 'fork');
  const ok = isId(replica) && isId(to) && isCount(from) && from > 0 && isShort(before);
  const shorts = (v: unknown): v is string[] => Array.isArray(v) && v.every(isShort);
  if (!ok || !shorts(digests) || !shorts(renamed)) throw new BadMessage('fork');
  const fork = { replica, from, to, before, digests, renamed };
  if (!forkHolds(fork)) throw new BadMessage('fork');
  return fork;
}

function readRefusal(tree: unknown): Refusal {
  const { replica, n, reason, forGood } = object(tree, 'refused');
  if (!isId(replica) || !isCount(n) || typeof reason !== 'string' || reason.length > 64)
    throw new BadMessage('refused');
  return { replica, n, reason, forGood: forGood === true };
}

export const isSha256 = (v: unknown): v is string => typeof v === 'string' && /^[0-9a-f]{64}$/.test(v);

function object(v: unknown, what: string): { [key: string]: Json } {
  if (!isObject(v)) throw new BadMessage(what);
  return v;
}

function list(v: unknown, what: string): Json[] {
  if (!Array.isArray(v)) throw new BadMessage(what);
  return v;
}

function count(v: unknown, what: string): number {
  if (!isCount(v)) throw new BadMessage(what);
  return v;
}

function word(v: unknown, what: string): string {
  if (typeof v !== 'string' || v.length > 128) throw new BadMessage(what);
  return v;
}

function short(v: unknown, what: string): string {
  if (!isShort(v)) throw new BadMessage(what);
  return v;
}
