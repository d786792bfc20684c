/** The phone's own store. What a person did is on disk when a promise here resolves; the network is never on that path. */
import type { Json } from '../sync/ops';
import { newId } from '../sync/ops';
import {
  type Db,
  databaseName,
  failure,
  type KeptTask,
  type Needed,
  openDb,
  type Pending,
  type Phone,
  type Photo,
  type Row,
  StoreError,
  type TextDraft,
} from './db';
import { type Draft, write } from './write';

export { type KeptTask, type Needed, type Photo, type Row, StoreError, type TextDraft } from './db';
export type { Draft } from './write';

/** What belongs to this browser, not to a studio. */
export type Device = { studio: string; person: string; name: string; settings: { readonly [key: string]: Json } };

export type Counts = { waiting: number; needs: number; copies: number; copiedAt: number };

/** A task to keep or, without a state, to end. */
export type TaskWrite = { readonly id: string; readonly touchedAt: number; readonly state?: Json };

type Hooks = { onBlocked?(): void };

const readStores = ['records', 'outbox', 'phones', 'needs', 'drafts', 'tasks', 'photos', 'meta'] as const;

export class Store {
  private db: Promise<Db>;

  private constructor(
    private readonly name: string,
    private readonly hooks: Hooks,
    public device: Device,
  ) {
    this.db = this.open();
  }

  /** Opens the store and reads what belongs to this browser. Throws StoreError. */
  static async open(name = databaseName, hooks: Hooks = {}): Promise<Store> {
    const store = new Store(name, hooks, { studio: '', person: '', name: '', settings: {} });
    const kept = await store.with((db) => db.get('meta', 'device'));
    if (kept) store.device = kept.value as Device;
    return store;
  }

  private open(): Promise<Db> {
    return openDb(this.name, {
      onBlocked: () => this.hooks.onBlocked?.(),
      onGone: () => {
        this.db = this.open(); // a dead handle: the next act opens anew
        this.db.catch(() => {});
      },
    });
  }

  /** Runs one piece of work; a lost connection is opened again and tried once more. */
  async with<T>(work: (db: Db) => Promise<T>): Promise<T> {
    try {
      return await work(await this.db);
    } catch (e) {
      const f = failure(e);
      if (!(f instanceof StoreError) || f.reason !== 'lost') throw f;
    }
    this.db = this.open();
    try {
      return await work(await this.db);
    } catch (e) {
      throw failure(e);
    }
  }

  async close(): Promise<void> {
    (await this.db).close();
  }

  async saveDevice(device: Device): Promise<void> {
    await this.with((db) => db.put('meta', { key: 'device', value: device }));
    this.device = device;
  }

  async meta<T>(key: string): Promise<T | undefined> {
    return (await this.with((db) => db.get('meta', key)))?.value as T | undefined;
  }

  async saveMeta(key: string, value: unknown): Promise<void> {
    await this.with((db) => db.put('meta', { key, value }));
  }

  /** Starts a studio on this phone. Returns its id; the record with its name is the caller's first draft. */
  async startStudio(name: string): Promise<string> {
    const studio = newId();
    const person = this.device.person || newId();
    await this.with(async (db) => {
      const tx = db.transaction(['phones', 'meta'], 'readwrite', { durability: 'strict' });
      void tx.objectStore('phones').put(freshPhone(studio));
      const device = { ...this.device, studio, person, name: name || this.device.name };
      void tx.objectStore('meta').put({ key: 'device', value: device });
      await tx.done;
      this.device = device;
    });
    return studio;
  }

  async get(kind: string, id: string): Promise<Row | undefined> {
    return this.with((db) => db.get('records', [this.device.studio, kind, id]));
  }

  /** All records of a kind: for kinds of which a studio has few. */
  async all(kind: string): Promise<Row[]> {
    const { studio } = this.device;
    return this.with((db) => db.getAll('records', IDBKeyRange.bound([studio, kind, ''], [studio, kind, '￿'])));
  }

  /** The newest records under a parent, oldest first. */
  async under(kind: string, parent: string, most: number): Promise<Row[]> {
    const { studio } = this.device;
    const range = IDBKeyRange.bound(
      [studio, kind, parent, Number.NEGATIVE_INFINITY],
      [studio, kind, parent, Number.POSITIVE_INFINITY],
    );
    return this.with(async (db) => {
      const rows: Row[] = [];
      let cursor = await db.transaction('records').store.index('byParent').openCursor(range, 'prev');
      while (cursor && rows.length < most) {
        rows.push(cursor.value);
        cursor = await cursor.continue();
      }
      return rows.reverse();
    });
  }

