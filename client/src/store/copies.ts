/**
 * Copies: a whole studio as one file, and opening one. In an empty app the file's studio is adopted, in the same studio
 * it is merged, in another one its records are copied; so is another studio on this phone. Each is one transaction.
 */
import { copyInto } from '../sync/copy';
import { adoptFile, fileOf, mergeFile } from '../sync/handover';
import { fieldOf, hidden, type Rec } from '../sync/merge';
import { chainStart, newId, shortOf } from '../sync/ops';
import { keyOf, type PhoneMeta } from '../sync/phone';
import { encodeStudioFile, fromBase64, readStudioFile, type StudioFile, toBase64 } from '../sync/statefile';
import { putOutbox, putRows } from './exchange';
import type { Home } from './home';
import { pagesOf } from './records';
import { freshPhone } from './studios';
import { opsUpTo, type Phone, type Photo, type Row, type Tx, within } from './tables';
import { type Act, byline, putAll, rowFrom, writeAll } from './write';

/** What opening a file or copying a studio came to. `records`: those that are new or have something new. */
export type Opened = { how: 'adopted' | 'merged' | 'copied'; studio: string; records: number; photos: number };

/** What opening a file would come to: how many records of each kind would be new or have something new. */
export type Seen = {
  how: Opened['how'];
  madeMs: number;
  of: string[]; // whose it is: its studio's name, or else those of its machines
  kinds: { [kind: string]: number };
  photos: number;
};

/** Is told what share of the work is done, from 0 to 1. */
export type Told = (share: number) => void;

export type Copies = {
  /** The studio that is entered, with its photos and with what could not be saved. Call `copied` when it is safe. */
  exportCopy(nowMs: number): Promise<Blob>;
  /** A file that exportCopy made was kept: what is older than it counts as copied. */
  copied(nowMs: number): Promise<void>;
  /** What opening a file would bring. Nothing is written. Throws BadFile. */
  lookAtCopy(file: Blob, nowMs: number, told?: Told): Promise<Seen>;
  /** Opens a file. Throws BadFile (nothing was taken) and StoreError. Opening it again adds nothing. */
  openCopy(file: Blob, nowMs: number, told?: Told): Promise<Opened>;
  /** Copies another studio on this phone into the one that is entered. Again adds what is new there. */
  copyStudio(from: string, nowMs: number): Promise<Opened>;
  /** How many records of each kind a studio on this phone has, without removed ones: what copying it would bring. */
  kindsOf(studio: string): Promise<Map<string, number>>;
};

const written = ['records', 'outbox', 'phones', 'photos', 'photoWork', 'meta'] as const;

