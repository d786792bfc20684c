/** For tests only: a phone with its records in memory, which loads and writes as the store on disk does. */
import { addToPart, settlePart, startPart } from './handback';
import { trim } from './merge';
import { newId as randomId } from './ops';
import {
  baseOf,
  contextOf,
  type Draft,
  keyOf,
  newPhone,
  type OutboxOp,
  type PhoneMeta,
  type Row,
  writeOp,
} from './phone';
import {
  buildRequest,
  mostAtOnce,
  mustTurn,
  type NeedsYou,
  neededKeys,
  type Taken,
  takeAnswer,
  turnTo,
  type World,
} from './replication';
import { type Answer, type BackPart, type Request, recordText } from './wire';

export type MemoryPhone = { meta: PhoneMeta; outbox: OutboxOp[]; rows: Map<string, Row>; needs: NeedsYou[] };

/** A phone with nothing in it. One with a home has turned to that server under its name already. */
export function newMemoryPhone(studio: string, replica: string, home?: { id: string; epoch: string }): MemoryPhone {
  const meta = newPhone(studio, replica);
  const place = { after: 0, digest: '', reading: 0, start: 0, startDigest: '' };
  if (home) {
    meta.home = home.id;
    meta.cursors[home.id] = { epoch: home.epoch, ...place, ask: true, doubt: {} };
  }
  return { meta, outbox: [], rows: new Map(), needs: [] };
}

export function write(phone: MemoryPhone, draft: Draft, nowMs: number): string {
  const key = keyOf(draft.kind, draft.id);
  const { meta, pending, row } = writeOp(phone.meta, '', draft, phone.rows.get(key), nowMs);
  phone.meta = meta;
  phone.outbox.push(pending);
  phone.rows.set(key, row);
  return pending.text;
}

export const sorted = (phone: MemoryPhone): Row[] =>
  [...phone.rows.entries()].sort(([a], [b]) => (a < b ? -1 : 1)).map(([, row]) => row);

/** The next part that a server is owed, of at most so many records. */
export function nextPart(phone: MemoryPhone, server: string, records = Infinity): BackPart | undefined {
  let part = startPart(phone.meta, server);
  if (!part) return undefined;
  while (!part.full) {
    const after = part.upTo;
    const page = sorted(phone)
      .filter((row) => keyOf(row.kind, row.id) > after)
      .slice(0, 2);
    part = addToPart(phone.meta, server, part, page, records);
  }
  const settled = settlePart(phone.meta, server, part);
  phone.meta = settled.meta;
  return settled.part;
}

/** Turns to a server where need be. */
export function turn(phone: MemoryPhone, server: string, newId: () => string): void {
  if (!mustTurn(phone.meta, server)) return;
  const turned = turnTo(phone.meta, phone.outbox, server, phone.rows, newId);
  phone.meta = turned.meta;
  phone.outbox = turned.outbox;
  for (const row of turned.rows) phone.rows.set(keyOf(row.kind, row.id), row);
}

/** Turns to a server where need be, and asks it. */
export function request(
  phone: MemoryPhone,
  server: string,
  { most = mostAtOnce, records = Number.POSITIVE_INFINITY, newId = randomId } = {},
): Request {
  turn(phone, server, newId);
  const part = nextPart(phone, server, records);
  return buildRequest(phone.meta, phone.outbox, server, part, most);
}

export function take(phone: MemoryPhone, request: Request, answer: Answer, world: World): Taken {
  const { keys, all } = neededKeys(phone.meta, phone.outbox, request, answer);
  const loaded = new Map<string, Row | undefined>(all ? phone.rows : []);
  for (const key of keys) loaded.set(key, phone.rows.get(key));
  const taken = takeAnswer(phone.meta, phone.outbox, request, answer, loaded, world);
  phone.meta = taken.meta;
  for (const row of taken.rows) phone.rows.set(keyOf(row.kind, row.id), row);
  for (const key of taken.gone) phone.rows.delete(key);
  phone.outbox = taken.outbox ?? phone.outbox.filter((op) => op.n > taken.dropTo);
  phone.needs.push(...taken.needsYou);
  return taken;
}

/** The base spelled out, so that two copies can be compared and seen to differ. */
export function spell(phone: MemoryPhone): string {
  const ctx = contextOf(phone.meta);
  const lines = sorted(phone)
    .map((row) => trim(baseOf(row), ctx))
    .filter((rec) => Object.keys(rec.fields).length > 0)
    .map(recordText);
  const vector = Object.entries(phone.meta.c).sort(([a], [b]) => (a < b ? -1 : 1));
  return `${lines.map((line) => `${line}\n`).join('')}${JSON.stringify(Object.fromEntries(vector))}`;
}
