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

/** An op, or a void in the place of one. */
type Element = Op | { void: { n: number; chain: string } };
type Frame = { replica: string; from: number; prevDigest: string; ops: Element[] };
type Refused = Answer['refused'];

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
  known: Record<string, Vector>; // what a record knows beyond c, by key, while a hand-back of several parts goes on
  mayWrite: boolean;
  mayPurge: boolean;
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
  known: {},
  mayWrite: true,
  mayPurge: true,
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
  const refused: Refused = [];
  const { replica, from, prevDigest, ops, back } = request;
  const own: Frame[] = ops.length > 0 ? [{ replica, from, prevDigest, ops }] : [];
  const acked: Record<string, readonly [number, string]> = {};
  const none = [0, '0'.repeat(16)] as const;
  for (const frame of [...own, ...(request.frames ?? [])]) {
    takeFrame(s, frame, refused);
    acked[frame.replica] = s.c[frame.replica] ?? none;
  }
  if (replica !== nobody) acked[replica] = s.c[replica] ?? none;
  const notBack = (reason: string) => refused.push({ replica: nobody, n: 0, reason, forGood: false });
  if (back && !s.mayWrite) notBack('no-right');
  else if (back && mustReadOn(s, back, request.after)) notBack('again');
  else if (back) takeBack(s, back);
  return JSON.stringify({ ...base, acked, refused, ...page(s, request) });
}

const nobody = '0'.repeat(32);

type Asked = { server: string; epoch: string; after: number; afterDigest: string; reading?: number; have?: Vector };

function wrongOf(s: StubServer, r: Asked): string | undefined {
  if (r.server === '' && r.epoch === '' && r.after === 0) return undefined;
  if (r.server !== s.id) return 'server';
  if (r.epoch !== s.epoch) return 'epoch';
  return r.after > 0 && shortOf(s.links[r.after] ?? '') !== r.afterDigest ? 'digest' : undefined;
}

function takeFrame(s: StubServer, { replica, from, prevDigest, ops }: Frame, refused: Refused): void {
  const refuse = (n: number, reason: string, forGood: boolean) => refused.push({ replica, n, reason, forGood });
  if (!s.mayWrite) return void refuse(from, 'no-right', false);
  const known = knownOf(s.c, replica);
  if (from > known + 1) return;
  const before = from === 1 ? '0'.repeat(16) : s.shorts[dotOf(replica, from - 1)];
  if (before !== undefined && before !== shortOf(prevDigest)) return void refuse(from, 'fork', false);
  let chain = prevDigest;
  let unsure = 0;
  for (const [i, element] of ops.entries()) {
    const n = from + i;
    const dot = dotOf(replica, n);
    const text = JSON.stringify(element); // its very bytes: no key of it is a number
    chain = 'void' in element ? element.void.chain : chainHex(chain, text);
    if (n <= known) {
      const at = s.shorts[dot];
      if (at === undefined) unsure ||= n;
      else if (at !== shortOf(chain)) return void refuse(unsure || n, 'fork', false);
      else unsure = 0;
      if (s.voids[dot]) refuse(n, s.voids[dot].reason, true);
    } else if (unsure > 0) {
      break;
    } else if ('void' in element) {
      accept(s, dot, chain);
      putVoid(s, readVoid({ ...element.void, dot, digest: shortOf(chain) }));
    } else {
      const reason = takeOp(s, dot, chain, text, element);
      if (reason === 'no-right') return void refuse(n, reason, false);
      if (reason) refuse(n, reason, true);
    }
  }
  if (unsure) refuse(unsure, 'fork', false);
}

function accept(s: StubServer, dot: string, chain: string): void {
  const [replica, n] = [dot.slice(0, 32), Number(dot.slice(33))];
  log(s, replica, n, shortOf(chain));
  s.shorts[dot] = shortOf(chain);
  s.c[replica] = [n, shortOf(chain)];
}

const serverOnly = ['person', 'phone', 'role', 'ending'];

