/** For tests: what every store does, whatever it stands on. */
import { describe, expect, test } from 'vitest';
import { dotOf } from '../sync/merge';
import { newId } from '../sync/ops';
import { BadFile } from '../sync/statefile';
import type { Answer, Request } from '../sync/wire';
import { type Row, type Store, StoreError } from './store';

/** A store of its own for one test. `again` opens the same one anew, as after a restart; `fail` spoils the next write. */
export type Fixture = { store: Store; again(): Promise<Store>; fail(reason: 'full' | 'lost'): void };

const server = '5e'.repeat(16);
const epoch = 'e0'.repeat(16);

/** What a server says that took all of a request and has these records; chained as a server's log is not. */
export function answerTo(request: Request, more: Partial<Answer> = {}): Answer {
  const upTo = request.after + Math.max(1, request.ops.length);
  return {
    format: 1,
    server,
    epoch,
    upTo,
    upToDigest: upTo.toString(16).padStart(16, '0'),
    reading: upTo,
    acked: {},
    records: [],
    more: false,
    have: {},
    voids: [],
    forks: [],
    refused: [],
    photosWanted: [],
    ...more,
  };
}

const first = (row: Row | undefined, field: string) => row?.fields[field]?.live[0]?.value;

export function storeContract(over: string, make: () => Promise<Fixture>): void {
  const note = (text: string, id = newId()) => ({ kind: 'note', id, set: { text } });
  const begin = async () => {
    const f = await make();
    await f.store.startStudio('');
    return f;
  };
  /** A server that was met once: from now on it is sent what waits. */
  const greet = async (store: Store) => {
    const request = await store.nextRequest(store.device.studio, server);
    await store.take(store.device.studio, request, answerTo(request), 1);
  };
  const joined = async () => {
    const f = await begin();
    await greet(f.store);
    return f;
  };
  const acked = async (store: Store, n: number) => {
    const { meta } = (await store.phone()) as NonNullable<Awaited<ReturnType<Store['phone']>>>;
    expect(meta.last).toBe(n);
    return { [meta.replica]: [n, meta.lastChain.slice(0, 16)] as const };
  };
  const opsOf = async (store: Store) => {
    if (!(await store.phone())?.meta.cursors[server]) await greet(store);
    const request = await store.nextRequest(store.device.studio, server);
    return request.ops.map((text) => JSON.parse(text) as { n: number; set: Record<string, unknown>; over: object });
  };

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

    test('that failed goes with the next one, and never puts a task back', async () => {
      const { store, fail } = await begin();
      fail('full');
      await store.write([note('one')], 1, { id: 't', touchedAt: 1, state: 'one' }).catch(() => {});
      const rows = await store.write([note('two')], 2, { id: 't', touchedAt: 2, state: 'two' });
      expect(rows.map((r) => first(r, 'text'))).toEqual(['two', 'one']);
      expect((await store.tasks()).map((t) => t.state)).toEqual(['two']);
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

  describe(`${over}: exchange`, () => {
    test('what was added between question and answer still waits', async () => {
      const { store } = await joined();
      const { studio } = store.device;
      await store.write([note('one'), note('two')], 1);
      const request = await store.nextRequest(studio, server);
      const have = await acked(store, 2);
      await store.write([note('three')], 2);
      const took = await store.take(studio, request, answerTo(request, { acked: have, have }), 5000);
      expect(took).toMatchObject({ taken: true, more: true });
      expect(await store.counts()).toMatchObject({ waiting: 1, heardAt: 5000 });
      expect((await opsOf(store)).map((op) => op.set.text)).toEqual(['three']);
    });

    test('an answer that comes three times is taken once, and a late one harms nothing', async () => {
      const { store } = await joined();
      const { studio } = store.device;
      await store.write([note('one')], 1);
      const request = await store.nextRequest(studio, server);
      const have = await acked(store, 1);
      const theirs = newId();
      const record = {
        kind: 'note',
        id: theirs,
        fields: {
          text: {
            live: [{ dot: dotOf('bb'.repeat(16), 1), at: [9, 0] as const, by: '', value: 'from afar' }],
            dead: [],
          },
        },
      };
      const all = { ...have, ['bb'.repeat(16)]: [1, 'b'.repeat(16)] as const };
      const answer = answerTo(request, { acked: have, have: all, records: [record] });
      for (const n of [1, 2, 3]) {
        const took = await store.take(studio, request, answer, 5000);
        expect(took.taken).toBe(n === 1);
      }
      expect((await store.all('note')).map((r) => first(r, 'text')).sort()).toEqual(['from afar', 'one']);
      expect((await store.counts()).waiting).toBe(0);
      const next = await store.nextRequest(studio, server);
      expect(next).toMatchObject({ ops: [], from: 2, after: answer.upTo, server, epoch });
    });

    test('a taken row is found under its machine', async () => {
      const { store } = await joined();
      const { studio } = store.device;
      const machine = newId();
      const replica = 'bb'.repeat(16);
      const live = (value: string, ms: number) => ({
        live: [{ dot: dotOf(replica, 1), at: [ms, 0] as const, by: '', value }],
        dead: [],
      });
      const record = { kind: 'event', id: newId(), fields: { machine: live(machine, 9), type: live('good', 9) } };
      const request = await store.nextRequest(studio, server);
      await store.take(
        studio,
        request,
        answerTo(request, { have: { [replica]: [1, 'b'.repeat(16)] }, records: [record] }),
        5000,
      );
      expect((await store.under('event', machine, 10)).map((r) => [r.id, r.t])).toEqual([[record.id, 9]]);
    });

    test('one of ten is refused for good: the other nine arrive, its words need the person', async () => {
      const { store } = await joined();
      const { studio } = store.device;
      const drafts = Array.from({ length: 10 }, (_, i) => note(`note ${i}`));
      await store.write(drafts, 1);
      const request = await store.nextRequest(studio, server);
      const have = await acked(store, 10);
      const refused = [{ replica: request.replica, n: 1, reason: 'malformed', forGood: true }];
      const took = await store.take(studio, request, answerTo(request, { acked: have, have, refused }), 77);
      expect(took).toMatchObject({ taken: true, needs: 1 });
      expect(await store.counts()).toMatchObject({ waiting: 0, needs: 1 });
      expect(await store.count('note')).toBe(9);
      const [need] = await store.needs();
      expect(need).toMatchObject({ at: 77, reason: 'malformed' });
      expect(JSON.parse(need?.text ?? '').set.text).toBe('note 0');

      await store.keepNeed(need?.key ?? 0);
      expect(await store.needs()).toEqual([]);
      expect((await store.keptHere()).map((n) => n.key)).toEqual([need?.key]);
      const [row] = await store.retryNeed(need?.key ?? 0, 99);
      expect(first(row, 'text')).toBe('note 0');
      expect(row?.id).toBe(drafts[0]?.id);
      expect(await store.counts()).toMatchObject({ waiting: 1, needs: 0 });
      expect(await store.keptHere()).toEqual([]);
    });

    test('trying again keeps what another phone wrote since', async () => {
      const { store } = await joined();
      const { studio } = store.device;
      const draft = note('old');
      await store.write([draft], 1);
      const one = await store.nextRequest(studio, server);
      const have = await acked(store, 1);
      await store.take(studio, one, answerTo(one, { acked: have, have }), 1);
      await store.write([note('mine', draft.id)], 2);
      const two = await store.nextRequest(studio, server);
      const both = await acked(store, 2);
      const afar = 'bb'.repeat(16);
      const text = { live: [{ dot: dotOf(afar, 1), at: [9, 0] as const, by: '', value: 'theirs' }], dead: [] };
      const zone = (await store.get('note', draft.id))?.fields.zone ?? { live: [], dead: [] };
      const refused = [{ replica: two.replica, n: 2, reason: 'too-large', forGood: true }];
      const records = [{ kind: 'note', id: draft.id, fields: { text, zone } }];
      await store.take(
        studio,
        two,
        answerTo(two, { acked: both, have: { ...both, [afar]: [1, 'b'.repeat(16)] }, refused, records }),
        3,
      );
      const [need] = await store.needs();
      const [row] = await store.retryNeed(need?.key ?? 0, 10);
      expect(row?.fields.text?.live.map((e) => e.value)).toEqual(['mine', 'theirs']);
      expect(row?.fields.zone).toEqual(zone);
    });

    test('turning to a server writes what waits anew, in outbox and rows, and says so', async () => {
      const { store } = await begin();
      const { studio } = store.device;
      const id = newId();
      await store.write([note('a', id)], 1);
      await greet(store);
      const heard: unknown[] = [];
      store.onChange((change) => heard.push(change));
      const request = await store.nextRequest(studio, server);
      const name = (await store.phone())?.meta.replica ?? '';
      expect(request).toMatchObject({ server, replica: name, from: 1 });
      const row = await store.get('note', id);
      expect(row?.fields.text?.live.map((e) => e.dot)).toEqual([dotOf(name, 1)]);
      expect(heard).toEqual([{ by: 'studio', studio, keys: [`note/${id}`] }]);
      expect((await store.nextRequest(studio, server)).ops).toEqual(request.ops); // once
      expect(heard).toHaveLength(1);
    });

    test('a server that lacks nothing is handed nothing', async () => {
      const { store } = await joined();
      const { studio } = store.device;
      await store.write([note('a')], 1);
      const one = await store.nextRequest(studio, server);
      const have = await acked(store, 1);
      await store.take(studio, one, answerTo(one, { acked: have, have }), 1);
      const two = await store.nextRequest(studio, server);
      await store.take(studio, two, answerTo(two, { epoch: 'e1'.repeat(16), wrong: 'epoch' }), 2);
      const three = await store.nextRequest(studio, server);
      expect(three.have).toEqual(have);
      const epoch = 'e1'.repeat(16);
      const took = await store.take(studio, three, answerTo(three, { epoch, have }), 3);
      expect(took.taken).toBe(true);
      const four = await store.nextRequest(studio, server);
      expect(four.back).toBeUndefined();
      expect((await store.phone())?.meta.cursors[server]?.back).toBeUndefined();
      expect(await store.take(studio, four, answerTo(four, { epoch }), 4)).toMatchObject({ taken: true, more: false });
    });

    test('many records at once are told as many, few by name', async () => {
      const { store } = await joined();
      const { studio } = store.device;
      const replica = 'bb'.repeat(16);
      const heard: (string[] | undefined)[] = [];
      store.onChange((change) => heard.push(change.keys));
      let n = 0;
      for (const count of [2, 300]) {
        const records = Array.from({ length: count }, () => ({
          kind: 'note',
          id: newId(),
          fields: { n: { live: [{ dot: dotOf(replica, ++n), at: [9, 0] as const, by: '', value: 1 }], dead: [] } },
        }));
        const request = await store.nextRequest(studio, server);
        const have = { [replica]: [n, 'b'.repeat(16)] as const };
        await store.take(studio, request, answerTo(request, { have, records }), 5000);
      }
      expect(heard.map((keys) => keys?.length)).toEqual([2, undefined]);
      expect(await store.count('note')).toBe(302);
    });

    test('refused for now waits under the same names and says why', async () => {
      const { store } = await joined();
      const { studio } = store.device;
      await store.write([note('one')], 1);
      const request = await store.nextRequest(studio, server);
      const refused = [{ replica: request.replica, n: 1, reason: 'no-right', forGood: false }];
      const took = await store.take(studio, request, answerTo(request, { refused }), 1);
      expect(took.waiting?.reason).toBe('no-right');
      expect(took.more).toBe(false);
      expect((await store.nextRequest(studio, server)).ops).toEqual(request.ops);
    });

    test('a value whose writer is far ahead of the clock keeps the time it came', async () => {
      const { store } = await joined();
      const { studio } = store.device;
      const replica = 'bb'.repeat(16);
      const live = [{ dot: dotOf(replica, 1), at: [1_000_000_000, 0] as const, by: '', value: 'x' }];
      const record = { kind: 'note', id: newId(), fields: { text: { live, dead: [] } } };
      const request = await store.nextRequest(studio, server);
      await store.take(
        studio,
        request,
        answerTo(request, { have: { [replica]: [1, 'b'.repeat(16)] }, records: [record] }),
        5000,
      );
      expect((await store.get('note', record.id))?.late).toEqual({ [dotOf(replica, 1)]: 5000 });
    });
  });

  describe(`${over}: studios`, () => {
    test('are apart, and the one that is left stays whole until it is removed', async () => {
      const { store } = await begin();
      const old = store.device.studio;
      await store.write([note('old book')], 1);
      await store.startStudio('');
      expect(await store.all('note')).toEqual([]);
      expect(await store.counts()).toMatchObject({ waiting: 0, copies: 0 });
      expect((await store.studios()).find((s) => s.id === old)?.waiting).toBe(1);
      await expect(store.removeStudio(store.device.studio)).rejects.toThrow();
      await store.enterStudio(old);
      expect((await store.all('note')).map((r) => first(r, 'text'))).toEqual(['old book']);
      const other = (await store.studios()).find((s) => s.id !== old)?.id ?? '';
      await store.removeStudio(other);
      expect((await store.studios()).map((s) => s.id)).toEqual([old]);
      expect(await store.count('note')).toBe(1);
    });

    test('a link to a server names the writer from then on', async () => {
      const { store } = await begin();
      const { studio } = store.device;
      const person = newId();
      await store.saveLink(studio, { server, studioName: 'Barn', phone: newId(), person, role: 'keeper', joinedAt: 5 });
      const [row] = await store.write([note('a')], 1);
      expect(row?.fields.text?.live[0]?.by).toBe(person);
      expect((await store.studios())[0]?.links.map((l) => l.studioName)).toEqual(['Barn']);
      const joined = newId();
      await store.saveLink(joined, { server, studioName: 'Hall', phone: newId(), person, role: 'guest', joinedAt: 6 });
      await store.enterStudio(joined);
      expect(await store.all('note')).toEqual([]);
    });

    test('keys are made once', async () => {
      const { store, again } = await begin();
      const make = () => crypto.subtle.generateKey({ name: 'ECDSA', namedCurve: 'P-256' }, false, ['sign']);
      const raw = async (s: Store) =>
        new Uint8Array(await crypto.subtle.exportKey('raw', (await s.keys(make)).publicKey)).join();
      const [one, two] = await Promise.all([raw(store), raw(store)]);
      expect(two).toBe(one);
      expect(await raw(store)).toBe(one);
      expect(await raw(await again())).toBe(one);
      expect((await store.keys(make)).privateKey.extractable).toBe(false);
    });
  });

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

    test('opened again add nothing', async () => {
      const { a, b, file } = await two();
      await b.store.openCopy(file, 2000);
      for (const { store } of [a, b]) {
        const { meta } = (await store.phone()) as NonNullable<Awaited<ReturnType<Store['phone']>>>;
        const before = JSON.stringify((await store.all('note')).map((r) => r.fields));
        expect(await store.openCopy(file, 3000)).toMatchObject({ how: 'merged', records: 0 });
        expect(JSON.stringify((await store.all('note')).map((r) => r.fields))).toBe(before);
        expect((await store.phone())?.meta.replica).toBe(meta.replica);
        expect(await opsOf(store)).toEqual([]); // the file has them: what a server lacks is handed back
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
