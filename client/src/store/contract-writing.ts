/** For tests: what every store does, whatever it stands on: writing, reading, and what is unfinished. */
import { describe, expect, test } from 'vitest';
import { newId } from '../sync/ops';
import { type Fixture, first, kit } from './contract';
import { type Row, StoreError } from './store';

export function writingContract(over: string, make: () => Promise<Fixture>): void {
  const { note, begin, opsOf } = kit(make);

  describe(`${over}: writing`, () => {
    test('is there after the browser was closed', async () => {
      const { store, again } = await begin();
      const id = newId();
      await store.write([note('tight on top', id)], 1000);
      const later = await again();
      expect(first(await later.get('note', id), 'text')).toBe('tight on top');
      expect((await later.counts()).waiting).toBe(1);
      expect(later.device).toEqual(store.device);
    });

    test('replaces what is shown, and is numbered without a gap', async () => {
      const { store } = await begin();
      const id = newId();
      await store.write([note('a', id)], 1000);
      await store.write([note('b', id)], 1000);
      expect((await store.get('note', id))?.fields.text?.live.map((e) => e.value)).toEqual(['b']);
      expect((await opsOf(store)).map((op) => op.n)).toEqual([1, 2]);
    });

    test('beside what is shown keeps both, and picking one leaves one', async () => {
      const { store } = await begin();
      const id = newId();
      await store.write([note('mine', id)], 1000);
      await store.write([{ ...note('theirs', id), over: { text: [] } }], 2000);
      const [row] = await store.write([], 2500).then(() => store.all('note'));
      expect(row?.fields.text?.live.map((e) => e.value)).toEqual(['theirs', 'mine']);
      const dots = row?.fields.text?.live.map((e) => e.dot) ?? [];
      await store.write([{ ...note('joined', id), over: { text: dots } }], 3000);
      expect((await store.get('note', id))?.fields.text?.live.map((e) => e.value)).toEqual(['joined']);
    });

    test('says in which zone a record was made, once', async () => {
      const { store } = await begin();
      const id = newId();
      await store.write([note('a', id)], 1000);
      await store.write([note('b', id)], 2000);
      expect((await opsOf(store)).map((op) => op.set.zone)).toEqual([90, undefined]);
      expect((await store.get('note', id))?.t).toBe(1000);
    });

    test('of a task and its records is one act: a refusal leaves neither', async () => {
      const { store } = await begin();
      const id = newId();
      const task = { id: 't', touchedAt: 1, state: { step: 'one' } };
      const drafts = [note('short'), note('x'.repeat(20_001), id)];
      await expect(store.write(drafts, 1, task)).rejects.toThrow(StoreError);
      expect(await store.all('note')).toEqual([]);
      expect(await store.tasks()).toEqual([]);
      expect((await store.counts()).waiting).toBe(0);
      expect(store.unsaved()).toEqual([]); // asking again would not help
      await store.write([note('fits', id)], 1, task);
      expect((await store.tasks()).map((t) => t.state)).toEqual([{ step: 'one' }]);
      expect((await opsOf(store)).map((op) => op.n)).toEqual([1]);
    });

    test.each([
      ['a note of too many bytes', { text: '\u0001'.repeat(9000) }],
      ['a field of too many bytes', { other: 'x'.repeat(70_000) }],
      ['half a number', { turns: 0.5 }],
      ['a field with no name for one', { 'a-b': 1 }],
    ])('refuses %s', async (_name, set) => {
      const { store } = await begin();
      const refused = store.write([{ kind: 'note', id: newId(), set }], 1);
      await expect(refused).rejects.toMatchObject({ reason: 'refused' });
      expect(await store.all('note')).toEqual([]);
    });

    test('at once from many places gives each its number', async () => {
      const { store } = await begin();
      await Promise.all(Array.from({ length: 8 }, (_, i) => store.write([note(`${i}`)], 1000)));
      expect((await opsOf(store)).map((op) => op.n)).toEqual([1, 2, 3, 4, 5, 6, 7, 8]);
    });

    test('repairs text that no record can hold', async () => {
      const { store } = await begin();
      const id = newId();
      await store.write([{ kind: 'note', id, set: { text: 'a\ud800b', n: -0 } }], 1);
      const row = await store.get('note', id);
      expect(first(row, 'text')).toBe('a\ufffdb');
      expect(Object.is(first(row, 'n'), 0)).toBe(true);
    });

    test.each(['full', 'lost'] as const)(
      'on a phone that is %s leaves nothing half done and the words in memory',
      async (reason) => {
        const { store, fail } = await begin();
        const task = { id: 't', touchedAt: 2, state: 'two' };
        await store.write([note('before')], 1, { id: 't', touchedAt: 1, state: 'one' });
        if (reason === 'lost') fail('lost'); // it is tried twice
        fail(reason);
        await expect(store.write([note('lost words')], 2, task)).rejects.toMatchObject({ reason });
        expect(await store.count('note')).toBe(1);
        expect((await store.tasks()).map((t) => t.state)).toEqual(['one']);
        expect(store.unsaved().map((a) => a.drafts[0]?.set.text)).toEqual(['lost words']);
        await store.writeUnsaved();
        expect(store.unsaved()).toEqual([]);
        expect((await store.all('note')).map((r) => first(r, 'text')).sort()).toEqual(['before', 'lost words']);
        expect((await store.tasks()).map((t) => t.state)).toEqual(['two']);
        expect((await opsOf(store)).map((op) => op.n)).toEqual([1, 2]);
      },
    );

    test('that failed goes before the next one, in order, and never puts a task back', async () => {
      const { store, fail } = await begin();
      const id = newId();
      for (const n of [1, 2]) {
        fail('full');
        await store.write([note(`${n}`, id)], n, { id: 't', touchedAt: n, state: n }).catch(() => {});
      }
      const rows = await store.write([note('3', id)], 3, { id: 't', touchedAt: 3, state: 3 });
      expect(rows.map((r) => first(r, 'text'))).toEqual(['1', '2', '3']);
      expect((await store.get('note', id))?.fields.text?.live.map((e) => e.value)).toEqual(['3']);
      expect((await store.tasks()).map((t) => t.state)).toEqual([3]);
      expect((await opsOf(store)).map((op) => op.set.text)).toEqual(['1', '2', '3']);
    });

    test('waits behind those that could not be written, while they can’t', async () => {
      const { store, fail } = await begin();
      fail('full');
      await store.write([note('one')], 1).catch(() => {});
      fail('full');
      await expect(store.write([note('two')], 2)).rejects.toMatchObject({ reason: 'full' });
      expect(await store.count('note')).toBe(0);
      expect(store.unsaved().map((a) => a.drafts[0]?.set.text)).toEqual(['one', 'two']);
      await Promise.all([store.writeUnsaved(), store.write([note('three')], 3), store.writeUnsaved()]); // each once
      expect((await opsOf(store)).map((op) => op.set.text)).toEqual(['one', 'two', 'three']);
    });
  });

  describe(`${over}: reading`, () => {
    test('a machine is read by its own rows, oldest first, and never all', async () => {
      const { store } = await begin();
      const machine = newId();
      const drafts = Array.from({ length: 30 }, (_, i) => ({
        kind: 'event',
        id: newId(),
        set: { machine: i % 2 ? machine : newId(), type: 'good', i },
      }));
      for (const [i, d] of drafts.entries()) await store.write([d], 1000 + i);
      expect((await store.under('event', machine, 5)).map((r) => first(r, 'i'))).toEqual([21, 23, 25, 27, 29]);
      expect(await store.under('event', newId(), 5)).toEqual([]);
      expect(await store.count('event')).toBe(30);
      expect(await store.all('note')).toEqual([]);
    });

    test('pages give every row once, of some kinds where asked', async () => {
      const { store } = await begin();
      for (let i = 0; i < 25; i++) await store.write([note(`${i}`), { kind: 'notes', id: newId(), set: { i } }], i);
      const ids = async (pages: AsyncGenerator<Row[]>) => {
        const seen: string[] = [];
        for await (const page of pages) for (const r of page) seen.push(`${r.kind}/${r.id}`);
        expect(new Set(seen).size).toBe(seen.length);
        return seen.length;
      };
      expect(await ids(store.pages(10))).toBe(50);
      expect(await ids(store.pages(10, ['note']))).toBe(25);
      expect(await ids(store.pages(25, ['note', 'none']))).toBe(25);
    });

    test('tells who listens what changed', async () => {
      const { store } = await begin();
      const heard: unknown[] = [];
      const stop = store.onChange((change) => heard.push(change));
      const id = newId();
      await store.write([note('a', id)], 1);
      stop();
      await store.write([note('b', id)], 2);
      expect(heard).toEqual([{ by: 'us', studio: store.device.studio, keys: [`note/${id}`] }]);
    });
  });

  describe(`${over}: what is unfinished`, () => {
    test('drafts are kept, and leave with the record they became', async () => {
      const { store, again } = await begin();
      await store.saveDraft({ key: 'k', kind: 'note', id: 'i', field: 'text', text: 'half', at: 1 });
      await store.saveDraft({ key: 'k', kind: 'note', id: 'i', field: 'text', text: 'half a', at: 2 });
      const later = await again();
      expect((await later.drafts()).map((d) => d.text)).toEqual(['half a']);
      await later.write([note('half a')], 3, undefined, 'k');
      expect(await later.drafts()).toEqual([]);
    });

    test('tasks are kept, filed but not deleted, and end with their last act', async () => {
      const { store } = await begin();
      await store.write([], 1, { id: 'a', touchedAt: 5, state: {} });
      await store.write([], 1, { id: 'b', touchedAt: 9, state: {} });
      expect((await store.tasks()).map((t) => t.id)).toEqual(['b', 'a']);
      await store.fileTask('b');
      expect((await store.tasks()).map((t) => t.id)).toEqual(['a']);
      expect((await store.filed()).map((t) => t.id)).toEqual(['b']);
      await store.write([], 1, { id: 'a', touchedAt: 5 });
      expect(await store.tasks()).toEqual([]);
    });

    test('things since the last copy are records, not writes', async () => {
      const { store } = await begin();
      const id = newId();
      await store.write([note('a', id)], 1);
      await store.write([note('b', id), note('c')], 2);
      expect(await store.counts()).toMatchObject({ copies: 2, copiedAt: 0 });
      await store.exportCopy(5); // and not kept: the person closed the sheet
      await store.write([note('b', id)], 5);
      expect((await store.counts()).copies).toBe(2);
      await store.exportCopy(6);
      await store.write([note('e')], 6); // while the file is being saved
      await store.copied(7);
      expect(await store.counts()).toMatchObject({ copies: 1, copiedAt: 7 });
      await store.write([note('d', id)], 8);
      expect((await store.counts()).copies).toBe(2);
    });
  });
}
