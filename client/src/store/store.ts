/**
 * The phone's own store: everything a studio has on this phone. What a person did is on disk when a promise here
 * resolves, and the network is never on that path. Every failure is a StoreError.
 */
import { withBlocks } from './blocks';
import { type Codes, codes } from './codes';
import type { Copies } from './copies';
import { type Counting, counting } from './counts';
import { type Hooks as DbHooks, databaseName, openEngine } from './db';
import { type Drafts, drafts } from './drafts';
import type { Exchange } from './exchange';
import type { Change, Device, Home } from './home';
import { type Needs, needs } from './needs';
import { type News, newsTo } from './news';
import { type Photos, photos } from './photos';
import { type Records, records } from './records';
import { type Studios, studios } from './studios';
import type { Engine } from './tables';
import { type Tasks, tasks } from './tasks';
import { type Writing, writing } from './write';

export type { Opened, Seen, Told } from './copies';
export type { Counts } from './counts';
export { StoreError } from './errors';
export type { Took } from './exchange';
export type { Change, Device } from './home';
export type { StudioHere } from './studios';
export type { KeptTask, Link, Needed, Phone, Photo, Row, TextDraft } from './tables';
export type { Act, Draft, TaskWrite } from './write';

export type Store = Studios &
  Records &
  Writing &
  Drafts &
  Tasks &
  Photos &
  Needs &
  Counting &
  Copies &
  Codes &
  Exchange & {
    /** What belongs to this browser, as it was read or saved last. */
    readonly device: Device;
    /** Calls back after each change of records, ours, the studio's or another tab's. Returns how to stop it. */
    onChange(listener: (change: Change) => void): () => void;
    close(): Promise<void>;
  };

export type Hooks = DbHooks & {
  /** Minutes east of UTC, here and now. */
  zone?(): number;
  /** Other tabs of this browser, where it can tell them. */
  news?: News;
};

/** Opens the store of this browser. Throws StoreError. */
export async function openStore(name: string = databaseName, hooks: Hooks = {}): Promise<Store> {
  return storeOver(await openEngine(name, hooks), { news: newsTo(name), ...hooks });
}

export const Store = { open: openStore };

/** A store over any engine. */
export async function storeOver(raw: Engine, { zone = here, news }: Hooks = {}): Promise<Store> {
  const engine = withBlocks(raw);
  const listeners = new Set<(change: Change) => void>();
  const tell = (change: Change) => {
    for (const listener of listeners) queueMicrotask(() => listener(change)); // what it does is no part of the write
  };
  const home: Home = {
    engine,
    device: { studio: '', person: '', name: '', settings: {} },
    zone,
    changed: (change) => {
      tell(change);
      news?.post(change);
    },
  };
  news?.listen((change) => tell({ ...change, by: 'other-tab' }));
  const kept = await engine.run(['meta'], 'read', (tx) => tx.get('meta', 'device'));
  if (kept) home.device = kept.value as Device;
  const { makeRoom, ...pictures } = photos(home);
  const pen = writing(home, makeRoom);
  const parts = {
    ...studios(home),
    ...records(home),
    ...pen,
    ...drafts(home),
    ...tasks(home),
    ...pictures,
    ...needs(home),
    ...counting(home),
    ...codes(home),
    ...copiesLater(() => import('./copies').then((m) => m.copies(home, pen.unsaved))),
    ...exchangeLater(() => import('./exchange').then((m) => m.exchange(home))),
    onChange: (listener: (change: Change) => void) => {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
    close: async () => {
      news?.close();
      await engine.close();
    },
  };
  return Object.defineProperty(parts, 'device', { get: () => home.device }) as typeof parts & { device: Device };
}

const here = () => -new Date().getTimezoneOffset() || 0; // never -0

/** What a phone alone does not use comes with its first use, so that the first screen does not wait for it. */
function exchangeLater(load: () => Promise<Exchange>): Exchange {
  return {
    nextRequest: async (...a) => (await load()).nextRequest(...a),
    take: async (...a) => (await load()).take(...a),
  };
}

function copiesLater(load: () => Promise<Copies>): Copies {
  return {
    exportCopy: async (...a) => (await load()).exportCopy(...a),
    copied: async (...a) => (await load()).copied(...a),
    lookAtCopy: async (...a) => (await load()).lookAtCopy(...a),
    openCopy: async (...a) => (await load()).openCopy(...a),
    copyStudio: async (...a) => (await load()).copyStudio(...a),
    kindsOf: async (...a) => (await load()).kindsOf(...a),
  };
}
