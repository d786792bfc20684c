/** For tests: what every store does, whatever it stands on: exchanges, and the studios on a phone. */
import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex } from '@noble/hashes/utils.js';
import { describe, expect, test } from 'vitest';
import { dotOf } from '../sync/merge';
import { newId } from '../sync/ops';
import { answerTo, epoch, type Fixture, first, kit, server } from './contract';
import type { Store } from './store';

export function exchangeContract(over: string, make: () => Promise<Fixture>): void {
  const { note, begin, greet, joined, acked, opsOf } = kit(make);

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

    test('a page of many does not fit: neither records nor cursor are there; asked again it is taken, and written in', async () => {
      const { store, fail } = await joined();
      const { studio } = store.device;
      const replica = 'bb'.repeat(16);
      const records = Array.from({ length: 300 }, (_, i) => ({
        kind: 'note',
        id: newId(),
        fields: {
          text: { live: [{ dot: dotOf(replica, i + 1), at: [9, i] as const, by: '', value: `${i}` }], dead: [] },
        },
      }));
      const have = { [replica]: [300, 'b'.repeat(16)] as const };
      const request = await store.nextRequest(studio, server);
      const answer = answerTo(request, { have, records });
      fail('full');
      await expect(store.take(studio, request, answer, 5000)).rejects.toMatchObject({ reason: 'full' });
      expect(await store.count('note')).toBe(0);
      expect((await store.nextRequest(studio, server)).after).toBe(request.after);
      expect((await store.take(studio, request, answer, 5000)).taken).toBe(true);
      expect((await store.nextRequest(studio, server)).after).toBe(answer.upTo);
      expect(await store.count('note')).toBe(300);
      const { id } = records[7] ?? { id: '' };
      expect(first(await store.get('note', id), 'text')).toBe('7');
      await store.write([note('mine', id)], 6000);
      expect((await store.get('note', id))?.fields.text?.live.map((e) => e.value)).toEqual(['mine']);
      expect(await store.count('note')).toBe(300);
      expect((await store.all('note')).filter((r) => r.id === id)).toHaveLength(1);
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

    test('say how much of each no server has: what waits, photos too, and what was refused', async () => {
      const { store } = await joined();
      const { studio } = store.device;
      await store.write([note('bad'), note('good')], 1);
      const request = await store.nextRequest(studio, server);
      const refused = [{ replica: request.replica, n: 1, reason: 'malformed', forGood: true }];
      const have = await acked(store, 2);
      await store.take(studio, request, answerTo(request, { acked: have, have, refused }), 77);
      expect(await store.studios()).toMatchObject([{ waiting: 0, refused: 1 }]);
      const bytes = new TextEncoder().encode('a picture').buffer as ArrayBuffer;
      await store.savePhoto({
        sha256: bytesToHex(sha256(new Uint8Array(bytes))),
        bytes,
        type: 'image/jpeg',
        sent: false,
      });
      await store.write([note('later')], 2);
      await store.startStudio('');
      expect((await store.studios()).find((s) => s.id === studio)).toMatchObject({ waiting: 2, refused: 1 });
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
}
