/**
 * The phone's side of an exchange as pure functions over plain data, so that a store can load what is needed, call, and
 * write what comes out in one transaction. In order: buildRequest, the network, neededKeys, load, takeAnswer, write.
 */
import {
  addVoid,
  applyOwn,
  bears,
  closeWork,
  openWork,
  peek,
  purgedIn,
  type Rows,
  raiseTo,
  refuseOwn,
  rename,
  takeFork,
  takeRecords,
  type Work,
  wrote,
} from './base';
import { forkConcerns } from './fork';
import { beginBack, endBack } from './handback';
import { beyond, dotOf, type Entry, fieldOf, knownOf, purgedBy, type Rec } from './merge';
import { type Dot, limits, type Op, shortOf } from './ops';
import { type Cursor, keyOf, type OutboxOp, type PhoneMeta, type Row, readPending } from './phone';
import type { Answer, BackPart, Refusal, Request } from './wire';

/** How much one request may carry. `bytes` leaves room for the rest of the body. */
export type Most = { ops: number; bytes: number };
export const mostAtOnce: Most = { ops: limits.batchOps, bytes: limits.batchBytes - limits.gzipBytes };

/** Half as much, after a refusal as too large or a time-out. One op always goes. */
export const half = ({ ops, bytes }: Most): Most => ({ ops: Math.max(1, ops >> 1), bytes: Math.max(1, bytes >> 1) });

/**
 * Whether this phone must turn to a server before it asks it anything. A replica writes to one server, in one epoch of
 * it: that server puts all that bears the name in one line, so two phones of one name part at a server that can tell.
 */
export const mustTurn = (meta: PhoneMeta, server: string): boolean =>
  meta.cursors[server] !== undefined && meta.home !== server;

/** What to write, all of it in one transaction, before the next request goes out. `outbox` replaces all of it. */
export type Turned = { meta: PhoneMeta; rows: Row[]; gone: string[]; outbox: OutboxOp[] };

/**
 * Takes the name under which this phone writes to that server: the one it left there if nobody went on under it, else a
 * fresh one. `outbox` is all of it; `rows` hold the record of each of its ops, by key.
 */
export function turnTo(
  meta: PhoneMeta,
  outbox: readonly OutboxOp[],
  server: string,
  rows: Rows,
  newId: () => string,
): Turned {
  const work = openWork(meta, outbox, rows);
  const { cursors, c, home, replica, ackedChain: chain } = work.meta;
  const old = cursors[home];
  if (old) cursors[home] = { ...interrupted(old), left: { replica, n: knownOf(c, replica), chain } };
  work.meta.home = server;
  const now = cursors[server];
  if (now) cursors[server] = { ...now, ask: true }; // what another server acknowledged may be on no disk but ours by now
  if (now?.left && now.left.n === knownOf(c, now.left.replica)) rename(work, now.left.replica, now.left.chain);
  else rename(work, newId());
  return { meta: work.meta, ...closeWork(work), outbox: work.outbox };
}

/**
 * What to send to a server, to which the phone has turned: '' where none is known; it then only asks who is there.
 * `outbox` are the first ops that wait, in order; more than fit stay for the next time. `part` is a part of the hand-back
 * this server is owed, if one is (handback.ts).
 */
export function buildRequest(
  meta: PhoneMeta,
  outbox: readonly OutboxOp[],
  server: string,
  part?: BackPart,
  most: Most = mostAtOnce,
): Request {
  const { replica, ackedChain: prevDigest, c } = meta;
  const writer = { replica, from: knownOf(c, replica) + 1, prevDigest };
  const cursor = meta.cursors[server];
  const place = { server: '', epoch: '', after: 0, afterDigest: '', reading: 0 };
  if (!cursor) return { format: limits.format, ...place, ...writer, ops: [], have: { ...c } };
  if (mustTurn(meta, server)) throw new Error('the phone has not turned to this server');
  const { epoch, after, digest: afterDigest, reading } = cursor;
  const ops = firstThatFit(outbox, most);
  const request: Request = { format: limits.format, server, epoch, after, afterDigest, reading, ...writer, ops };
  if (cursor.ask || after === 0) request.have = { ...c };
  if (part) request.back = part;
  return request;
}

function firstThatFit(outbox: readonly OutboxOp[], most: Most): string[] {
  const texts: string[] = [];
  let room = most.bytes;
  for (const { text } of outbox.slice(0, most.ops)) {
    room -= 3 * text.length; // bytes are at most that
    if (room < 0 && texts.length > 0) break;
    texts.push(text);
  }
  return texts;
}

/** What must be loaded before takeAnswer: rows by key, or every row there is. */
export type Needed = { keys: string[]; all: boolean };