export function copies(home: Home, unsaved: () => readonly Act[]): Copies {
  const { engine } = home;

  async function photosOf(studio: string, records: readonly Rec[]): Promise<Photo[]> {
    const sums = records
      .filter((r) => r.kind === 'photo')
      .flatMap((r) => fieldOf(r, 'sha256').live.map((e) => e.value));
    const photos: Photo[] = [];
    for (const sum of new Set(sums)) {
      if (typeof sum !== 'string') continue;
      const photo = await engine.run(['photos'], 'read', (tx) => tx.get('photos', [studio, sum]));
      if (photo) photos.push(photo);
    }
    return photos;
  }

  async function copyHere(from: { studio: string; records: readonly Rec[] }, photos: readonly Photo[], nowMs: number) {
    const { studio } = home.device;
    const opened = await engine.run(written, 'write', async (tx) => {
      const rows = await rowsOf(tx, studio);
      const drafts = copyInto(from, (kind, id) => rows.get(keyOf(kind, id)));
      const put = drafts.length > 0 ? await putAll(home, tx, studio, drafts, rows, nowMs) : [];
      return { keys: put.length, photos: await putPhotos(tx, studio, photos) };
    });
    home.changed({ by: 'us', studio });
    return { how: 'copied' as const, studio, records: opened.keys, photos: opened.photos };
  }

  return {
    exportCopy: async (nowMs) => {
      const { studio } = home.device;
      const { phone, rows } = await engine.run(['phones', 'records'], 'write', async (tx) => {
        const phone = await phoneOf(tx, studio);
        tx.put('phones', { ...phone, copy: phone.copy + 1, since: 0 }); // what is written from now on is not in it
        return { phone, rows: await rowsOf(tx, studio) };
      });
      const { meta, shown } = withUnsaved(home, phone, rows, unsaved());
      const photos = (await photosOf(studio, shown)).map(({ sha256, type, bytes }) => ({
        sha256,
        type,
        base64: toBase64(new Uint8Array(bytes)),
      }));
      return new Blob([...encodeStudioFile(fileOf(meta, shown, photos, nowMs))], { type: 'application/x-ndjson' });
    },
    copied: (nowMs) =>
      engine.run(['phones'], 'write', async (tx) => {
        const phone = await phoneOf(tx, home.device.studio);
        tx.put('phones', { ...phone, kept: phone.copy - 1, copies: phone.since, copiedAt: nowMs });
      }),
    lookAtCopy: async (blob, nowMs, told) => {
      const file = await fileIn(blob, told);
      const { studio } = home.device;
      const how = studio === '' ? 'adopted' : studio === file.studio ? 'merged' : 'copied';
      return engine.run(['records', 'outbox', 'phones', 'photos'], 'read', async (tx) => {
        const news = await newsOf(tx, file, studio, nowMs);
        const kinds = new Map<string, number>(); // a kind may be called "constructor"
        for (const { kind } of news) kinds.set(kind, (kinds.get(kind) ?? 0) + 1);
        let photos = 0;
        for (const { sha256 } of file.photos) if (!(await hasPhoto(tx, studio, sha256))) photos++;
        return { how, madeMs: file.madeMs, of: namesIn(file), kinds: Object.fromEntries(kinds), photos };
      });
    },
    openCopy: async (blob, nowMs, told) => {
      const file = await fileIn(blob, told);
      const photos = file.photos.map(({ sha256, type, base64 }) => ({
        sha256,
        type,
        sent: false,
        bytes: fromBase64(base64).buffer as ArrayBuffer,
      }));
      if (home.device.studio !== '' && home.device.studio !== file.studio) return copyHere(file, photos, nowMs);
      const { studio } = file;
      const device = { ...home.device, studio, person: home.device.person || newId() };
      const replica = newId();
      const opened = await engine.run(written, 'write', async (tx) => {
        const phone = await tx.get('phones', studio);
        const records = await (phone ? merge(tx, phone, file, nowMs) : adopt(tx, file, replica));
        tx.put('meta', { key: 'device', value: device });
        const came = await putPhotos(tx, studio, photos);
        return { how: phone ? ('merged' as const) : ('adopted' as const), studio, records, photos: came };
      });
      home.device = device;
      home.changed({ by: 'us', studio });
      return opened;
    },
    copyStudio: async (from, nowMs) => {
      const rows = await engine.run(['records'], 'read', (tx) => rowsOf(tx, from));
      const records = [...rows.values()];
      return copyHere({ studio: from, records }, await photosOf(from, records), nowMs);
    },
    kindsOf: async (studio) => {
      const kinds = new Map<string, number>();
      for await (const page of pagesOf(home, studio))
        for (const row of page) if (!hidden(row)) kinds.set(row.kind, (kinds.get(row.kind) ?? 0) + 1);
      return kinds;
    },
  };
}

/** As many names, and as much of each, as one sentence bears (our choice): the file may be a stranger's. */
const most = { names: 3, units: 60 } as const;
/** Signs that end a line or turn its direction. */
const unseen = /[\p{Cc}\p{Cf}\p{Cs}\p{Z}]+/gu;

function namesIn({ records }: StudioFile): string[] {
  const names = (kind: string) =>
    records
      .filter((rec) => rec.kind === kind && !hidden(rec))
      .flatMap((rec) => fieldOf(rec, 'name').live[0]?.value ?? [])
      .flatMap((name) => (typeof name === 'string' ? name.replace(unseen, ' ').trim().slice(0, most.units) || [] : []));
  const [studio] = names('studio');
  return (studio ? [studio] : names('machine')).slice(0, most.names);
}

/** Reads a file bit by bit, with a breath for the page between. */
async function fileIn(blob: Blob, told?: Told): Promise<StudioFile> {
  const reading = readStudioFile(await blob.text());
  for (;;) {
    const { done, value } = reading.next();
    if (done) return value;
    if (!told) continue;
    told(value);
    await new Promise((go) => setTimeout(go));
  }
}

/** The records of a file that are new to a studio, or have something new for it. */
async function newsOf(tx: Tx, file: StudioFile, studio: string, nowMs: number): Promise<readonly Rec[]> {
  const phone = await tx.get('phones', studio || file.studio);
  if (!phone) return file.records.filter((rec) => !hidden(rec));
  const rows = await rowsOf(tx, phone.studio);
  if (phone.studio === file.studio) {
    const outbox = await tx.list('outbox', opsUpTo(phone.studio));
    const merged = mergeFile(phone.meta, outbox, rows, file, { nowMs, newId });
    return merged.rows.filter((rec) => !alike(rec.fields, rows.get(keyOf(rec.kind, rec.id))?.fields));
  }
  const drafts = copyInto(file, (kind, id) => rows.get(keyOf(kind, id)));
  const keys = new Set(drafts.map((d) => keyOf(d.kind, d.id)));
  return file.records.filter((rec) => keys.has(keyOf(rec.kind, rec.id)));
}