/** Takes an op in, or says why not; a void then stands in its place, unless it is refused for now. */
function takeOp(s: StubServer, dot: string, chain: string, text: string, tree: Op): string | undefined {
  let op: Op | undefined;
  let reason = '';
  try {
    op = parseOp(text);
  } catch (e) {
    reason = (e as MalformedOp).reason;
  }
  if (op && dotOf(op.replica, op.n) !== dot) reason = 'malformed';
  else if (op && serverOnly.includes(op.kind)) reason = 'server-only';
  else if (op?.kind === 'purge' && Object.keys(op.over).length > 0) reason = 'purge-over';
  else if (op?.kind === 'purge' && !s.mayPurge) return 'no-right';
  if (!op || reason) {
    accept(s, dot, chain);
    const envelope = reason === 'too-large' ? { over: {} } : { kind: tree.kind, id: tree.id, over: tree.over };
    putVoid(s, readVoid({ ...envelope, dot, digest: shortOf(chain), reason }));
    return reason;
  }
  putPurged(s, purgedBy(op.kind, op.set.dots));
  const rec = applyOp(s.records[keyOf(op.kind, op.id)] ?? emptyRecord(op.kind, op.id), op, contextOf(s));
  accept(s, dot, chain);
  put(s, rec);
}

type Back = { have: Vector; records: unknown[]; voids: unknown[]; last: boolean };

const beyondOurs = (s: StubServer, have: Vector): [replica: string, entry: readonly [number, string]][] =>
  Object.entries(have)
    .filter(([replica, [n]]) => n > knownOf(s.c, replica))
    .sort(([a], [b]) => (a < b ? -1 : 1));

/** The last part waits while something was handed back since by another. */
function mustReadOn(s: StubServer, { have, last }: Back, after: number): boolean {
  const more = Object.fromEntries(beyondOurs(s, have));
  const unread = (dot: string) => covers(more, dot) && !covers(s.c, dot);
  const fields = since(s, after).flatMap((key) => Object.values(s.records[key]?.fields ?? {}));
  return last && fields.some(({ live }) => live.some((e) => unread(e.dot)));
}

function takeBack(s: StubServer, back: Back): void {
  const have = readVector(back.have);
  const more = beyondOurs(s, have);
  for (const v of back.voids) putVoid(s, readVoid(v));
  const records = back.records.map(readRecord);
  for (const rec of records) putPurged(s, purgedBy(rec.kind, rec.fields.dots?.live[0]?.value));
  const touched: Rec[] = [];
  for (const theirs of records) {
    const key = keyOf(theirs.kind, theirs.id);
    const mine = s.records[key];
    const rec = takeRecord(mine, unheard(theirs, mine, s.known[key] ?? {}), have, contextOf(s));
    if (!back.last) s.known[key] = { ...s.known[key], ...Object.fromEntries(more) };
    if ((back.last ? more.length > 0 : false) || JSON.stringify(mine) !== JSON.stringify(rec)) touched.push(rec);
  }
  if (touched.length > 0) log(s, nobody, 0, '0'.repeat(16));
  for (const rec of touched) put(s, rec);
  if (!back.last || more.length === 0) return;
  for (const [replica, [n, short]] of more) {
    log(s, replica, n, short);
    s.c[replica] = [n, short];
    s.shorts[dotOf(replica, n)] = short;
  }
  log(s, nobody, 0, '0'.repeat(16)); // all is given out once more
  for (const rec of Object.values(s.records)) put(s, rec);
}

/** A record without the values that ours is known to have seen replaced. */
function unheard(theirs: Rec, mine: Rec | undefined, known: Vector): Rec {
  const holds = (name: string, dot: string) => mine?.fields[name]?.live.some((e) => e.dot === dot) === true;
  const fields = Object.entries(theirs.fields).map(([name, { live, dead }]) => {
    return [name, { live: live.filter((e) => !covers(known, e.dot) || holds(name, e.dot)), dead }];
  });
  return { ...theirs, fields: Object.fromEntries(fields) };
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
    ...(news && Object.keys(have).length > 0 && { have }),
    ...(news && voids.length > 0 && { voids }),
  };
}
