/** The one database: its tables, its upgrades, and what to do when the browser takes it away. */
import { type DBSchema, type IDBPDatabase, type IDBPTransaction, type IndexNames, openDB, unwrap } from 'idb';
import { failure, StoreError } from './errors';
import type { Engine, How, Key, Span, Table, Tables, Tx } from './tables';

export const databaseName = 'evenpull';
/** Upgrades only add. A database of each released number opens in the tests. */
export const databaseVersion = 2;

type Schema = DBSchema & {
  [T in Table]: { key: IDBValidKey; value: Tables[T]; indexes: { byParent: IDBValidKey } };
};
type Db = IDBPDatabase<Schema>;

export type Hooks = {
  /** Another tab holds an older database open: the person must close it. */
  onBlocked?(): void;
};

/** Opens the database. Throws StoreError: 'newer' for one of a later version, 'lost' where there is none to be had. */
export async function openEngine(name = databaseName, hooks: Hooks = {}): Promise<Engine> {
  let handle = open(name, hooks, forget);
  /** A dead handle: the next act opens anew. */
  function forget() {
    handle = open(name, hooks, forget);
    handle.catch(() => {}); // who uses it is told
  }
  await handle;
  return {
    async run(tables, how, work) {
      const used = handle;
      try {
        return await inTransaction(await used, tables, how, work);
      } catch (e) {
        if (!(e instanceof StoreError) || e.reason !== 'lost') throw e;
      }
      if (handle === used) forget();
      return inTransaction(await handle, tables, how, work);
    },
    close: async () => (await handle).close(),
  };
}

/** A tab that sleeps can't say that it is in the way, and the browser tells nobody: then this long is waited (1.5 s). */
const silentMs = 1500;

async function open(name: string, hooks: Hooks, gone: () => void): Promise<Db> {
  let opened = false;
  const asleep = setTimeout(async () => {
    const all = (await indexedDB.databases?.().catch(() => [])) ?? [];
    if (!opened && all.some((d) => d.name === name && (d.version ?? 0) < databaseVersion)) hooks.onBlocked?.();
  }, silentMs);
  try {
    const db = await openDB<Schema>(name, databaseVersion, {
      upgrade(db, from) {
        if (from < 1) {
          db.createObjectStore('records', { keyPath: ['studio', 'kind', 'id'] }).createIndex('byParent', [
            'studio',
            'kind',
            'parent',
            't',
          ]);
          db.createObjectStore('outbox', { keyPath: ['studio', 'n'] });
          db.createObjectStore('phones', { keyPath: 'studio' });
          db.createObjectStore('needs', { keyPath: ['studio', 'key'] });
          db.createObjectStore('drafts', { keyPath: ['studio', 'key'] });
          db.createObjectStore('tasks', { keyPath: ['studio', 'id'] });
          db.createObjectStore('photos', { keyPath: ['studio', 'sha256'] });
          db.createObjectStore('photoWork', { keyPath: ['studio', 'sha256'] });
          db.createObjectStore('meta', { keyPath: 'key' });
        }
        if (from < 2) {
          db.createObjectStore('heads', { keyPath: ['studio', 'name'] });
          db.createObjectStore('blocks', { keyPath: ['studio', 'name'] });
        }
      },
      blocked: () => hooks.onBlocked?.(),
      blocking(_current, _wanted, event) {
        (event.target as IDBDatabase).close(); // lets the other tab upgrade; the next act here opens anew
        gone();
      },
      terminated: gone,
    });
    return db;
  } catch (e) {
    const f = failure(e);
    throw f instanceof StoreError ? f : new StoreError('lost', e);
  } finally {
    opened = true;
    clearTimeout(asleep);
  }
}

async function inTransaction<T>(db: Db, tables: readonly Table[], how: How, work: (tx: Tx) => Promise<T>): Promise<T> {
  let tx: IDBPTransaction<Schema, Table[], 'readwrite'>;
  try {
    // Typed as one that writes: a transaction that was opened to read refuses writes by itself.
    tx = db.transaction([...tables], how === 'read' ? ('readonly' as 'readwrite') : 'readwrite', {
      durability: how === 'write' ? 'strict' : 'relaxed',
    });
  } catch (e) {
    throw failure(e);
  }
  tx.done.catch(() => {}); // awaited below, but maybe not before it fails
  try {
    const result = await work(overIdb(tx));
    if (how === 'read') return result;
    try {
      tx.commit(); // not to wait for the answer to each write first
    } catch {
      // it has ended already, well or not
    }
    await tx.done;
    return result;
  } catch (e) {
    try {
      tx.abort();
    } catch {
      // it has ended already
    }
    await tx.done.catch(() => {});
    throw failure(tx.error ?? e);
  }
}

function overIdb(tx: IDBPTransaction<Schema, Table[], 'readwrite'>): Tx {
  const bare = unwrap(tx); // for what nobody waits for: a write that fails fails the transaction, which tells
  const own: Tx = {
    get: (table, key) => tx.objectStore(table).get(asKey(key)) as Promise<never>,
    getMany: (table, keys) => Promise.all(keys.map((key) => own.get(table, key))),
    list: async (table, span, { most, newest } = {}) => {
      const store = tx.objectStore(table);
      if (!newest) return (await store.getAll(rangeOf(span), most)) as never[];
      // Where the oldest of them stands, then all from there at once: one by one they take many times as long.
      const index = store.index('byParent' as IndexNames<Schema, Table>);
      const skip = Math.min(most ?? 0, 2 ** 31) - 1;
      let first = skip >= 0 ? await index.openKeyCursor(rangeOf(span), 'prev') : null;
      if (skip > 0) first = (await first?.advance(skip)) ?? null;
      const from = first ? { ...span, from: first.key as Key } : span;
      const rows = (await index.getAll(rangeOf(from))).reverse() as never[];
      return rows.slice(0, most);
    },
    keys: (table, span, most) => tx.objectStore(table).getAllKeys(rangeOf(span), most) as Promise<Key[]>,
    count: (table, span) => tx.objectStore(table).count(rangeOf(span)),
    put: (table, row) => void bare.objectStore(table).put(row),
    putMany: async (table, rows) => {
      const store = bare.objectStore(table);
      for (const row of rows) store.put(row);
    },
    remove: (table, which) => void bare.objectStore(table).delete(isSpan(which) ? rangeOf(which) : asKey(which)),
  };
  return own;
}

const isSpan = (which: Key | Span): which is Span => typeof which === 'object' && 'from' in which;
const asKey = (key: Key) => key as IDBValidKey;
const rangeOf = ({ from, to, after }: Span) => IDBKeyRange.bound(asKey(from), asKey(to), after ?? false);