async function phoneOf(tx: Tx, studio: string): Promise<Phone> {
  const phone = await tx.get('phones', studio);
  if (!phone) throw new Error('that studio is not on this phone');
  return phone;
}

async function rowsOf(tx: Tx, studio: string): Promise<Map<string, Row>> {
  const rows = await tx.list('records', within(studio));
  return new Map(rows.map((row) => [keyOf(row.kind, row.id), row]));
}

async function adopt(tx: Tx, file: StudioFile, replica: string): Promise<number> {
  const { meta, rows } = adoptFile(file, replica);
  tx.put('phones', { ...freshPhone(file.studio, replica), meta });
  await tx.putMany(
    'records',
    rows.map((row) => rowFrom(file.studio, row, undefined)),
  );
  return rows.length;
}

async function merge(tx: Tx, phone: Phone, file: StudioFile, nowMs: number): Promise<number> {
  const { studio } = phone;
  const [rows, outbox] = await Promise.all([rowsOf(tx, studio), tx.list('outbox', opsUpTo(studio))]);
  const merged = mergeFile(phone.meta, outbox, rows, file, { nowMs, newId });
  if (merged.meta === phone.meta) return 0; // it says nothing new
  // What the file brought may be news to servers too: each is asked what it has, and handed back the rest.
  const asked = Object.entries(merged.meta.cursors).map(([server, cursor]) => [server, { ...cursor, ask: true }]);
  const { dropTo: n } = merged;
  const count = (phone.byFile?.count ?? 0) + outbox.filter((op) => op.n <= n).length;
  const byFile = n > 0 ? { replica: phone.meta.replica, n, count } : phone.byFile;
  tx.put('phones', { ...phone, meta: { ...merged.meta, cursors: Object.fromEntries(asked) }, byFile });
  let news = 0;
  await putRows(tx, studio, merged, (rec) => {
    const before = rows.get(keyOf(rec.kind, rec.id));
    if (!alike(rec.fields, before?.fields)) news++;
    return rowFrom(studio, rec, before);
  });
  putOutbox(tx, studio, merged);
  for (const sha256 of merged.photosGone) tx.remove('photos', [studio, sha256]);
  return news;
}

/** Whether two values hold the same, in whatever order their keys stand. */
function alike(a: unknown, b: unknown): boolean {
  if (typeof a !== 'object' || typeof b !== 'object' || a === null || b === null) return a === b;
  const [x, y] = [Object.entries(a), new Map(Object.entries(b))];
  return x.length === y.size && x.every(([key, value]) => y.has(key) && alike(value, y.get(key)));
}

const hasPhoto = async (tx: Tx, studio: string, sha256: string): Promise<boolean> =>
  (await tx.count('photos', { from: [studio, sha256], to: [studio, sha256] })) > 0;

/** Puts the photos that are not here yet, and says how many those were. */
async function putPhotos(tx: Tx, studio: string, photos: readonly Photo[]): Promise<number> {
  let came = 0;
  for (const photo of photos) {
    if (await hasPhoto(tx, studio, photo.sha256)) continue;
    tx.put('photos', { ...photo, sent: false, studio });
    tx.put('photoWork', { studio, sha256: photo.sha256, way: 'up' });
    came++;
  }
  return came;
}

/** Rows and place as they would be with what could not be saved: written by a replica that lives in the file only. */
function withUnsaved(
  home: Home,
  phone: Phone,
  rows: ReadonlyMap<string, Row>,
  unsaved: readonly Act[],
): { meta: PhoneMeta; shown: Rec[] } {
  const drafts = unsaved.flatMap((act) => act.drafts);
  if (drafts.length === 0) return { meta: phone.meta, shown: [...rows.values()] };
  const { replica, last, lastChain, c } = phone.meta;
  const own = last > 0 ? { ...c, [replica]: [last, shortOf(lastChain)] as const } : c;
  const meta = { ...phone.meta, c: own, replica: newId(), last: 0, lastChain: chainStart, ackedChain: chainStart };
  const nowMs = unsaved.at(-1)?.nowMs ?? 0;
  const done = writeAll({ ...phone, meta }, byline(home, phone), drafts, rows, nowMs, home.zone());
  const all = new Map<string, Rec>(rows);
  for (const row of done.rows) all.set(keyOf(row.kind, row.id), row);
  return { meta: done.phone.meta, shown: [...all.values()] };
}
