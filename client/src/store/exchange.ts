/** The store's side of an exchange: what to send, and taking in an answer whole, in one transaction. */
import { addToPart, settlePart, startPart } from '../sync/handback';
import { knownOf } from '../sync/merge';
import { type Dot, newId } from '../sync/ops';
import { keyOf, type OutboxOp, type PhoneMeta, type Row as SyncRow } from '../sync/phone';
import {
  buildRequest,
  type Most,
  mostAtOnce,
  mustTurn,
  neededKeys,
  type Taken,
  takeAnswer,
  turnTo,
} from '../sync/replication';
import type { Answer, BackPart, Refusal, Request } from '../sync/wire';
import type { Home } from './home';
import { opsUpTo, type Phone, type Row, type Tx, within } from './tables';
import { rowFrom } from './write';

/** What an answer came to. */
export type Took = {
  taken: boolean; // false: the answer was to a question that is no longer ours, or must be asked again
  more: boolean; // there is more to send or to read, now
  waiting?: Refusal; // refused for now: the outbox waits, and why
  needs: number; // ops that no server takes, found in this answer
};

export type Exchange = {
  /** What to send from a studio to the server that answers, '' where none is known. Throws where the studio is not here. */
  nextRequest(studio: string, server: string, most?: Most): Promise<Request>;
  /** Takes in the answer: rows, acknowledgements, cursor and vector together. The same answer twice changes nothing. */
  take(studio: string, request: Request, answer: Answer, nowMs: number): Promise<Took>;
};

/** Rows read at a time while a hand-back is gathered. */
const gatherRows = 200;
/** More changed records than this are not named one by one. */
const mostNamed = 200;

export function exchange(home: Home): Exchange {
  const { engine } = home;
  const tell = (studio: string, keys: string[]) => {
    if (keys.length > 0) home.changed({ by: 'studio', studio, ...(keys.length <= mostNamed && { keys }) });
  };
  return {
    nextRequest: async (studio, server, most = mostAtOnce) => {
      const ask = (tx: Tx) => tx.list('outbox', opsUpTo(studio), { most: most.ops });
      const plain = await engine.run(['phones', 'outbox'], 'read', async (tx) => {
        const [{ meta }, outbox] = await Promise.all([phoneOf(tx, studio), ask(tx)]);
        if (mustTurn(meta, server) || startPart(meta, server)) return undefined;
        return buildRequest(meta, outbox, server, undefined, most);
      });
      if (plain) return plain;
      const { request, keys } = await engine.run(['phones', 'outbox', 'records'], 'write', async (tx) => {
        const phone = await phoneOf(tx, studio);
        // Whatever changes here must be on the disk before a server hears of it.
        const turned = mustTurn(phone.meta, server)
          ? await turn(tx, phone.meta, server)
          : { meta: phone.meta, keys: [] };
        const { meta, part } = await owed(tx, turned.meta, server);
        if (meta !== phone.meta) tx.put('phones', { ...phone, meta });
        return { request: buildRequest(meta, await ask(tx), server, part, most), keys: turned.keys };
      });
      tell(studio, keys);
      return request;
    },
    take: async (studio, request, answer, nowMs) => {
      const tables = ['phones', 'outbox', 'records', 'needs', 'photos', 'photoWork'] as const;
      // A phone that takes another name must not forget it after a server has heard it; all else would come again.
      const how = answer.refused.length + answer.forks.length > 0 ? 'write' : 'bulk';
      const { took, keys } = await engine.run(tables, how, async (tx) => {
        const [phone, outbox, stored] = await Promise.all([
          phoneOf(tx, studio),
          tx.list('outbox', opsUpTo(studio)),
          load(tx, studio, { keys: answer.records.map((rec) => keyOf(rec.kind, rec.id)), all: false }),
        ]);
        await load(tx, studio, neededKeys(phone.meta, outbox, request, answer), stored);
        const taken = takeAnswer(phone.meta, outbox, request, answer, stored, { nowMs, newId });
        return keep(tx, phone, outbox, stored, answer, taken, nowMs);
      });
      tell(studio, keys);
      return took;
    },
  };
}

async function phoneOf(tx: Tx, studio: string): Promise<Phone> {
  const phone = await tx.get('phones', studio);
  if (!phone) throw new Error('that studio is not on this phone');
  return phone;
}

/** Takes the name under which this phone writes to that server: what waits is written anew under it. */
async function turn(tx: Tx, from: PhoneMeta, server: string): Promise<{ meta: PhoneMeta; keys: string[] }> {
  const { studio } = from;
  const outbox = await tx.list('outbox', opsUpTo(studio));
  const stored = await load(tx, studio, { keys: [...new Set(outbox.map((op) => keyOf(op.kind, op.id)))], all: false });
  const turned = turnTo(from, outbox, server, stored, newId);
  const keys = await putRows(tx, studio, turned, (rec) => rowFrom(studio, rec, stored.get(keyOf(rec.kind, rec.id))));
  putOutbox(tx, studio, turned);
  return { meta: turned.meta, keys };
}