export function neededKeys(meta: PhoneMeta, outbox: readonly OutboxOp[], request: Request, answer: Answer): Needed {
  const keys = new Set(answer.records.map((rec) => keyOf(rec.kind, rec.id)));
  for (const { kind, id } of answer.voids) if (kind !== undefined && id !== undefined) keys.add(keyOf(kind, id));
  // then all that waits may be written anew
  const anew = answer.refused.some((r) => r.reason === 'fork') || wentBack(meta, answer);
  const sent = outbox.filter((op) => anew || op.n < request.from + request.ops.length);
  for (const { kind, id } of sent) keys.add(keyOf(kind, id));
  const purged = [...purgedIn(answer.records), ...sent.flatMap(purgedByOwn)];
  const all =
    answer.forks.some((f) => f.replica === meta.replica || forkConcerns(f, meta.c)) ||
    purged.some((dot) => !meta.purged[dot]);
  return { keys: [...keys], all };
}

/** Whether the server that we write to lacks what it acknowledged: it went back in time without saying so. */
const wentBack = ({ replica, c, home }: PhoneMeta, { server, acked }: Answer) =>
  server === home && knownOf(acked, replica) < knownOf(c, replica);

function purgedByOwn(pending: OutboxOp): Dot[] {
  return pending.kind === 'purge' ? purgedBy(pending.kind, readPending(pending).set.dots) : [];
}

/** An own op that no server takes, ever: the words go to the person. */
export type NeedsYou = { dot: Dot; op: Op; reason: string; ms: number };

/** What to write, all of it in one transaction. */
export type Taken = {
  meta: PhoneMeta;
  rows: Row[]; // to put
  gone: string[]; // keys of rows to delete
  dropTo: number; // outbox ops up to this n leave it
  outbox?: OutboxOp[]; // given when the outbox was written anew: it replaces all of it
  needsYou: NeedsYou[];
  waiting?: Refusal; // refused for now: the outbox waits, and why
  photosGone: string[]; // sha256, whose bytes must go
  photosWanted: string[]; // sha256
  skewed: Dot[]; // values just taken whose writer's clock is more than 5 minutes ahead
  taken: boolean; // false: the answer was to a question that is no longer ours, or must be asked again
};

/** What takeAnswer needs from outside: the time, and fresh replica ids. */
export type World = { nowMs: number; newId: () => string };

/**
 * Takes in the answer to a request. An answer that comes twice or late changes nothing that was not to change. `outbox`
 * is all of it, in order; `rows` hold what neededKeys asked for.
 */
export function takeAnswer(
  meta: PhoneMeta,
  outbox: readonly OutboxOp[],
  request: Request,
  answer: Answer,
  rows: Rows,
  world: World,
): Taken {
  const work = openWork(meta, outbox, rows);
  const result: Taken = {
    meta: work.meta,
    rows: [],
    gone: [],
    dropTo: 0,
    needsYou: [],
    photosGone: work.photosGone,
    photosWanted: answer.photosWanted,
    skewed: work.skewed,
    taken: false,
  };
  result.taken = take(work, request, answer, world, result);
  Object.assign(result, closeWork(work));
  if (work.renamed) result.outbox = work.outbox;
  return result;
}

const freshCursor = (epoch: string): Cursor => {
  const place = { after: 0, digest: '', reading: 0, start: 0, startDigest: '' };
  return { epoch, ...place, ask: true, doubt: {} };
};

/**
 * Notes that another server was read meanwhile: what it sent must not come between the pages of a reading here, and may
 * be on no disk but ours by now.
 */
function interrupted(cursor: Cursor): Cursor {
  const { start: after, startDigest: digest } = cursor;
  return { ...cursor, ...(cursor.reading > 0 ? { after, digest, reading: 0 } : {}), ask: true };
}

/** Begins anew with a server that is not where we left it, under a new name. */
function forget(meta: PhoneMeta, { server, epoch }: Answer): void {
  meta.cursors[server] = freshCursor(epoch);
  if (meta.home === server) meta.home = '';
}

