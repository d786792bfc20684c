/** What the page benchmark runs of the program itself, in Node (filling a server) and inside the browser (a phone). */

import { memoryEngine } from '../src/store/memory';
import { openStore, type Store, storeOver } from '../src/store/store';
import { newId } from '../src/sync/ops';
import { mostAtOnce } from '../src/sync/replication';
import { round } from '../src/sync/round';
import { newKeyPair, publicKeyText } from '../src/sync/sign';
import { type Joined, transport } from '../src/sync/transport';
import { bookOf, type Entry, linesOf } from './book';

export { adviceTimes } from './advice-time';

type Web = ReturnType<typeof transport>;

/** A phone with a key, at the server with that address, '' for the page's own. */
async function caller(
  base: string,
): Promise<{ web: Web; joined(j: Joined): void; phone: { key: string; label: string } }> {
  const keys = await newKeyPair();
  let phone = '';
  const web = transport(async () => (phone ? { phone, key: keys.privateKey } : undefined), base);
  const me = { key: await publicKeyText(keys.publicKey), label: 'bench' };
  return {
    web,
    phone: me,
    joined: (j) => {
      phone = j.phone;
    },
  };
}

async function exchangeAll(store: Store, web: Web, studio: string): Promise<void> {
  await round({
    ...{ store, transport: web, studio, size: { most: mostAtOnce } },
    ...{ now: Date.now, photoFailed: new Map(), signal: new AbortController().signal, took: () => {} },
  });
}

const link = (j: Joined) => ({
  ...{ server: j.server, studioName: j.studio.name, phone: j.phone, person: j.person, role: j.role, joinedAt: 1 },
});

const kinds = { book: bookOf, lines: linesOf };
export type Kind = keyof typeof kinds;

async function write(store: Store, all: readonly Entry[], now: number): Promise<void> {
  for (let i = 0; i < all.length; i += 500)
    await store.write(
      all.slice(i, i + 500).map(({ at, ...draft }) => ({ ...draft, at: [at, 0] as const })),
      now,
    );
}

/** Claims an empty server and sends it a book. Gives a code by which so many more phones can join. */
export async function fill(base: string, claim: string, kind: Kind, size: number, phones: number): Promise<string[]> {
  const store = await storeOver(memoryEngine(), { zone: () => 60 });
  await store.startStudio('Ines');
  const { studio } = store.device;
  await write(store, kinds[kind](size, Date.now()), Date.now());
  const { web, joined, phone } = await caller(base);
  const person = { id: store.device.person, name: 'Ines' };
  const j = await web.claim({ code: claim, person, phone, studio: { id: studio, name: 'Lantern Lane' } });
  joined(j);
  await store.saveLink(studio, link(j));
  await exchangeAll(store, web, studio);
  const codes: string[] = [];
  while (codes.length < phones) codes.push((await web.invite(studio, { kind: 'person', role: 'operator' })).code);
  return codes;
}

export type CaughtUp = {
  records: number;
  ms: number;
  storeMs: number;
  askMs: number;
  requests: number;
  textBytes: number;
};

/** A fresh phone joins and reads everything into its database. */
export async function catchUp(code: string, name: string, stays = false): Promise<CaughtUp> {
  const store = await openStore(name);
  const { web, joined, phone } = await caller('');
  const j = await web.join({ code, phone, person: { id: newId(), name: 'Bea' } });
  joined(j);
  await store.saveLink(j.studio.id, link(j));
  await store.enterStudio(j.studio.id);
  await web.signIn();
  const spent = { ask: 0, take: 0 };
  let requests = 0;
  const timed =
    <A extends unknown[], T>(part: keyof typeof spent, act: (...a: A) => Promise<T>) =>
    async (...a: A): Promise<T> => {
      const began = performance.now();
      const done = await act(...a);
      spent[part] += performance.now() - began;
      return done;
    };
  const seen = { ...store, nextRequest: timed('ask', store.nextRequest), take: timed('take', store.take) } as Store;
  const counted = { ...web };
  counted.exchange = (...a) => {
    requests++;
    return web.exchange(...a);
  };
  const began = performance.now();
  await exchangeAll(seen, counted, j.studio.id);
  const ms = performance.now() - began;
  const { records, textBytes } = await all(store);
  if (!stays) {
    await store.close();
    await deleted(name);
  }
  return { records, ms, storeMs: spent.take, askMs: spent.ask, requests, textBytes };
}

async function all(store: Store): Promise<{ records: number; textBytes: number }> {
  let records = 0;
  let textBytes = 0;
  for await (const page of store.pages(5000)) {
    records += page.length;
    textBytes += JSON.stringify(page).length;
  }
  return { records, textBytes };
}

const deleted = (name: string) =>
  new Promise<void>((ok, no) => {
    const request = indexedDB.deleteDatabase(name);
    request.onsuccess = () => ok();
    request.onerror = () => no(request.error);
  });

/** The floor of catching up: so many bytes of text put into a database of their own, in pieces; and as one row a record. */
export async function floorOfPut(bytes: number, pieces: number): Promise<number> {
  const name = 'floor';
  const db = await new Promise<IDBDatabase>((ok, no) => {
    const request = indexedDB.open(name, 1);
    request.onupgradeneeded = () => request.result.createObjectStore('rows', { keyPath: 'n' });
    request.onsuccess = () => ok(request.result);
    request.onerror = () => no(request.error);
  });
  const one = 'x'.repeat(Math.ceil(bytes / pieces));
  const began = performance.now();
  const tx = db.transaction('rows', 'readwrite', { durability: 'relaxed' });
  for (let n = 0; n < pieces; n++) tx.objectStore('rows').put({ n, text: one });
  await new Promise<void>((ok, no) => {
    tx.oncomplete = () => ok();
    tx.onabort = () => no(tx.error);
  });
  const ms = performance.now() - began;
  db.close();
  await deleted(name);
  return ms;
}

/** Makes this browser a phone that was alone for years: a book of its own, none of it sent. */
export async function alone(size: number): Promise<void> {
  const store = await openStore();
  await store.startStudio('Ines');
  await write(store, bookOf(size, Date.now()), Date.now());
  await store.saveDevice({ ...store.device, name: 'Ines' });
  await store.close();
}