  /**
   * Writes records, and a task's state with them, in one transaction; resolves with the rows as they are now. Throws
   * StoreError: 'full', 'lost', or 'refused' where a value is over a limit; nothing is written then.
   */
  async write(drafts: readonly Draft[], nowMs: number, task?: TaskWrite, draftDone?: string): Promise<Row[]> {
    const { studio, person } = this.device;
    return this.with(async (db) => {
      const tx = db.transaction(['records', 'outbox', 'phones', 'tasks', 'drafts'], 'readwrite', {
        durability: 'strict',
      });
      try {
        const phone = await tx.objectStore('phones').get(studio);
        if (!phone) throw new Error(`no studio ${studio} on this phone`);
        const rows = new Map<string, Row | undefined>();
        for (const d of drafts) {
          const key = `${d.kind}/${d.id}`;
          if (!rows.has(key)) rows.set(key, await tx.objectStore('records').get([studio, d.kind, d.id]));
        }
        const done = write(phone, person, drafts, (kind, id) => rows.get(`${kind}/${id}`), nowMs);
        if (drafts.length > 0) void tx.objectStore('phones').put(done.phone);
        for (const row of done.rows) void tx.objectStore('records').put(row);
        for (const p of done.pending) void tx.objectStore('outbox').put(p);
        if (task?.state !== undefined)
          void tx.objectStore('tasks').put({ id: task.id, studio, touchedAt: task.touchedAt, state: task.state });
        else if (task) void tx.objectStore('tasks').delete(task.id);
        if (draftDone !== undefined) void tx.objectStore('drafts').delete(draftDone);
        await tx.done;
        return done.rows;
      } catch (e) {
        try {
          tx.abort();
        } catch {
          // it has ended already
        }
        await tx.done.catch(() => {});
        throw e;
      }
    });
  }

  /** The tasks that are open in this studio, the one touched last first. */
  async tasks(): Promise<KeptTask[]> {
    const all = await this.with((db) => db.getAll('tasks'));
    return all.filter((t) => t.studio === this.device.studio && !t.filed).sort((a, b) => b.touchedAt - a.touchedAt);
  }

  /** Files a task as unfinished. It is kept. */
  async fileTask(id: string): Promise<void> {
    await this.with(async (db) => {
      const task = await db.get('tasks', id);
      if (task) await db.put('tasks', { ...task, filed: true });
    });
  }

  async saveDraft(draft: Omit<TextDraft, 'studio'>): Promise<void> {
    await this.with((db) => db.put('drafts', { ...draft, studio: this.device.studio }));
  }

  async dropDraft(key: string): Promise<void> {
    await this.with((db) => db.delete('drafts', key));
  }

  async drafts(): Promise<TextDraft[]> {
    return (await this.with((db) => db.getAll('drafts'))).filter((d) => d.studio === this.device.studio);
  }

  async savePhoto(photo: Photo): Promise<void> {
    await this.with(async (db) => {
      if (!(await db.get('photos', photo.sha256))) await db.add('photos', photo);
    });
  }

  async photo(sha256: string): Promise<Photo | undefined> {
    return this.with((db) => db.get('photos', sha256));
  }

  async phone(): Promise<Phone | undefined> {
    return this.with((db) => db.get('phones', this.device.studio));
  }

  async counts(): Promise<Counts> {
    const { studio } = this.device;
    return this.with(async (db) => {
      const tx = db.transaction(['outbox', 'needs', 'phones']);
      const [waiting, needs, phone] = await Promise.all([
        tx.objectStore('outbox').count(IDBKeyRange.bound([studio, '', 0], [studio, '￿', Number.MAX_SAFE_INTEGER])),
        tx.objectStore('needs').index('studio').count(studio),
        tx.objectStore('phones').get(studio),
      ]);
      return { waiting, needs, copies: phone?.copies ?? 0, copiedAt: phone?.copiedAt ?? 0 };
    });
  }

  async needs(): Promise<Needed[]> {
    return this.with((db) => db.getAllFromIndex('needs', 'studio', this.device.studio));
  }

  async dropNeed(key: number): Promise<void> {
    await this.with((db) => db.delete('needs', key));
  }

  /** A copy was saved: counting starts anew. */
  async copied(nowMs: number): Promise<void> {
    await this.with(async (db) => {
      const tx = db.transaction('phones', 'readwrite');
      const phone = await tx.store.get(this.device.studio);
      if (phone) void tx.store.put({ ...phone, copies: 0, copiedAt: nowMs });
      await tx.done;
    });
  }

  /** Every row of the studio, in order of its key, a page at a time. */
  async *pages(size = 1000): AsyncGenerator<Row[]> {
    const { studio } = this.device;
    let from: IDBKeyRange = IDBKeyRange.bound([studio, '', ''], [studio, '￿', '￿']);
    for (;;) {
      const rows = await this.with((db) => db.getAll('records', from, size));
      if (rows.length > 0) yield rows;
      const last = rows.at(-1);
      if (rows.length < size || !last) return;
      from = IDBKeyRange.bound([studio, last.kind, last.id], [studio, '￿', '￿'], true);
    }
  }

  async outbox(most = 5000): Promise<Pending[]> {
    const phone = await this.phone();
    if (!phone) return [];
    const range = IDBKeyRange.bound(
      [phone.studio, phone.replica, 0],
      [phone.studio, phone.replica, Number.MAX_SAFE_INTEGER],
    );
    return this.with((db) => db.getAll('outbox', range, most));
  }
}

/** Every store of the database, for code that needs one transaction over all of it. */
export const allStores = readStores;

export function freshPhone(studio: string): Phone {
  const none = '0'.repeat(64);
  return {
    studio,
    replica: newId(),
    acked: 0,
    ackedChain: none,
    last: 0,
    lastChain: none,
    clock: [0, 0],
    c: {},
    voids: [],
    purged: [],
    cursors: {},
    copies: 0,
    copiedAt: 0,
  };
}