function take(work: Work, request: Request, answer: Answer, world: World, result: Taken): boolean {
  const { meta } = work;
  const known = meta.cursors[answer.server];
  if (answer.wrong) {
    if (answer.wrong !== 'server' || !known) forget(meta, answer);
    return false;
  }
  const have = answer.have ?? {};
  for (const [server, { left, ...rest }] of Object.entries(meta.cursors)) {
    // Somebody else writes under a name that we left: our next op must not take their dot's name.
    if (left && bears(left.replica, left.n, have, answer.records)) meta.cursors[server] = rest;
  }
  const home = meta.cursors[meta.home];
  if (!known && home) meta.cursors[meta.home] = interrupted(home); // a first visit, before the phone turns
  const cursor = { ...(meta.cursors[answer.server] ?? freshCursor(answer.epoch)) };
  meta.cursors[answer.server] = cursor;
  if (request.after !== cursor.after || (request.epoch !== '' && request.epoch !== cursor.epoch)) return false;
  for (const [server, other] of Object.entries(meta.cursors)) {
    if (server !== answer.server && other.reading > 0) meta.cursors[server] = interrupted(other);
  }
  if (request.replica === meta.replica) takeAcks(work, request, answer, world, result);
  if (request.replica === meta.replica && !cursor.ask && !cursor.back && wentBack(meta, answer)) {
    forget(meta, answer); // it went back in time without saying so
    return false;
  }
  if (bears(meta.replica, knownOf(meta.c, meta.replica), have, answer.records)) {
    // The server must judge our ops before we take in what bears our name.
    if (work.outbox.length > 0 && !wentBack(meta, answer)) return false;
    // Somebody else writes under our name, unless what bears it is what waits here.
    if (work.outbox.length === 0 || !wrote(work, answer.records)) rename(work, world.newId());
  }
  for (const fork of answer.forks) if (forkConcerns(fork, meta.c)) takeFork(work, fork, world.newId);
  for (const v of answer.voids) addVoid(work, v);
  cursor.doubt = { ...cursor.doubt, ...doubtful(work, answer.records) };
  if (cursor.ask && answer.records.some((rec) => beyond(rec, have))) cursor.ahead = true;
  takeRecords(work, answer.records, have, world.nowMs);
  if (!answer.more) raiseTo(work, have);
  const { epoch, upTo: after, upToDigest: digest } = answer;
  if (cursor.reading === 0) Object.assign(cursor, { start: cursor.after, startDigest: cursor.digest });
  Object.assign(cursor, { epoch, after, digest, reading: answer.more ? answer.reading : 0 });
  if (request.back && cursor.back) endBack(cursor, request.back, answer);
  else if (!request.back && !cursor.back && !answer.more) {
    if (cursor.ask ? request.have : Object.keys(cursor.doubt).length > 0)
      beginBack(meta, cursor, request.have ?? {}, have);
  }
  return true;
}

/**
 * Moves acknowledged ops from the outbox into the base, leaves voids where they were refused for good, and renames from
 * a fork on. Only what was sent this time is judged: of the rest the answer says nothing.
 */
function takeAcks(work: Work, request: Request, answer: Answer, world: World, result: Taken): void {
  const { meta } = work;
  const own = answer.refused.filter((r) => r.replica === meta.replica);
  const forGood = new Map(own.filter((r) => r.forGood).map((r) => [r.n, r.reason]));
  const forNow = own.filter((r) => !r.forGood);
  const fork = forNow.find((r) => r.reason === 'fork');
  const waiting = answer.refused.find((r) => !r.forGood && r.reason !== 'fork');
  if (waiting) result.waiting = waiting;
  const [acked, digest] = answer.acked[meta.replica] ?? [0, ''];
  const end = Math.min(request.from + request.ops.length, acked + 1, ...forNow.map((r) => r.n));
  let judged = 0;
  for (const pending of work.outbox) {
    const same = pending.text === request.ops[pending.n - request.from]; // a late answer may be to other ops
    if (!same || pending.n >= end || (pending.n === acked && shortOf(pending.chain) !== digest)) break;
    const reason = forGood.get(pending.n);
    if (reason === undefined) {
      applyOwn(work, pending);
    } else {
      refuseOwn(work, pending, reason);
      const op = readPending(pending);
      result.needsYou.push({ dot: dotOf(op.replica, op.n), op, reason, ms: world.nowMs });
    }
    meta.ackedChain = pending.chain;
    judged++;
  }
  result.dropTo = work.outbox[judged - 1]?.n ?? 0;
  work.outbox = work.outbox.slice(judged);
  if (fork) rename(work, world.newId());
}

/**
 * Records that the server holds with a value which this copy knows to be replaced, or with a removal or purge that
 * names other dots: a fork renamed them in one copy when the other could not tell, and both are to keep the same.
 */
function doubtful(work: Work, records: readonly Rec[]): Record<string, true> {
  const doubt: Record<string, true> = {};
  for (const theirs of records) {
    const key = keyOf(theirs.kind, theirs.id);
    const mine = peek(work, key);
    for (const [name, { live }] of Object.entries(theirs.fields)) {
      const held = fieldOf(mine ?? theirs, name);
      const replaced = (dot: Dot) => work.ctx.has(dot) && !(mine && held.live.some((e) => e.dot === dot));
      const naming = name === 'removed' || theirs.kind === 'purge';
      const saysElse = ({ dot, value }: Entry) =>
        held.live.some((e) => e.dot === dot && JSON.stringify(e.value) !== JSON.stringify(value));
      if (live.some((e) => replaced(e.dot) || (mine && (held.dead.includes(e.dot) || (naming && saysElse(e))))))
        doubt[key] = true;
    }
  }
  return doubt;
}
