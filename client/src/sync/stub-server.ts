/** For tests only: one server in memory that speaks the exchange, can be restored from a copy, and judges as ours do. */
import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, hexToBytes } from '@noble/hashes/utils.js';
import {
  applyOp,
  type Context,
  covers,
  dotOf,
  emptyRecord,
  knownOf,
  purge,
  purgedBy,
  type Rec,
  takeRecord,
  takeVoid,
  trim,
  type Vector,
  type Void,
} from './merge';
import { chainHex, chainStart, type MalformedOp, type Op, parseOp, shortOf } from './ops';
import { keyOf } from './phone';
import { type Answer, readRecord, readVector, readVoid } from './wire';

export type StubServer = {
  id: string;
  epoch: string;
  c: Record<string, readonly [number, string]>;
  links: string[]; // of its own chain, by seq
  entries: [replica: string, n: number, short: string][]; // entries[seq − 1]
  shorts: Record<string, string>; // by dot
  chains: Record<string, string>; // whole, at c
  records: Record<string, Rec>;
  changed: Record<string, number>;
  voids: Record<string, Void>;
  voidSeq: Record<string, number>;
  purged: Record<string, true>;
  mayWrite: boolean;
  pageRecords: number;
};

export const newStub = (id: string): StubServer => ({
  id,
  epoch: 'first',
  c: {},
  links: [chainStart],
  entries: [],
  shorts: {},
  chains: {},
  records: {},
  changed: {},
  voids: {},
  voidSeq: {},
  purged: {},
  mayWrite: true,
  pageRecords: 3,
});

const contextOf = (s: StubServer): Context => ({
  has: (dot) => covers(s.c, dot),
  voidOf: (dot) => s.voids[dot],
  purged: (dot) => s.purged[dot] === true,
});

const head = (s: StubServer) => s.entries.length;

function log(s: StubServer, replica: string, n: number, short: string): void {
  const bytes = new Uint8Array(8);
  new DataView(bytes.buffer).setBigUint64(0, BigInt(n));
  const link = [...hexToBytes(s.links[head(s)] ?? ''), ...hexToBytes(replica), ...bytes, ...hexToBytes(short)];
  s.links.push(bytesToHex(sha256(Uint8Array.from(link))));
  s.entries.push([replica, n, short]);
}

function put(s: StubServer, rec: Rec): void {
  const key = keyOf(rec.kind, rec.id);
  s.records[key] = trim(rec, contextOf(s));
  s.changed[key] = head(s);
}

function putPurged(s: StubServer, dots: readonly string[]): void {
  for (const dot of dots) s.purged[dot] = true;
  for (const rec of Object.values(s.records)) {
    if (dots.length > 0) s.records[keyOf(rec.kind, rec.id)] = purge(rec, (dot) => s.purged[dot] === true);
  }
}

function putVoid(s: StubServer, v: Void): void {
  if (s.voids[v.dot]) return;
  s.voids[v.dot] = v;
  s.voidSeq[v.dot] = head(s);
  const rec = s.records[keyOf(v.kind ?? '', v.id ?? '')];
  if (rec) put(s, takeVoid(rec, v, contextOf(s)));
}

/** Answers a request's body with a body, as on the wire. */
export function serve(s: StubServer, body: string): string {
  const request = JSON.parse(body);
  const { epoch, id: server } = s;
  const base = {
    format: 1,
    server,
    epoch,
    upTo: 0,
    upToDigest: '',
    reading: 0,
    acked: {},
    records: [],
    more: false,
    refused: [],
  };
  const wrong = wrongOf(s, request);
  if (wrong) return JSON.stringify({ ...base, wrong });
  const refused: Answer['refused'] = [];
  const texts = (request.ops as Op[]).map((op) => JSON.stringify(op)); // their very bytes: no key of theirs is a number
  if (texts.length > 0) takeOps(s, request.replica, request.from, request.prevDigest, texts, refused);
  const acked = { [request.replica]: s.c[request.replica] ?? [0, '0'.repeat(16)] };
  if (request.back && s.mayWrite) takeBack(s, request.back);
  else if (request.back) refused.push({ replica: '0'.repeat(32), n: 0, reason: 'no-right', forGood: false });
  return JSON.stringify({ ...base, acked, refused, ...page(s, request) });
}

type Asked = { server: string; epoch: string; after: number; afterDigest: string; reading?: number; have?: Vector };

function wrongOf(s: StubServer, r: Asked): string | undefined {
  if (r.server === '' && r.epoch === '' && r.after === 0) return undefined;
  if (r.server !== s.id) return 'server';
  if (r.epoch !== s.epoch) return 'epoch';
  return r.after > 0 && shortOf(s.links[r.after] ?? '') !== r.afterDigest ? 'digest' : undefined;
}

