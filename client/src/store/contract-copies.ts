/** For tests: what every store does, whatever it stands on: copies of a studio, and photos. */
import { describe, expect, test } from 'vitest';
import { dotOf } from '../sync/merge';
import { newId } from '../sync/ops';
import { BadFile } from '../sync/statefile';
import { broughtWords, text } from '../text/copy';
import { answerTo, type Fixture, kit, server } from './contract';
import { type Store, StoreError } from './store';

export function copiesContract(over: string, make: () => Promise<Fixture>): void {
  const { note, begin, greet, acked, opsOf } = kit(make);

  describe(`${over}: copies`, () => {
    const texts = async (store: Store) => {
      const rows = await store.all('note');
      return rows.map((r) => r.fields.text?.live.map((e) => e.value)).sort();
    };
    const two = async () => {
      const [a, b] = [await begin(), await make()];
      const id = newId();
      await a.store.write([note('first', id), note('other')], 1000);
      const file = await a.store.exportCopy(1500);
      return { a, b, id, file };
    };

    test('opened in an empty app bring the studio as it is, under a new writer', async () => {
      const { a, b, file } = await two();
      const opened = await b.store.openCopy(file, 2000);
      expect(opened).toEqual({ how: 'adopted', studio: a.store.device.studio, records: 2, photos: 0 });
      const later = await b.again();
      expect(later.device.studio).toBe(a.store.device.studio);
      expect(later.device.person).not.toBe('');
      expect((await later.all('note')).map((r) => r.fields)).toEqual((await a.store.all('note')).map((r) => r.fields));
      expect((await later.phone())?.meta.replica).not.toBe((await a.store.phone())?.meta.replica);
      expect((await later.counts()).waiting).toBe(0);
    });

    test('say whose they are: by the studio’s name, or else by its machines’, in measure', async () => {
      const { a, b } = await two();
      const of = async () => (await b.store.lookAtCopy(await a.store.exportCopy(2000), 3000)).of;
      const machine = (name: string) => ({ kind: 'machine', id: newId(), set: { name } });
      expect(await of()).toEqual([]);
      await a.store.write(
        [machine(`${'long '.repeat(40)}`), machine('Big frame'), machine('  '), machine('Third')],
        1600,
      );
      await a.store.write([machine('Fourth')], 1700);
      const names = await of();
      expect(names).toHaveLength(3);
      expect(names.every((n) => n.length <= 60)).toBe(true);
      await a.store.write([{ kind: 'studio', id: newId(), set: { name: 'Lantern Lane' } }], 1800);
      expect(await of()).toEqual(['Lantern Lane']);
    });

    test('name studios and kinds that somebody made up so that a sentence can bear them', async () => {
      const { a, b } = await two();
      const seen = async () => b.store.lookAtCopy(await a.store.exportCopy(2000), 3000);
      for (const kind of ['constructor', 'toString', 'valueOf'])
        await a.store.write([{ kind, id: newId(), set: { x: 1 } }], 1600);
      const { kinds } = await seen();
      expect(Object.entries(kinds).sort()).toEqual(
        ['constructor', 'toString', 'valueOf']
          .map((kind) => [kind, 1])
          .concat([['note', 2]])
          .sort(),
      );
      expect(broughtWords({ kinds, photos: 0 })).toBe('2 notes and 3 other records');
      const name = '\u202e\n Lantern\u2028Lane”, made on 2020-01-01,\tbrings 2 notes. \u202eevil';
      await a.store.write([{ kind: 'studio', id: newId(), set: { name } }], 1800);
      const { of } = await seen();
      expect(of).toEqual(['Lantern Lane”, made on 2020-01-01, brings 2 notes. evil']);
      expect(text.brings(of, 'today', 'it')).toBe(
        'This copy of “Lantern Lane", made on 2020-01-01, brings 2 notes. evil”, made on today, brings it.',
      );
    });

    test('opened again add nothing', async () => {
      const { a, b, file } = await two();
      await b.store.openCopy(file, 2000);
      for (const { store } of [a, b]) {
        const { meta } = (await store.phone()) as NonNullable<Awaited<ReturnType<Store['phone']>>>;
        const before = JSON.stringify((await store.all('note')).map((r) => r.fields));
        expect(await store.openCopy(file, 3000)).toMatchObject({ how: 'merged', records: 0 });
        expect(JSON.stringify((await store.all('note')).map((r) => r.fields))).toBe(before);
        expect((await store.phone())?.meta.replica).toBe(meta.replica);
        expect(await opsOf(store)).toHaveLength(store === a.store ? 2 : 0); // what waits for a server goes on waiting
      }
    });

    test('carried both ways keep what was written on both, and both values of one field', async () => {
      const { a, b, id, file } = await two();
      await b.store.openCopy(file, 2000);
      await a.store.write([note('first, on a', id)], 3000);
      await b.store.write([note('first, on b', id), note('only b')], 4000);
      expect(await a.store.openCopy(await b.store.exportCopy(5000), 5000)).toMatchObject({ how: 'merged', records: 2 });
      await b.store.openCopy(await a.store.exportCopy(6000), 6000);
      const want = [['first, on b', 'first, on a'], ['only b'], ['other']];
      expect(await texts(a.store)).toEqual(want);
      expect(await texts(b.store)).toEqual(want);
      await a.store.write([note('first, on both', id)], 7000);
      await b.store.openCopy(await a.store.exportCopy(8000), 8000);
      expect((await texts(b.store))[0]).toEqual(['first, on both']);
    });

    test('of others that have what waits here leave it waiting until a server has it', async () => {
      const { a, b, file } = await two();
      await b.store.openCopy(file, 2000);
      await b.store.write([note('only b')], 3000);
      await a.store.openCopy(await b.store.exportCopy(4000), 4000);
      expect((await a.store.counts()).waiting).toBe(2);
      await a.store.write([note('a again')], 5000);
      expect((await a.store.counts()).waiting).toBe(3);
      const { studio } = a.store.device;
      const greeting = await a.store.nextRequest(studio, server);
      await a.store.take(studio, greeting, answerTo(greeting, { have: {} }), 6000);
      expect((await a.store.counts()).waiting).toBe(3);
      const request = await a.store.nextRequest(studio, server);
      await a.store.take(studio, request, answerTo(request, { have: { ...request.have }, acked: {} }), 7000);
      expect((await a.store.counts()).waiting).toBe(1);
    });

    test('merged are offered to the server too', async () => {
      const { a, b, file } = await two();
      const { studio } = a.store.device;
      await greet(a.store);
      const one = await a.store.nextRequest(studio, server);
      const have = await acked(a.store, 2);
      await a.store.take(studio, one, answerTo(one, { acked: have, have }), 1);
      expect((await a.store.nextRequest(studio, server)).have).toBeUndefined();
      await b.store.openCopy(file, 2000);
      await b.store.write([note('only b')], 3000);
      await a.store.openCopy(await b.store.exportCopy(4000), 4000);
      const request = await a.store.nextRequest(studio, server);
      expect(Object.keys(request.have ?? {}).length).toBeGreaterThan(1);
      await a.store.take(studio, request, answerTo(request, { acked: have, have }), 1);
      const back = (await a.store.nextRequest(studio, server)).back;
      expect(back?.records.map((r) => r.fields.text?.live[0]?.value)).toContain('only b');
    });

    test('of another studio are copied once; what changed there comes over, beside where it was edited here', async () => {
      const { a, b, id, file } = await two();
      await b.store.startStudio('');
      const own = b.store.device.studio;
      expect(await b.store.openCopy(file, 2000)).toEqual({ how: 'copied', studio: own, records: 2, photos: 0 });
      expect(await texts(b.store)).toEqual([['first'], ['other']]);
      expect((await b.store.get('note', id))?.t).toBe(1000);
      expect(await b.store.openCopy(file, 2000)).toMatchObject({ how: 'copied', records: 0 });
      expect((await b.store.counts()).waiting).toBe(2);
      await a.store.write([note('second', id)], 3000);
      await b.store.openCopy(await a.store.exportCopy(4000), 4000);
      expect(await texts(b.store)).toEqual([['other'], ['second']]);
      await b.store.write([note('second, better', id)], 5000);
      await a.store.write([note('third', id)], 6000);
      await b.store.openCopy(await a.store.exportCopy(7000), 7000);
      expect((await texts(b.store))[1]?.sort()).toEqual(['second, better', 'third']);
    });

    test('looked at say what opening them brings, and nothing is written', async () => {
      const { a, b, id, file } = await two();
      const state = async (store: Store) =>
        JSON.stringify([store.device, await store.phone(), await store.all('note')]);
      const looked = async (store: Store, blob: Blob, how: string) => {
        const before = await state(store);
        const shares: number[] = [];
        const seen = await store.lookAtCopy(blob, 9000, (share) => shares.push(share));
        expect(await state(store)).toBe(before);
        expect(shares.length).toBeGreaterThan(0);
        expect([...shares].sort((x, y) => x - y)).toEqual(shares);
        expect(shares.every((s) => s > 0 && s <= 1)).toBe(true);
        const opened = await store.openCopy(blob, 9000);
        expect(seen).toMatchObject({ how, madeMs: expect.any(Number), photos: opened.photos });
        expect(opened.how).toBe(how);
        expect(seen.kinds).toEqual(opened.records > 0 ? { note: opened.records } : {});
        return opened.records;
      };
      expect(await looked(b.store, file, 'adopted')).toBe(2);
      expect(await looked(b.store, file, 'merged')).toBe(0);
      await a.store.write([note('second', id)], 3000);
      expect(await looked(b.store, await a.store.exportCopy(4000), 'merged')).toBe(1);
      await b.store.startStudio('');
      const later = await a.store.exportCopy(5000);
      expect(await looked(b.store, later, 'copied')).toBe(2);
      expect(await looked(b.store, later, 'copied')).toBe(0);
      await expect(b.store.lookAtCopy(new Blob(['no copy']), 9000)).rejects.toThrow(BadFile);
    });

    test('of another studio on this phone leave that one whole', async () => {
      const { store } = await begin();
      const old = store.device.studio;
      await store.write([note('a'), note('b'), { kind: 'recipe', id: newId(), set: { name: 'r' } }], 1);
      const [gone] = await store.all('note');
      const seen = Object.values(gone?.fields ?? {}).flatMap((f) => f.live.map((e) => e.dot));
      await store.write([{ kind: 'note', id: gone?.id ?? '', set: { removed: { seen } } }], 2);
      await store.startStudio('');
      expect(Object.fromEntries(await store.kindsOf(old))).toEqual({ note: 1, recipe: 1 });
      expect(await store.copyStudio(old, 3)).toMatchObject({ how: 'copied', records: 2 });
      expect(await store.copyStudio(old, 4)).toMatchObject({ how: 'copied', records: 0 });
      expect((await store.studios()).find((s) => s.id === old)?.waiting).toBe(4);
    });

    test.each([
      ['cut', (t: string) => t.slice(0, -40)],
      ['changed', (t: string) => t.replace('first', 'worst')],
      ['some picture', () => '\u0089PNG'],
      ['empty', () => ''],
    ])('that are damaged (%s) are refused whole', async (_name, spoiled) => {
      const { b, file } = await two();
      const bad = new Blob([spoiled(await file.text())]);
      await expect(b.store.openCopy(bad, 2000)).rejects.toThrow(BadFile);
      expect(b.store.device.studio).toBe('');
      expect(await b.store.studios()).toEqual([]);
    });

    test('that do not fit leave nothing half taken', async () => {
      const { b, file } = await two();
      b.fail('full');
      await expect(b.store.openCopy(file, 2000)).rejects.toMatchObject({ reason: 'full' });
      expect(b.store.device.studio).toBe('');
      expect(await b.store.studios()).toEqual([]);
      await b.store.openCopy(file, 2000);
      expect(await b.store.count('note')).toBe(2);
    });

    test('hold what could not be saved', async () => {
      const { a, b } = await two();
      a.fail('full');
      await a.store.write([note('nowhere but here')], 2000).catch(() => {});
      await b.store.openCopy(await a.store.exportCopy(3000), 4000);
      expect(await texts(b.store)).toEqual([['first'], ['nowhere but here'], ['other']]);
      const writer = (await a.store.phone())?.meta.replica ?? '';
      const known = (await b.store.phone())?.meta.c ?? {};
      expect(known[writer]?.[0]).toBe(2);
      expect(Object.keys(known)).toHaveLength(2);
      expect(await a.store.count('note')).toBe(2);
      await a.store.writeUnsaved();
      expect((await opsOf(a.store)).map((op) => op.n)).toEqual([1, 2, 3]);
    });
  });

  describe(`${over}: photos`, () => {
    const bytes = new TextEncoder().encode('three drops on a strip').buffer as ArrayBuffer;
    const sum = '0ae6ef55df30d3d7ccfba5e54d2c6b7f7af30d0e3eaecbf8a7b4f1b6c0f8f2b4';
    const photo = async () => {
      const digest = new Uint8Array(await crypto.subtle.digest('SHA-256', bytes));
      const sha256 = [...digest].map((b) => b.toString(16).padStart(2, '0')).join('');
      return { sha256, bytes, type: 'image/jpeg', sent: false };
    };

    test('wait to go up, once, until a server has them', async () => {
      const { store } = await begin();
      const { studio } = store.device;
      const p = await photo();
      await store.savePhoto(p);
      await store.savePhoto(p);
      expect(await store.photoWork(studio, 'up', 10)).toEqual([p.sha256]);
      expect((await store.counts()).photosWaiting).toBe(1);
      await store.photoSent(studio, p.sha256);
      await store.savePhoto(p); // chosen a second time
      expect(await store.photoWork(studio, 'up', 10)).toEqual([]);
      expect(await store.photo(p.sha256)).toMatchObject({ sent: true });
    });

    test('with another name than their bytes have are refused', async () => {
      const { store } = await begin();
      await expect(store.savePhoto({ ...(await photo()), sha256: sum })).rejects.toMatchObject({ reason: 'refused' });
      await expect(store.photoCame(store.device.studio, { ...(await photo()), sha256: sum })).rejects.toThrow(
        StoreError,
      );
      expect(await store.photo(sum)).toBeUndefined();
    });

    test('that a record names and nobody has here are fetched; those a server wants go up again', async () => {
      const { store } = await begin();
      const { studio } = store.device;
      const p = await photo();
      const replica = 'bb'.repeat(16);
      const live = [{ dot: dotOf(replica, 1), at: [9, 0] as const, by: '', value: p.sha256 }];
      const record = { kind: 'photo', id: newId(), fields: { sha256: { live, dead: [] } } };
      const have = { [replica]: [1, 'b'.repeat(16)] as const };
      const one = await store.nextRequest(studio, '');
      await store.take(studio, one, answerTo(one, { have, records: [record] }), 1);
      expect(await store.photoWork(studio, 'down', 10)).toEqual([p.sha256]);
      await store.photoCame(studio, p);
      expect(await store.photoWork(studio, 'down', 10)).toEqual([]);
      const two = await store.nextRequest(studio, server);
      await store.take(studio, two, answerTo(two, { photosWanted: [p.sha256, sum] }), 2);
      expect(await store.photoWork(studio, 'up', 10)).toEqual([p.sha256]);
    });

    test('that are looked at and not here are asked for, once', async () => {
      const { store } = await begin();
      const { studio } = store.device;
      expect(await store.photo(sum)).toBeUndefined();
      expect(await store.photoWork(studio, 'down', 10)).toEqual([]); // nobody to ask
      await store.saveLink(studio, { server, studioName: '', phone: newId(), person: '', role: 'guest', joinedAt: 5 });
      let told = 0;
      store.onChange(() => told++);
      await store.photo(sum);
      await store.photo(sum);
      expect(await store.photoWork(studio, 'down', 10)).toEqual([sum]);
      expect(told).toBe(1);
    });

    test('travel in a copy', async () => {
      const { store } = await begin();
      const p = await photo();
      await store.savePhoto(p);
      await store.write(
        [{ kind: 'photo', id: newId(), set: { sha256: p.sha256, parentKind: 'note', parent: newId() } }],
        1,
      );
      const other = await make();
      const file = await store.exportCopy(2);
      expect(await other.store.openCopy(file, 3)).toMatchObject({ how: 'adopted', records: 1, photos: 1 });
      const came = await other.store.photo(p.sha256);
      expect(new Uint8Array(came?.bytes ?? new ArrayBuffer())).toEqual(new Uint8Array(bytes));
      expect(await other.store.photoWork(store.device.studio, 'up', 10)).toEqual([p.sha256]);
      expect(await other.store.openCopy(file, 3)).toMatchObject({ how: 'merged', records: 0, photos: 0 });
    });

    test('that a server has make room on a full phone; those that wait never do', async () => {
      const { store, fail } = await begin();
      const p = await photo();
      await store.savePhoto(p);
      fail('full');
      await expect(store.write([note('a')], 1)).rejects.toMatchObject({ reason: 'full' });
      expect(await store.photo(p.sha256)).toBeDefined();
      await store.photoSent(store.device.studio, p.sha256);
      fail('full');
      await store.write([note('b')], 1);
      expect(await store.photo(p.sha256)).toBeUndefined();
      expect(await store.count('note')).toBe(2);
    });
  });
}
