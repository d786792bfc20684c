import 'fake-indexeddb/auto';
import { readFileSync } from 'node:fs';
import { openDB } from 'idb';
import { expect, test } from 'vitest';
import { newId } from '../sync/ops';
import { fromBase64 } from '../sync/statefile';
import { databaseVersion } from './db';
import { openStore } from './store';

type Kept = {
  version: number;
  tables: {
    name: string;
    keyPath: string | string[];
    indexes: { name: string; keyPath: string[] }[];
    rows: Stored[];
  }[];
};
type Stored = { [field: string]: unknown; bytes?: { base64: string } };

/** A database as a release kept it, out of testdata/golden. It is never written anew. */
async function restore(version: number): Promise<{ name: string; kept: Kept }> {
  const path = new URL(`../../../testdata/golden/database-${version}.json`, import.meta.url);
  const kept = JSON.parse(readFileSync(path, 'utf8')) as Kept;
  const name = `release ${version}`;
  const db = await openDB(name, kept.version, {
    upgrade(db) {
      for (const { name, keyPath, indexes, rows } of kept.tables) {
        const table = db.createObjectStore(name, { keyPath });
        for (const index of indexes) table.createIndex(index.name, index.keyPath);
        for (const { bytes, ...row } of rows) {
          const raw = bytes && { bytes: fromBase64(bytes.base64).buffer };
          void table.put({ ...row, ...raw });
        }
      }
    },
  });
  db.close();
  return { name, kept };
}

const versions = Array.from({ length: databaseVersion }, (_, i) => i + 1);

test.each(versions)('a database of version %i opens with everything in it, and goes on', async (version) => {
  const { name, kept } = await restore(version);
  const rows = (table: string) => kept.tables.find((t) => t.name === table)?.rows ?? [];
  const store = await openStore(name);
  expect(store.device.name).toBe('Ines');
  const seen: unknown[] = [];
  for await (const page of store.pages()) seen.push(...page);
  const inBlocks = rows('blocks').flatMap(({ text }) => JSON.parse(String(text)) as unknown[]);
  expect(inBlocks.length > 0).toBe(version >= 2);
  expect(seen).toHaveLength(rows('records').length + inBlocks.length);
  expect(seen.length).toBeGreaterThan(4);
  expect(await store.counts()).toMatchObject({ waiting: rows('outbox').length, needs: 1, photosWaiting: 1 });
  const machine = await store.meta<string>('machine');
  expect(await store.under('change', `top:${machine}`, 9)).toHaveLength(1);
  expect((await store.drafts()).map((d) => d.text)).toEqual(['half a sentence']);
  expect(await store.tasks()).toHaveLength(1);
  const [sum = ''] = await store.photoWork(store.device.studio, 'up', 9);
  expect((await store.photo(sum))?.bytes.byteLength).toBe(7);

  const { server } = (await store.phone()) ?? { server: '' };
  const before = await store.nextRequest(store.device.studio, server);
  expect(before.ops.map((text) => (JSON.parse(text) as { n: number }).n)).toEqual([4, 5, 6]);
  await store.write([{ kind: 'note', id: newId(), set: { text: 'written since' } }], Date.now());
  const [need] = await store.needs();
  await store.retryNeed(need?.key ?? 0, Date.now());
  const after = await store.nextRequest(store.device.studio, server);
  expect(after.ops.slice(0, 3)).toEqual(before.ops);
  expect(after.ops).toHaveLength(5);
  await store.close();
});
