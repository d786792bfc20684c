/** The one database: its stores, its upgrades, and what to do when the browser takes it away. */
import { type DBSchema, type IDBPDatabase, openDB } from 'idb';
import type { Field, Void } from '../sync/merge';
import type { Json, Stamp } from '../sync/ops';

/** A record as it is shown (base with the outbox on top). `base` is there only while own ops on it are not acknowledged. */
export type Row = {
  studio: string;
  kind: string;
  id: string;
  parent: string;
  t: number; // ms UTC of its first write
  fields: Record<string, Field>;
  base?: Record<string, Field>;
};

/** An own op that no server acknowledged yet. */
export type Pending = {
  studio: string;
  replica: string;
  n: number;
  text: string;
  chain: string;
  kind: string;
  id: string;
};

/** Words that no server takes: shown until the person decides. */
export type Needed = { key?: number; studio: string; at: number; reason: string; text: string };

/** A text that is being typed. `base` tells which values it was typed over. */
export type TextDraft = {
  key: string;
  studio: string;
  kind: string;
  id: string;
  field: string;
  text: string;
  at: number;
};

export type KeptTask = { id: string; studio: string; touchedAt: number; filed?: boolean; state: Json };

export type Photo = { sha256: string; bytes: ArrayBuffer; type: string; sent: boolean };

/** How far one server was read. */
export type Cursor = {
  epoch: string;
  after: number;
  digest: string;
  reading: number;
  ask?: boolean;
  back?: readonly string[]; // keys still to hand back, or undefined when nothing is
  doubt?: readonly string[];
  heardAt?: number;
};

/** One writer's place in one studio. */
export type Phone = {
  studio: string;
  replica: string;
  acked: number; // own ops that a server has
  ackedChain: string; // the whole chain digest there, hex
  last: number; // own ops written
  lastChain: string;
  clock: Stamp;
  c: Record<string, readonly [n: number, short: string]>;
  voids: Void[];
  purged: string[];
  cursors: Record<string, Cursor>;
  server?: string; // the one it last talked to
  copies: number; // things written since the last copy out
  copiedAt: number;
};

export type Meta = { key: string; value: unknown };

interface Schema extends DBSchema {
  records: { key: [string, string, string]; value: Row; indexes: { byParent: [string, string, string, number] } };
  outbox: { key: [string, string, number]; value: Pending };
  phones: { key: string; value: Phone };
  needs: { key: number; value: Needed; indexes: { studio: string } };
  drafts: { key: string; value: TextDraft };
  tasks: { key: string; value: KeptTask };
  photos: { key: string; value: Photo };
  meta: { key: string; value: Meta };
}

export type Db = IDBPDatabase<Schema>;
export const databaseName = 'evenpull';
/** Upgrades only add. A database of each released number opens in the tests. */
export const databaseVersion = 1;

/** Why the store can't do what was asked; the screen has a sentence for each. */
export class StoreError extends Error {
  constructor(
    readonly reason: 'full' | 'blocked' | 'lost' | 'newer' | 'refused',
    cause?: unknown,
  ) {
    super(`store: ${reason}`, { cause });
  }
}

/** Opens the database. `onBlocked` says that another tab holds an older one open; `onGone` that this handle is dead. */
export async function openDb(name: string, hooks: { onBlocked(): void; onGone(): void }): Promise<Db> {
  try {
    return await openDB<Schema>(name, databaseVersion, {
      upgrade(db, from) {
        if (from < 1) {
          db.createObjectStore('records', { keyPath: ['studio', 'kind', 'id'] }).createIndex('byParent', [
            'studio',
            'kind',
            'parent',
            't',
          ]);
          db.createObjectStore('outbox', { keyPath: ['studio', 'replica', 'n'] });
          db.createObjectStore('phones', { keyPath: 'studio' });
          db.createObjectStore('needs', { keyPath: 'key', autoIncrement: true }).createIndex('studio', 'studio');
          db.createObjectStore('drafts', { keyPath: 'key' });
          db.createObjectStore('tasks', { keyPath: 'id' });
          db.createObjectStore('photos', { keyPath: 'sha256' });
          db.createObjectStore('meta', { keyPath: 'key' });
        }
      },
      blocked: hooks.onBlocked,
      blocking(_current, _wanted, event) {
        (event.target as IDBDatabase).close(); // let the other tab upgrade; the next act here opens anew
        hooks.onGone();
      },
      terminated: hooks.onGone,
    });
  } catch (e) {
    if (e instanceof DOMException && e.name === 'VersionError') throw new StoreError('newer', e);
    throw failure(e);
  }
}

/** A browser's error as one of ours. */
export function failure(e: unknown): unknown {
  if (!(e instanceof DOMException)) return e;
  if (e.name === 'QuotaExceededError') return new StoreError('full', e);
  if (e.name === 'InvalidStateError' || e.name === 'UnknownError' || e.name === 'AbortError')
    return new StoreError('lost', e);
  return e;
}
