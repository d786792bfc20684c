/** Writing: what a person did becomes ops and records in one transaction, and is on the disk before it counts as done. */
import { type Json, noteFits } from '../sync/ops';
import { type Draft, keyOf, type Row as SyncRow, writeOp } from '../sync/phone';
import { StoreError } from './errors';
import type { Home } from './home';
import { madeAt, parentOf } from './parent';
import type { Pending, Phone, Row, Tx } from './tables';

export type { Draft } from '../sync/phone';

/** A task to keep or, without a state, to end. */
export type TaskWrite = { readonly id: string; readonly touchedAt: number; readonly state?: Json };

/** One act as it was asked for. `draftDone` is the key of the text draft that became a record with it. */
export type Act = {
  readonly drafts: readonly Draft[];
  readonly nowMs: number;
  readonly task?: TaskWrite;
  readonly draftDone?: string;
};

export type Writing = {
  /**
   * Writes records, and a task's state with them: all or nothing, and after what could not be written before. Resolves with
   * the rows as they are now, of that too. Throws StoreError: 'refused' where a value is over a limit of the format; 'full'
   * or 'lost' where the phone can't, and then the act stays in `unsaved`, behind the others.
   */
  write(drafts: readonly Draft[], nowMs: number, task?: TaskWrite, draftDone?: string): Promise<Row[]>;
  /** What could not be written since this page was opened. It is in memory only: say so. */
  unsaved(): readonly Act[];
  /** Tries that again, in order. Throws at the first that fails again. */
  writeUnsaved(): Promise<Row[]>;
};

export function writing(home: Home, makeRoom: () => Promise<boolean>): Writing {
  const unsaved: Act[] = [];

  async function once(act: Act): Promise<Row[]> {
    const { studio } = home.device;
    const tables = ['records', 'outbox', 'phones', 'tasks', 'drafts'] as const;
    const rows = await home.engine.run(tables, 'write', async (tx) => {
      const rows = act.drafts.length > 0 ? await put(home, tx, studio, act.drafts, act.nowMs) : [];
      const { task, draftDone } = act;
      if (task?.state !== undefined)
        tx.put('tasks', { id: task.id, studio, touchedAt: task.touchedAt, state: task.state });
      else if (task) tx.remove('tasks', [studio, task.id]);
      if (draftDone !== undefined) tx.remove('drafts', [studio, draftDone]);
      return rows;
    });
    if (rows.length > 0) home.changed({ by: 'us', studio, keys: rows.map((r) => keyOf(r.kind, r.id)) });
    return rows;
  }

  /** A full phone is asked to give up photos that a server has, once. */
  async function withRoom(act: Act): Promise<Row[]> {
    try {
      return await once(act);
    } catch (e) {
      if (!(e instanceof StoreError) || e.reason !== 'full' || !(await makeRoom().catch(() => false))) throw e;
    }
    return once(act);
  }

  async function retry(): Promise<Row[]> {
    const rows: Row[] = [];
    for (let act = unsaved[0]; act; act = unsaved[0]) {
      rows.push(...(await withRoom(act)));
      unsaved.shift();
    }
    return rows;
  }

  /** Once for all who ask meanwhile. */
  let retrying: Promise<Row[]> | undefined;
  function writeUnsaved(): Promise<Row[]> {
    retrying ??= retry().finally(() => {
      retrying = undefined;
    });
    return retrying;
  }

  return {
    write: async (drafts, nowMs, task, draftDone) => {
      const act = { drafts, nowMs, task, draftDone };
      try {
        const before = unsaved.length > 0 ? await writeUnsaved() : [];
        return [...before, ...(await withRoom(act))];
      } catch (e) {
        if (e instanceof StoreError && e.reason !== 'refused') unsaved.push(act);
        throw e;
      }
    },
    unsaved: () => [...unsaved],
    writeUnsaved,
  };
}

/** Writes drafts into a studio, in a transaction over records, outbox and phones. Throws StoreError 'refused'. */
export async function put(home: Home, tx: Tx, studio: string, drafts: readonly Draft[], nowMs: number): Promise<Row[]> {
  const keys = [...new Set(drafts.map((d) => keyOf(d.kind, d.id)))];
  const rows = await Promise.all(keys.map((key) => tx.get('records', [studio, ...key.split('/')])));
  return putAll(home, tx, studio, drafts, new Map(keys.map((key, i) => [key, rows[i]])), nowMs);
}

/** The same, with the rows as they are. */
export async function putAll(
  home: Home,
  tx: Tx,
  studio: string,
  drafts: readonly Draft[],
  stored: ReadonlyMap<string, Row | undefined>,
  nowMs: number,
): Promise<Row[]> {
  const phone = await tx.get('phones', studio);
  if (!phone) throw new Error('that studio is not on this phone');
  const done = writeAll(phone, byline(home, phone), drafts, stored, nowMs, home.zone());
  tx.put('phones', done.phone);
  for (const row of done.rows) tx.put('records', row);
  for (const pending of done.pending) tx.put('outbox', pending);
  return done.rows;
}

/** Whose name stands on what is written: as the studio's server knows them, else this phone's own. */
export const byline = (home: Home, phone: Phone) => phone.links[phone.server]?.person ?? home.device.person;

type Written = { phone: Phone; rows: Row[]; pending: Pending[] };

/** The same, pure: `stored` are the rows as they are, `zone` minutes east of UTC. */
export function writeAll(
  phone: Phone,
  by: string,
  drafts: readonly Draft[],
  stored: ReadonlyMap<string, Row | undefined>,
  nowMs: number,
  zone: number,
): Written {
  const { studio } = phone;
  const rows = new Map<string, Row>();
  const pending: Pending[] = [];
  let { meta, copies, since } = phone;
  for (const draft of drafts) {
    const key = keyOf(draft.kind, draft.id);
    const row = rows.get(key) ?? stored.get(key);
    const made = Object.keys(row?.fields ?? {}).length === 0 && draft.set.zone === undefined;
    const set = made ? { ...draft.set, zone } : draft.set;
    const written = checked(draft, () => writeOp(meta, by, { ...draft, set }, row, nowMs));
    meta = written.meta;
    pending.push({ ...written.pending, studio });
    if (row?.copy === undefined || row.copy <= phone.kept) copies++;
    if (row?.copy !== phone.copy) since++;
    rows.set(key, { ...rowFrom(studio, written.row, row), copy: phone.copy });
  }
  return { phone: { ...phone, meta, copies, since }, rows: [...rows.values()], pending };
}

function checked<T>(draft: Draft, write: () => T): T {
  const { text } = draft.set;
  if (draft.kind === 'note' && typeof text === 'string' && !noteFits(text)) throw new StoreError('refused');
  try {
    return write();
  } catch (e) {
    throw e instanceof RangeError ? new StoreError('refused', e) : e;
  }
}

/** A record as it is stored: where it is found, and what `before` had beside it. */
export function rowFrom(studio: string, rec: SyncRow, before: Row | undefined): Row {
  const row: Row = { ...rec, studio, parent: parentOf(rec.kind, rec.fields), t: madeAt(rec.fields) };
  if (before?.copy !== undefined) row.copy = before.copy;
  if (before?.late) row.late = before.late;
  return row;
}
