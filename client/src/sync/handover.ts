/** Opening a studio's file: it is adopted in an empty app, merged where the studio is already, and copied elsewhere (copy.ts). */
import { addVoid, applyOwn, closeWork, notePurged, openWork, type Rows, raiseTo, rename, takeRecords } from './base';
import { covers, knownOf, type Rec, trim } from './merge';
import { type Dot, shortOf } from './ops';
import { newPhone, type OutboxOp, type PhoneMeta, type Row } from './phone';
import type { World } from './replication';
import type { StudioFile } from './statefile';

/** What a phone holds of a studio, for a file: what is shown, and the vector that covers the outbox too. */
export function fileOf(meta: PhoneMeta, shown: Rec[], photos: StudioFile['photos'], madeMs: number): StudioFile {
  const { studio, replica, last, lastChain, voids, purged } = meta;
  const c = last > 0 ? { ...meta.c, [replica]: [last, shortOf(lastChain)] as const } : meta.c;
  const records = shown
    .map(({ kind, id, fields }) => trim({ kind, id, fields }, { has: (dot) => covers(c, dot) }))
    .filter((rec) => Object.keys(rec.fields).length > 0);
  return { studio, madeMs, c, records, voids: Object.values(voids), purged: Object.keys(purged), photos };
}

/** The file's studio in an app that does not have it, under a new replica and with the dots as they are. */
export function adoptFile(file: StudioFile, replica: string): { meta: PhoneMeta; rows: Row[] } {
  const { c, voids, purged } = file;
  const fresh = newPhone(file.studio, replica);
  const meta: PhoneMeta = { ...fresh, c, voids: Object.fromEntries(voids.map((v) => [v.dot, v])) };
  return {
    meta: { ...meta, purged: Object.fromEntries(purged.map((dot) => [dot, true as const])) },
    rows: file.records,
  };
}

/** What to write after a file of the same studio was merged. `dropTo` and `outbox` as in Taken. */
export type Merged = {
  meta: PhoneMeta;
  rows: Row[];
  gone: string[];
  dropTo: number;
  outbox?: OutboxOp[];
  photosGone: string[];
  skewed: Dot[];
};

/**
 * Merges a file of the same studio as state; merging it twice is the same as once. `rows` must hold every row. Own ops
 * that the file has are acknowledged by it: what no server has yet is handed back later. Where the file knows another
 * history of our replica, we go on under a new one.
 */
export function mergeFile(
  meta: PhoneMeta,
  outbox: readonly OutboxOp[],
  rows: Rows,
  file: StudioFile,
  world: World,
): Merged {
  if (file.studio !== meta.studio) throw new Error('a file of another studio is copied, not merged');
  const nothing = { rows: [], gone: [], dropTo: 0, photosGone: [], skewed: [] };
  if (!tellsUs(meta, outbox, file)) return { meta, ...nothing };
  const work = openWork(meta, outbox, loadedAll(rows, file));
  const [n, short] = file.c[meta.replica] ?? [0, ''];
  const at = outbox.findIndex((op) => op.n === n && shortOf(op.chain) === short);
  let dropTo = 0;
  for (const own of outbox.slice(0, at + 1)) {
    applyOwn(work, own);
    work.meta.ackedChain = own.chain;
    work.outbox.shift();
    dropTo = own.n;
  }
  if (n > knownOf(work.meta.c, meta.replica)) rename(work, world.newId());
  for (const v of file.voids) addVoid(work, v);
  notePurged(work, file.purged);
  takeRecords(work, file.records, file.c, world.nowMs);
  raiseTo(work, file.c);
  const { photosGone, skewed } = work;
  const merged: Merged = { meta: work.meta, ...closeWork(work), dropTo, photosGone, skewed };
  if (work.renamed) merged.outbox = work.outbox;
  return merged;
}

/**
 * Whether a file says anything that this phone does not know, its outbox counted: its own copy does not. What waits for a
 * server then goes on waiting.
 */
function tellsUs({ c, replica, voids, purged }: PhoneMeta, outbox: readonly OutboxOp[], file: StudioFile): boolean {
  const waits = (n: number, short: string) => outbox.some((op) => op.n === n && shortOf(op.chain) === short);
  const beyond = Object.entries(file.c).some(
    ([r, [n, short]]) => n > knownOf(c, r) && !(r === replica && waits(n, short)),
  );
  return beyond || file.voids.some((v) => !voids[v.dot]) || file.purged.some((dot) => !purged[dot]);
}

function loadedAll(rows: Rows, file: StudioFile): Rows {
  const all = new Map<string, Row | undefined>(rows);
  for (const { kind, id } of file.records) if (!all.has(`${kind}/${id}`)) all.set(`${kind}/${id}`, undefined);
  for (const { kind, id } of file.voids)
    if (kind && id && !all.has(`${kind}/${id}`)) all.set(`${kind}/${id}`, undefined);
  return all;
}