function takeOps(
  s: StubServer,
  replica: string,
  from: number,
  prev: string,
  texts: string[],
  refused: Answer['refused'],
): void {
  const refuse = (n: number, reason: string, forGood: boolean) => refused.push({ replica, n, reason, forGood });
  if (!s.mayWrite) return void refuse(from, 'no-right', false);
  const known = knownOf(s.c, replica);
  if (from > known + 1) return;
  const before = from === 1 ? '0'.repeat(16) : s.shorts[dotOf(replica, from - 1)];
  if (before !== undefined && before !== shortOf(prev)) return void refuse(from, 'fork', false);
  let chain = prev;
  let unsure = 0;
  for (const [i, text] of texts.entries()) {
    const n = from + i;
    const dot = dotOf(replica, n);
    chain = chainHex(chain, text);
    if (n <= known) {
      const at = s.shorts[dot];
      if (at === undefined) unsure ||= n;
      else if (at !== shortOf(chain)) return void refuse(unsure || n, 'fork', false);
      else unsure = 0;
      if (s.voids[dot]) refuse(n, s.voids[dot].reason, true);
    } else if (unsure === 0) {
      takeOp(s, dot, chain, text, (reason) => refuse(n, reason, true));
    }
  }
  if (unsure) refuse(unsure, 'fork', false);
}

function takeOp(s: StubServer, dot: string, chain: string, text: string, refuse: (reason: string) => void): void {
  const op = outcome(() => parseOp(text));
  const replica = dot.slice(0, 32);
  const n = Number(dot.slice(33));
  const digest = shortOf(chain);
  const wrong = typeof op === 'string' ? op : op.kind === 'person' ? 'server-only' : '';
  log(s, replica, n, digest);
  s.shorts[dot] = digest;
  if (typeof op === 'string' || wrong) {
    const from = typeof op === 'string' ? { over: {} } : { kind: op.kind, id: op.id, over: op.over };
    s.c[replica] = [n, digest];
    putVoid(s, { dot, digest, ...from, reason: wrong });
    refuse(wrong);
    return;
  }
  putPurged(s, purgedBy(op.kind, op.set.dots));
  const rec = applyOp(s.records[keyOf(op.kind, op.id)] ?? emptyRecord(op.kind, op.id), op, contextOf(s));
  s.c[replica] = [n, digest];
  put(s, rec);
}

function outcome(f: () => Op): Op | string {
  try {
    return f();
  } catch (e) {
    return (e as MalformedOp).reason;
  }
}

function takeBack(s: StubServer, back: { have: unknown; records: unknown[]; voids: unknown[]; last: boolean }): void {
  const have = readVector(back.have);
  for (const v of back.voids) putVoid(s, readVoid(v));
  const records = back.records.map(readRecord);
  for (const rec of records) putPurged(s, purgedBy(rec.kind, rec.fields.dots?.live[0]?.value));
  if (records.length > 0) log(s, '0'.repeat(32), 0, '0'.repeat(16));
  for (const theirs of records)
    put(s, takeRecord(s.records[keyOf(theirs.kind, theirs.id)], theirs, have, contextOf(s)));
  if (!back.last) return;
  for (const [replica, [n, short]] of Object.entries(have)) {
    if (n <= knownOf(s.c, replica)) continue;
    log(s, replica, n, short);
    s.c[replica] = [n, short];
    s.shorts[dotOf(replica, n)] = short;
  }
}

const since = (s: StubServer, after: number) =>
  Object.keys(s.changed)
    .filter((key) => (s.changed[key] ?? 0) > after)
    .sort((a, b) => (s.changed[a] ?? 0) - (s.changed[b] ?? 0));

/** The keys of a page: all records of one sequence number go together. */
function pageKeys(s: StubServer, after: number): string[] {
  const keys = since(s, after);
  const end = keys.findIndex((key, i) => i >= s.pageRecords && s.changed[key] !== s.changed[keys[i - 1] ?? '']);
  return end < 0 ? keys : keys.slice(0, end);
}

function page(s: StubServer, r: Asked): Partial<Answer> {
  const reading = r.reading && r.reading <= head(s) ? r.reading : head(s);
  const keys = pageKeys(s, r.after);
  const more = keys.length < since(s, r.after).length;
  const upTo = more ? (s.changed[keys.at(-1) ?? ''] ?? 0) : reading; // what moved meanwhile comes once more
  const have: Record<string, readonly [number, string]> = {};
  for (const [replica, n, short] of s.entries.slice(0, reading)) if (n > 0) have[replica] = [n, short];
  const voids = Object.values(s.voids).filter((v) => (s.voidSeq[v.dot] ?? 0) > r.after);
  const news = upTo > r.after || r.have !== undefined || (r.reading ?? 0) > 0;
  const records = keys.map((key) => structuredClone(s.records[key] as Rec));
  return {
    records,
    reading,
    upTo,
    upToDigest: upTo > 0 ? shortOf(s.links[upTo] ?? '') : '',
    more,
    ...(news && { have, voids }),
  };
}
