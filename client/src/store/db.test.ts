import 'fake-indexeddb/auto';
import { forceCloseDatabase } from 'fake-indexeddb';
import { openDB } from 'idb';
import { describe, expect, test, vi } from 'vitest';
import { newId } from '../sync/ops';
import { answerTo, server } from './contract';
import { databaseVersion, openEngine } from './db';
import { memoryEngine } from './memory';
import { openStore, type Store, storeOver } from './store';
import type { Engine, How } from './tables';

let n = 0;
const fresh = () => `db-${++n}`;
const note = (text: string) => ({ kind: 'note', id: newId(), set: { text } });
const texts = async (store: Store) =>
  (await store.all('note')).map((r) => r.fields.text?.live[0]?.value as string).sort();

describe('the browser', () => {
  test('takes the connection away: the next act opens it again', async () => {
    const store = await openStore(fresh());
    await store.startStudio('');
    await store.close();
    await store.write([note('after')], 1);
    expect(await texts(store)).toEqual(['after']);
  });

  test('ends the connection by itself, as iOS does: the next act opens it again', async () => {
    const opened = vi.spyOn(indexedDB, 'open');
    const store = await openStore(fresh());
    const handle = (opened.mock.results.at(0) as { value: IDBOpenDBRequest }).value.result;
    await store.startStudio('');
    const told = new Promise((resolve) => handle.addEventListener('close', resolve));
    forceCloseDatabase(handle as never);
    await told;
    expect(opened).toHaveBeenCalledTimes(2); // not only when it is missed
    await store.write([note('after')], 1);
    expect(await texts(store)).toEqual(['after']);
    vi.restoreAllMocks();
  });

  test('takes it away in the middle of an act: the act is done once', async () => {
    const name = fresh();
    const store = await openStore(name);
    await store.startStudio('');
    const real = IDBObjectStore.prototype.get;
    let cut = 0;
    IDBObjectStore.prototype.get = function (this: IDBObjectStore, key: IDBValidKey) {
      const request = real.call(this, key);
      if (this.name === 'phones' && cut++ === 0) {
        this.transaction.abort();
        this.transaction.db.close();
      }
      return request;
    };
    try {
      await store.write([note('once')], 1);
    } finally {
      IDBObjectStore.prototype.get = real;
    }
    expect(cut).toBe(2);
    expect(await texts(store)).toEqual(['once']);
    expect((await store.counts()).waiting).toBe(1);
  });

  test('ends at any write of an act: all of it is there or none', async () => {
    const real = IDBObjectStore.prototype.put;
    let points = 0;
    for (let at = 1; ; at++) {
      const store = await openStore(fresh());
      await store.startStudio('');
      await store.write([note('before')], 1, { id: 't', touchedAt: 1, state: 1 });
      let puts = 0;
      IDBObjectStore.prototype.put = function (this: IDBObjectStore, value: unknown) {
        if (++puts >= at) throw new DOMException('gone', 'UnknownError'); // here and at the second try
        return real.call(this, value);
      };
      const done = await store.write([note('a'), note('b')], 2, { id: 't', touchedAt: 2, state: 2 }).then(
        () => true,
        () => false,
      );
      IDBObjectStore.prototype.put = real;
      if (done) break;
      points++;
      expect(await texts(store)).toEqual(['before']);
      expect((await store.tasks()).map((t) => t.state)).toEqual([1]);
      expect((await store.counts()).waiting).toBe(1);
      await store.writeUnsaved();
      expect(await texts(store)).toEqual(['a', 'b', 'before']);
      await store.close();
    }
    expect(points).toBe(6); // phone, two records, two ops, task
  });

  test('has a database of a later version', async () => {
    const name = fresh();
    (await openDB(name, databaseVersion + 1)).close();
    await expect(openStore(name)).rejects.toMatchObject({ reason: 'newer' });
  });

  test('has none to give', async () => {
    vi.stubGlobal('indexedDB', undefined);
    await expect(openStore(fresh())).rejects.toMatchObject({ reason: 'lost' });
    vi.unstubAllGlobals();
  });
});

describe('two tabs', () => {
  test('write by turns under one counter and hear of each other', async () => {
    const name = fresh();
    const a = await openStore(name);
    await a.startStudio('');
    const b = await openStore(name);
    await Promise.all([a, b, a, b].map((s, i) => s.write([note(`${i}`)], 1000)));
    expect((await a.phone())?.meta.last).toBe(4);
    expect((await b.counts()).waiting).toBe(4); // a number given twice would be one op less
    const other = new Promise((resolve) => b.onChange((c) => c.by === 'other-tab' && resolve(c)));
    await a.write([note('from a')], 2000);
    expect(await other).toMatchObject({ by: 'other-tab', studio: a.device.studio });
    await a.close();
    await b.close();
  });

  test('an old one gives way to an upgrade, and then says that it is old', async () => {
    const name = fresh();
    const old = await openStore(name);
    await old.startStudio('');
    const upgraded = await openDB(name, databaseVersion + 1); // would hang if the old tab did not close
    await expect(old.write([note('late')], 1)).rejects.toMatchObject({ reason: 'newer' });
    expect(old.unsaved()).toHaveLength(1);
    upgraded.close();
  });
});