/** The next part of what this server lacks, if it is owed anything. */
async function owed(tx: Tx, meta: PhoneMeta, server: string): Promise<{ meta: PhoneMeta; part?: BackPart }> {
  let part = startPart(meta, server);
  if (!part) return { meta };
  const all = within(meta.studio);
  while (!part.full) {
    const from = part.upTo === '' ? all.from : [meta.studio, ...part.upTo.split('/')];
    part = addToPart(meta, server, part, await tx.list('records', { ...all, from, after: true }, { most: gatherRows }));
  }
  return settlePart(meta, server, part);
}

async function load(
  tx: Tx,
  studio: string,
  { keys, all }: { keys: readonly string[]; all: boolean },
  rows = new Map<string, Row | undefined>(),
): Promise<Map<string, Row | undefined>> {
  if (all) for (const row of await tx.list('records', within(studio))) rows.set(keyOf(row.kind, row.id), row);
  const missing = keys.filter((key) => !rows.has(key));
  const got = await tx.getMany(
    'records',
    missing.map((key) => [studio, ...key.split('/')]),
  );
  for (const [i, key] of missing.entries()) rows.set(key, got[i]);
  return rows;
}

async function keep(
  tx: Tx,
  phone: Phone,
  outbox: readonly OutboxOp[],
  stored: ReadonlyMap<string, Row | undefined>,
  answer: Answer,
  taken: Taken,
  nowMs: number,
): Promise<{ took: Took; keys: string[] }> {
  const { studio } = phone;
  const late = new Set(taken.skewed);
  const rows: Row[] = [];
  const keys = await putRows(tx, studio, taken, (rec) => {
    const row = withLate(rowFrom(studio, rec, stored.get(keyOf(rec.kind, rec.id))), late, nowMs);
    rows.push(row);
    return row;
  });
  putOutbox(tx, studio, taken);
  const left = taken.outbox?.length ?? outbox.filter((op) => op.n > taken.dropTo).length;
  let { lastNeed } = phone;
  for (const { op, reason, ms } of taken.needsYou) {
    tx.put('needs', { studio, key: ++lastNeed, at: ms, reason, text: JSON.stringify(op) });
  }
  const { byFile, ...still } = phone;
  const handed = byFile && knownOf(answer.have ?? {}, byFile.replica) >= byFile.n;
  tx.put('phones', {
    ...(handed ? still : phone),
    meta: taken.meta,
    lastNeed,
    server: answer.server,
    heard: { ...phone.heard, [answer.server]: nowMs },
  });
  await putPhotos(tx, studio, rows, taken);
  const cursor = taken.meta.cursors[answer.server];
  const sendable = left > 0 && !taken.waiting;
  const more = !taken.taken || answer.more || sendable || cursor?.ask === true || cursor?.back !== undefined;
  const took: Took = { taken: taken.taken, more, needs: taken.needsYou.length };
  if (taken.waiting) took.waiting = taken.waiting;
  return { took, keys };
}

/** Writes rows as they are stored, and removes those that hold nothing any more. Returns the keys of all. */
export async function putRows(
  tx: Tx,
  studio: string,
  { rows, gone }: { readonly rows: readonly SyncRow[]; readonly gone: readonly string[] },
  stored: (rec: SyncRow) => Row,
): Promise<string[]> {
  await tx.putMany('records', rows.map(stored));
  for (const key of gone) tx.remove('records', [studio, ...key.split('/')]);
  return [...rows.map((r) => keyOf(r.kind, r.id)), ...gone];
}

/** Writes the outbox anew where it was renamed, else drops what was judged. */
export function putOutbox(
  tx: Tx,
  studio: string,
  { outbox, dropTo = 0 }: { outbox?: OutboxOp[]; dropTo?: number },
): void {
  if (outbox) {
    tx.remove('outbox', opsUpTo(studio));
    for (const op of outbox) tx.put('outbox', { ...op, studio });
  } else if (dropTo > 0) tx.remove('outbox', opsUpTo(studio, dropTo));
}

/** Remembers when values came whose stamps are far ahead of this phone's clock. */
function withLate(row: Row, late: ReadonlySet<Dot>, nowMs: number): Row {
  const dots = Object.values(row.fields).flatMap((f) => f.live.map((e) => e.dot));
  const found = dots.filter((dot) => late.has(dot));
  if (found.length === 0) return row;
  return { ...row, late: { ...row.late, ...Object.fromEntries(found.map((dot) => [dot, nowMs])) } };
}

/** Drops photos that a purge took; notes those this phone lacks, and those the server lacks and we have. */
async function putPhotos(tx: Tx, studio: string, rows: readonly Row[], taken: Taken): Promise<void> {
  for (const sha256 of taken.photosGone) {
    tx.remove('photos', [studio, sha256]);
    tx.remove('photoWork', [studio, sha256]);
  }
  const gone = new Set(taken.photosGone);
  for (const row of rows) {
    const sum = row.kind === 'photo' ? row.fields.sha256?.live[0]?.value : undefined;
    if (typeof sum !== 'string' || !/^[0-9a-f]{64}$/.test(sum) || gone.has(sum)) continue;
    if (!(await has(tx, studio, sum))) tx.put('photoWork', { studio, sha256: sum, way: 'down' });
  }
  for (const sha256 of taken.photosWanted) {
    if (await has(tx, studio, sha256)) tx.put('photoWork', { studio, sha256, way: 'up' });
  }
}

const has = async (tx: Tx, studio: string, sha256: string): Promise<boolean> =>
  (await tx.count('photos', { from: [studio, sha256], to: [studio, sha256] })) > 0;
