import 'fake-indexeddb/auto';
import { deleteDB } from 'idb';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { newId } from '../sync/ops';
import { Store, StoreError } from './store';

let n = 0;
let name = '';
let store: Store;
beforeEach(async () => {
  name = `test-${++n}`;
  store = await Store.open(name);
  await store.startStudio('');
});
afterEach(async () => {
  await store.close();
  await deleteDB(name);
});

const value = async (kind: string, id: string, field: string) =>
  (await store.get(kind, id))?.fields[field]?.live[0]?.value;

describe('writing', () => {
  test('is there after the browser was closed', async () => {
    const id = newId();
    await store.write([{ kind: 'note', id, set: { text: 'tight on top' } }], 1000);
    await store.close();
    store = await Store.open(name);
    expect(await value('note', id, 'text')).toBe('tight on top');
    expect((await store.counts()).waiting).toBe(1);
  });

  test('replaces what is shown, and is numbered without a gap', async () => {
    const id = newId();
    await store.write([{ kind: 'note', id, set: { text: 'a' } }], 1000);
    await store.write([{ kind: 'note', id, set: { text: 'b' } }], 1000);
    expect((await store.get('note', id))?.fields.text?.live).toHaveLength(1);
    expect((await store.outbox()).map((p) => p.n)).toEqual([1, 2]);
  });

  test('of a task and its records is one act: a refusal leaves neither', async () => {
    const id = newId();
    const task = { id: 't', touchedAt: 1, state: { step: 'one' } };
    const long = 'x'.repeat(20_001);
    await expect(store.write([{ kind: 'note', id, set: { text: long } }], 1, task)).rejects.toThrow(StoreError);
    expect(await store.get('note', id)).toBeUndefined();
    expect(await store.tasks()).toEqual([]);
    expect((await store.counts()).waiting).toBe(0);
    await store.write([{ kind: 'note', id, set: { text: 'fits' } }], 1, task);
    expect((await store.tasks()).map((t) => t.state)).toEqual([{ step: 'one' }]);
    expect((await store.outbox()).map((p) => p.n)).toEqual([1]);
  });

  test('by two tabs at once gives two numbers', async () => {
    const other = await Store.open(name);
    await Promise.all(
      [store, other, store, other].map((s, i) => s.write([{ kind: 'note', id: newId(), set: { text: `${i}` } }], 1000)),
    );
    expect((await store.outbox()).map((p) => p.n)).toEqual([1, 2, 3, 4]);
    await other.close();
  });

  test('repairs text that no record can hold', async () => {
    const id = newId();
    await store.write([{ kind: 'note', id, set: { text: 'a\ud800b', n: -0 } }], 1);
    expect(await value('note', id, 'text')).toBe('a�b');
  });
});

test('a machine is read by its own rows, newest last, and never all', async () => {
  const machine = newId();
  for (let i = 0; i < 30; i++)
    await store.write(
      [{ kind: 'event', id: newId(), set: { machine: i % 2 ? machine : newId(), type: 'good', n: i } }],
      1000 + i,
    );
  const rows = await store.under('event', machine, 5);
  expect(rows.map((r) => r.fields.n?.live[0]?.value)).toEqual([21, 23, 25, 27, 29]);
});

test('a lost connection is opened again', async () => {
  const id = newId();
  await store.close();
  await store.write([{ kind: 'note', id, set: { text: 'after' } }], 1);
  expect(await value('note', id, 'text')).toBe('after');
});

test('drafts and tasks are kept, tasks filed but not deleted', async () => {
  await store.saveDraft({ key: 'k', kind: 'note', id: 'i', field: 'text', text: 'half a', at: 1 });
  expect((await store.drafts()).map((d) => d.text)).toEqual(['half a']);
  await store.write([], 1, { id: 'a', touchedAt: 5, state: {} });
  await store.write([], 1, { id: 'b', touchedAt: 9, state: {} });
  expect((await store.tasks()).map((t) => t.id)).toEqual(['b', 'a']);
  await store.fileTask('b');
  expect((await store.tasks()).map((t) => t.id)).toEqual(['a']);
  await store.write([], 1, { id: 'a', touchedAt: 5 });
  expect(await store.tasks()).toEqual([]);
});

test('pages give every row once', async () => {
  for (let i = 0; i < 25; i++) await store.write([{ kind: 'note', id: newId(), set: { text: `${i}` } }], i);
  const seen = new Set<string>();
  for await (const page of store.pages(10)) for (const r of page) seen.add(r.id);
  expect(seen.size).toBe(25);
});