test('an upgrade that waits for another tab says so, and goes on when that tab closes', async () => {
  const name = fresh();
  const request = indexedDB.open(name, databaseVersion);
  const old = await new Promise<IDBDatabase>((resolve) => {
    request.onsuccess = () => resolve(request.result);
  });
  const real = indexedDB.open.bind(indexedDB);
  vi.spyOn(indexedDB, 'open').mockImplementation((n) => real(n, databaseVersion + 1));
  let said = 0;
  const opening = openEngine(name, { onBlocked: () => said++ });
  await vi.waitFor(() => expect(said).toBe(1));
  old.close();
  await (await opening).close();
  vi.restoreAllMocks();
});

test('an upgrade that waits for a tab that is asleep says so too, though the browser does not', async () => {
  const name = fresh();
  const old = await openDB(name, databaseVersion - 1);
  const listen = IDBOpenDBRequest.prototype.addEventListener;
  IDBOpenDBRequest.prototype.addEventListener = function (type: string, ...more: [never, never]) {
    if (type !== 'blocked') listen.call(this, type, ...more);
  };
  vi.useFakeTimers({ toFake: ['setTimeout', 'clearTimeout'] });
  try {
    let said = 0;
    const opening = openEngine(name, { onBlocked: () => said++ });
    await vi.advanceTimersByTimeAsync(2000);
    expect(said).toBe(1);
    old.close();
    await (await opening).close();
    await openEngine(name, { onBlocked: () => said++ });
    await vi.advanceTimersByTimeAsync(2000);
    expect(said).toBe(1); // one that was upgraded is in nobody's way
  } finally {
    vi.useRealTimers();
    IDBOpenDBRequest.prototype.addEventListener = listen;
  }
});

describe('the disk is waited for', () => {
  test('by what a person did and by a new name, not by what can be fetched again', async () => {
    const engine = memoryEngine();
    const hows: How[] = [];
    const store = await storeOver({
      ...engine,
      run: (tables, how, work) => {
        if (how !== 'read') hows.push(how);
        return engine.run(tables, how, work);
      },
    });
    const since = async (act: () => Promise<unknown>) => {
      hows.length = 0;
      await act();
      return hows;
    };
    await store.startStudio('');
    const { studio } = store.device;
    expect(await since(() => store.write([note('a')], 1, { id: 't', touchedAt: 1, state: 1 }))).toEqual(['write']);
    const greeting = await store.nextRequest(studio, server);
    expect(await since(() => store.take(studio, greeting, answerTo(greeting), 2))).toEqual(['bulk']);
    expect(await since(() => store.nextRequest(studio, server))).toEqual(['write']); // it turns to that server
    expect(await since(() => store.nextRequest(studio, server))).toEqual([]);
    const request = await store.nextRequest(studio, server);
    const fork = [{ replica: request.replica, n: 1, reason: 'fork', forGood: false }];
    expect(await since(() => store.take(studio, request, answerTo(request, { refused: fork }), 3))).toEqual(['write']);
    expect((await store.phone())?.meta.replica).not.toBe(request.replica);
  });
});

describe('a book of thousands of records', () => {
  /** Counts the rows that are handed out. */
  function counted(engine: Engine): Engine & { rows: number } {
    const seen = {
      ...engine,
      rows: 0,
      run: ((tables, how, work) =>
        engine.run(tables, how, (tx) =>
          work({
            ...tx,
            list: async (table, span, listing) => {
              const rows = await tx.list(table, span, listing);
              seen.rows += rows.length;
              return rows;
            },
          }),
        )) as Engine['run'],
    };
    return seen;
  }

  test.each(['memory', 'IndexedDB'])(
    'is read by machine at a start (%s)',
    async (over) => {
      const engine = counted(over === 'memory' ? memoryEngine() : await openEngine(fresh()));
      const store = await storeOver(engine, { zone: () => 0 });
      await store.startStudio('');
      const machine = newId();
      const most = over === 'memory' ? 1000 : 2000;
      for (let i = 0; i < most; i += 1000) {
        const drafts = Array.from({ length: 1000 }, (_, j) => ({
          kind: 'event',
          id: newId(),
          set: { machine: (i + j) % 100 === 0 ? machine : newId(), type: 'good' },
        }));
        await store.write(drafts, 1000 + i);
      }
      engine.rows = 0;
      const rows = await store.under('event', machine, 60);
      expect(rows).toHaveLength(most / 100);
      await store.all('machine');
      await store.tasks();
      await store.drafts();
      await store.counts();
      expect(engine.rows).toBe(rows.length);
    },
    60_000,
  );
});
