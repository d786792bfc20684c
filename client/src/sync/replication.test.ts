import { beforeEach, describe, expect, test } from 'vitest';
import { addToPart, partBytes, settlePart, startPart } from './handback';
import { adoptFile, fileOf } from './handover';
import { type MemoryPhone, newMemoryPhone, request, spell, take, write } from './memory';
import { dotOf, fieldOf } from './merge';
import { chainStart, forkName, limits, shortOf } from './ops';
import { keyOf } from './phone';
import { buildRequest, half, mostAtOnce, neededKeys, takeAnswer } from './replication';
import { newStub, type StubServer, serve } from './stub-server';
import { type Answer, type Request, readAnswer, requestBody } from './wire';

const id = (n: number) => n.toString(16).padStart(32, '0');
const studio = id(1);
const note = (n: number) => ({ kind: 'note', id: id(n) });
const short = '0'.repeat(16);
let phone: MemoryPhone;
let server: StubServer;
let fresh: number;
const world = { nowMs: 10_000, newId: () => id(++fresh) };

beforeEach(() => {
  server = newStub(id(9));
  phone = newMemoryPhone(studio, id(2), server);
  fresh = 1000;
});

const say = (text: string, n = 0, p = phone) => write(p, { ...note(n), set: { text } }, 5000);
const ask = (asked: Request, s = server): Answer => readAnswer(JSON.parse(serve(s, requestBody(asked))));
function sync(p = phone, s = server, rounds = 4): void {
  for (let i = 0; i < rounds; i++) {
    const asked = request(p, s.id, world);
    take(p, asked, ask(asked, s), world);
  }
}
const texts = (p: MemoryPhone, n = 0) =>
  fieldOf(p.rows.get(keyOf('note', id(n))) ?? { ...note(n), fields: {} }, 'text').live.map((e) => e.value);
const textsAt = (s: StubServer, n = 0) =>
  server && s.records[keyOf('note', id(n))]?.fields.text?.live.map((e) => e.value);

describe('what is written', () => {
  test('is shown at once and waits in the outbox, beside a base that does not have it', () => {
    say('loose');
    say('less loose');
    expect(texts(phone)).toEqual(['less loose']);
    expect(phone.rows.get(keyOf('note', id(0)))?.base).toEqual({});
    expect(phone.outbox.map((op) => op.n)).toEqual([1, 2]);
    expect(phone.meta.lastChain).toBe(phone.outbox[1]?.chain);
  });
  test('is base alone once it is acknowledged', () => {
    say('loose');
    sync();
    expect(phone.outbox).toEqual([]);
    expect(phone.rows.get(keyOf('note', id(0)))).not.toHaveProperty('base');
    expect(phone.meta.c[id(2)]).toEqual([1, shortOf(phone.meta.ackedChain)]);
  });
  test('has lone surrogates repaired before anything is stored', () => {
    say('a\ud800');
    expect(texts(phone)).toEqual(['a\ufffd']);
  });
  test('replaces no more values than an op can name', () => {
    for (let i = 0; i < 300; i++) write(phone, { ...note(0), set: { text: `v${i}` }, over: { text: [] } }, 5000);
    const { text } = JSON.parse(say('one for all')).over;
    expect(text).toHaveLength(limits.over);
    expect(texts(phone)).toHaveLength(1 + 300 - limits.over);
  });
  test('replaces what its draft says where it says so', () => {
    say('a');
    write(phone, { ...note(0), set: { text: 'b' }, over: { text: [] } }, 6000);
    expect(texts(phone)).toEqual(['b', 'a']);
  });
});

describe('a request', () => {
  test('to a server that is not known asks who is there, and brings nothing', () => {
    const fresh = newMemoryPhone(studio, id(3));
    say('a', 0, fresh);
    const place = { server: '', epoch: '', after: 0, from: 1, prevDigest: chainStart, have: {}, ops: [] };
    expect(request(fresh, server.id)).toMatchObject(place);
    expect(() => buildRequest({ ...phone.meta, home: id(8) }, [], server.id)).toThrow('turned');
  });
  test('to one that is known names it, and the place where it was left', () => {
    say('a');
    expect(request(phone, server.id)).toMatchObject({ server: server.id, epoch: 'first', after: 0, have: {} });
    sync();
    const place = { server: server.id, epoch: 'first', after: 1, from: 2, prevDigest: phone.meta.ackedChain };
    expect(request(phone, server.id)).toMatchObject(place);
    expect(request(phone, server.id)).not.toHaveProperty('have');
  });
  test('carries the outbox up to its limits, in ops and in bytes, and always one', () => {
    for (let i = 0; i < 10; i++) say('€'.repeat(1000), i);
    const { meta, outbox } = phone;
    const ops = (most: { ops: number; bytes: number }) =>
      buildRequest(meta, outbox, server.id, undefined, most).ops.length;
    expect(ops(mostAtOnce)).toBe(10);
    expect(ops({ ops: 3, bytes: 1e6 })).toBe(3);
    expect(ops({ ops: 10, bytes: 20_000 })).toBeLessThan(7);
    expect(ops({ ops: 10, bytes: 1 })).toBe(1);
    expect(half({ ops: 5, bytes: 1 })).toEqual({ ops: 2, bytes: 1 });
    expect(mostAtOnce.ops).toBe(limits.batchOps);
  });
  test('fits the limit of a body with the largest ops', () => {
    const text = '€'.repeat(16_000);
    const outbox = Array.from({ length: 400 }, (_, i) => ({ ...note(i), n: i + 1, text, chain: chainStart }));
    const body = requestBody(buildRequest(phone.meta, outbox, server.id));
    expect(new TextEncoder().encode(body).length).toBeLessThan(limits.batchBytes);
  });
});

describe('an answer', () => {
  test('that comes twice, or late, changes nothing more', () => {
    say('a');
    const asked = request(phone, server.id);
    const answer = ask(asked);
    take(phone, asked, answer, world);
    const once = structuredClone(phone);
    take(phone, asked, answer, world);
    expect(phone).toEqual(once);
    say('b');
    sync();
    const later = structuredClone(phone);
    expect(take(phone, asked, answer, world).taken).toBe(false);
    expect(phone).toEqual(later);
  });
  test('leaves the meta, outbox and rows it was given as they were', () => {
    say('a');
    const asked = request(phone, server.id);
    const before = structuredClone(phone);
    takeAnswer(phone.meta, phone.outbox, asked, ask(asked), phone.rows, world);
    expect(phone).toEqual(before);
  });
  test('moves the clock past what was read', () => {
    const other = newMemoryPhone(studio, id(3), server);
    write(other, { ...note(0), set: { text: 'a minute ahead' } }, 70_000);
    sync(other);
    sync();
    expect(JSON.parse(say('after it')).at).toEqual([70_000, 1]);
  });
  test('to ops that have another number by now acknowledges none of them', () => {
    say('a');
    const asked = request(phone, server.id);
    const answer = { ...ask(asked), records: [], have: {} };
    const waiting = structuredClone(phone.outbox);
    phone.outbox = [{ ...waiting[0], text: waiting[0]?.text.replace('"a"', '"b"') } as never];
    take(phone, asked, answer, world);
    expect(phone.outbox).toHaveLength(1);
  });
  test('acknowledges nothing by another digest than ours', () => {
    say('a');
    const asked = request(phone, server.id);
    const answer = { ...ask(asked), acked: { [id(2)]: [1, 'f'.repeat(16)] as const }, records: [], have: {} };
    take(phone, asked, answer, world);
    expect(phone.outbox).toHaveLength(1);
  });
  test('is refused by a mistake of ours: a row that was not loaded', () => {
    say('a');
    const asked = request(phone, server.id);
    expect(() => takeAnswer(phone.meta, phone.outbox, asked, ask(asked), new Map(), world)).toThrow('not loaded');
  });
  test('needs the rows of its records, of what it acknowledges and of its voids, and all only for a purge or a fork', () => {
    say('a', 1);
    say('b', 2);
    const asked = request(phone, server.id, { most: { ops: 1, bytes: 1e6 } });
    const answer = ask(asked);
    expect(neededKeys(phone.meta, phone.outbox, asked, answer)).toEqual({ keys: [keyOf('note', id(1))], all: false });
    const v = { dot: dotOf(id(7), 1), digest: short, ...note(3), over: {}, reason: 'malformed' };
    expect(neededKeys(phone.meta, [], asked, { ...answer, voids: [v] }).keys).toContain(keyOf('note', id(3)));
    write(phone, { kind: 'purge', id: id(4), set: { dots: [dotOf(id(2), 1)] } }, 5000);
    const more = request(phone, server.id);
    expect(neededKeys(phone.meta, phone.outbox, more, ask(more)).all).toBe(true);
  });
  test('marks values whose writer’s clock is more than five minutes ahead, keeps them, and leaves our clock alone', () => {
    const other = newMemoryPhone(studio, id(3), server);
    write(other, { ...note(0), set: { text: 'from tomorrow' } }, 90_000_000);
    write(other, { ...note(1), set: { text: 'soon' } }, 0);
    sync(other);
    const asked = request(phone, server.id);
    const { skewed } = take(phone, asked, ask(asked), world);
    expect(skewed).toEqual([dotOf(id(3), 1), dotOf(id(3), 2)]);
    expect(phone.meta.clock).toEqual([0, 0]);
    expect(texts(phone)).toEqual(['from tomorrow']);
  });
});

describe('refusals', () => {
  test('for now leave everything waiting under the same dots', () => {
    say('a');
    server.mayWrite = false;
    const asked = request(phone, server.id);
    const { waiting } = take(phone, asked, ask(asked), world);
    expect(waiting).toMatchObject({ reason: 'no-right', forGood: false });
    expect(phone.outbox).toHaveLength(1);
    server.mayWrite = true;
    sync();
    expect(Object.keys(server.shorts)).toEqual([dotOf(id(2), 1)]);
  });
  test('for good bring the words to the person, and what they would have replaced is shown again', () => {
    write(phone, { kind: 'person', id: id(0), set: { name: 'mine' } }, 5000);
    say('stays', 5);
    const asked = request(phone, server.id);
    take(phone, asked, ask(asked), world);
    expect(phone.needs).toMatchObject([
      { dot: dotOf(id(2), 1), reason: 'server-only', ms: 10_000, op: { set: { name: 'mine' } } },
    ]);
    expect(phone.rows.has(keyOf('person', id(0)))).toBe(false);
    expect(phone.meta.voids[dotOf(id(2), 1)]).toMatchObject({
      reason: 'server-only',
      digest: server.voids[dotOf(id(2), 1)]?.digest,
    });
    expect(texts(phone, 5)).toEqual(['stays']);
    expect(phone.outbox).toEqual([]);
    const other = newMemoryPhone(studio, id(3), server);
    sync(other);
    expect(other.meta.voids).toEqual(phone.meta.voids);
    expect(spell(other)).toBe(spell(phone));
  });
});

describe('the same name twice', () => {
  test('a clone goes on under a new one, its own references with it', () => {
    say('shared');
    sync();
    const clone = structuredClone(phone);
    say('of the first', 1);
    sync();
    say('of the clone', 1, clone);
    say('of the clone, again', 1, clone);
    sync(clone);
    expect(clone.meta.replica).toBe(id(1001));
    expect(textsAt(server, 1)).toEqual(['of the clone, again', 'of the first']);
    expect(server.c[id(1001)]?.[0]).toBe(2);
    sync();
    expect(spell(phone)).toBe(spell(clone));
  });
  test('a phone that sees its own name beyond its own count takes a new one before it takes anything in', () => {
    const old = structuredClone(phone);
    say('lost with the old store', 1);
    sync();
    sync(old);
    expect(old.meta.replica).not.toBe(id(2));
    expect(texts(old, 1)).toEqual(['lost with the old store']);
    say('new', 1, old);
    sync(old);
    expect(textsAt(server, 1)).toEqual(['new']);
  });
  test('a server that gives the branch we followed another name is followed, outbox and all', () => {
    say('acknowledged', 1);
    sync();
    say('waiting', 1);
    const digest = shortOf(phone.meta.ackedChain);
    const to = forkName(id(2), digest);
    const fork = { replica: id(2), from: 1, to, before: short, digests: [digest], renamed: ['a'.repeat(16)] };
    const asked = request(phone, server.id);
    const answer = { ...ask({ ...asked, ops: [] }), forks: [fork] };
    take(phone, { ...asked, ops: [] }, answer, world);
    expect(phone.meta.c).toEqual({ [to]: [1, 'a'.repeat(16)] });
    expect(phone.meta.replica).toBe(id(1001));
    expect(JSON.parse(phone.outbox[0]?.text ?? '')).toMatchObject({
      replica: id(1001),
      n: 1,
      over: { text: [dotOf(to, 1)] },
    });
    expect(texts(phone, 1)).toEqual(['waiting']);
  });
});

describe('turning to another server', () => {
  test('takes another name with what waits, its references with it, and the old one again on the way back', () => {
    say('a');
    sync();
    say('b');
    say('c');
    const hub = newStub(id(8));
    sync(phone, hub, 5);
    expect(phone.meta).toMatchObject({ home: hub.id, replica: id(1001) });
    expect(Object.keys(hub.shorts)).toEqual([dotOf(id(1001), 1), dotOf(id(1001), 2), dotOf(id(2), 1)]);
    expect(textsAt(hub)).toEqual(['c']);
    expect(texts(phone)).toEqual(['c']);
    say('d');
    say('e');
    sync();
    expect(phone.meta).toMatchObject({ home: server.id, replica: id(2) });
    expect(server.c[id(2)]).toEqual([3, shortOf(phone.meta.ackedChain)]);
    expect(textsAt(server)).toEqual(['e']); // what only the hub had came back with us
    expect(texts(phone)).toEqual(['e']);
  });
  test('does not take a name back under which somebody went on', () => {
    say('a');
    sync();
    const clone = structuredClone(phone);
    const hub = newStub(id(8));
    sync(phone, hub, 2);
    say('of the clone', 1, clone);
    sync(clone);
    const other = newMemoryPhone(studio, id(3), server);
    sync(other);
    sync(other, hub, 6);
    sync(phone, hub, 2);
    say('b');
    expect(phone.meta.c[id(2)]?.[0]).toBe(2);
    expect(request(phone, server.id, world).replica).not.toBe(id(2));
    sync();
    expect(textsAt(server)).toEqual(['b']);
  });
  test('puts a reading of several pages back to where it began', () => {
    for (let i = 0; i < 9; i++) say(`note ${i}`, i);
    sync();
    const reader = newMemoryPhone(studio, id(3), server);
    sync(reader, server, 1);
    expect(reader.meta.cursors[server.id]).toMatchObject({ after: 3, reading: 9 });
    const hub = newStub(id(8));
    sync(reader, hub, 2);
    expect(reader.meta.cursors[server.id]).toMatchObject({ after: 0, digest: '', reading: 0 });
    sync(reader);
    expect(spell(reader)).toBe(spell(phone));
  });
});

describe('a server that went back in time', () => {
  test.each([
    ['says so by its epoch', 'second'],
    ['says nothing', 'first'],
  ])('%s: gets everything back, whoever wrote it', (_, epoch) => {
    const backup = structuredClone(server);
    const other = newMemoryPhone(studio, id(3), server);
    say('from the other', 1, other);
    sync(other);
    for (let i = 2; i < 9; i++) say(`note ${i}`, i);
    sync();
    const all = spell(phone);
    const restored = { ...structuredClone(backup), epoch };
    sync(phone, restored, 8);
    expect(Object.keys(restored.records)).toHaveLength(8);
    expect(textsAt(restored, 1)).toEqual(['from the other']);
    expect(spell(phone)).toBe(all);
    expect(phone.meta.replica).not.toBe(id(2)); // in one epoch, one name
    const third = newMemoryPhone(studio, id(4), server);
    sync(third, restored, 8);
    expect(spell(third)).toBe(all);
  });
  test('one that never was there before gets all of it too', () => {
    say('a');
    sync();
    const hub = newStub(id(8));
    sync(phone, hub, 6);
    expect(textsAt(hub)).toEqual(['a']);
    expect(hub.c).toEqual(phone.meta.c);
  });
  test('what was acknowledged by a server that is gone is in the hand-back in parts of bounded size, once', () => {
    for (let i = 0; i < 40; i++) say('x'.repeat(19_000), i);
    sync();
    const hub = newStub(id(8));
    const asked = request(phone, hub.id);
    take(phone, asked, ask(asked, hub), world);
    const sizes: number[] = [];
    while (phone.meta.cursors[hub.id]?.back) {
      const next = request(phone, hub.id);
      sizes.push(next.back?.records.length ?? 0);
      take(phone, next, ask(next, hub), world);
    }
    expect(sizes.reduce((a, b) => a + b)).toBe(40);
    expect(Math.max(...sizes) * 19_000).toBeLessThan(partBytes + 40_000);
    expect(Object.keys(hub.records)).toHaveLength(40);
  });
  test('a part that comes to be taken twice does not bring us back', () => {
    for (let i = 0; i < 6; i++) say(`note ${i}`, i);
    sync();
    const hub = newStub(id(8));
    const first = request(phone, hub.id);
    take(phone, first, ask(first, hub), world);
    const part = () => request(phone, hub.id, { records: 2 });
    const asked = part();
    const answer = ask(asked, hub);
    take(phone, asked, answer, world);
    const next = part();
    take(phone, next, ask(next, hub), world);
    const back = () => phone.meta.cursors[hub.id]?.back?.from;
    expect(back()).toBe(keyOf('note', id(3)));
    take(phone, { ...asked, after: phone.meta.cursors[hub.id]?.after ?? 0 }, answer, world);
    expect(back()).toBe(keyOf('note', id(3)));
  });
  test('a part that was refused for now is sent again', () => {
    say('a');
    sync();
    const hub = newStub(id(8));
    sync(phone, hub, 1);
    hub.mayWrite = false;
    sync(phone, hub, 2);
    expect(textsAt(hub)).toBeUndefined();
    hub.mayWrite = true;
    sync(phone, hub, 3);
    expect(textsAt(hub)).toEqual(['a']);
  });
  test('a hand-back that must wait for what others hand back begins anew after reading on', () => {
    say('a');
    sync();
    const hub = newStub(id(8));
    sync(phone, hub, 1);
    const asked = request(phone, hub.id, world);
    const again = { replica: id(0), n: 0, reason: 'again', forGood: false };
    const answer = ask({ ...asked, back: undefined }, hub);
    take(phone, asked, { ...answer, refused: [again] }, world);
    expect(phone.meta.cursors[hub.id]).toMatchObject({ ask: true });
    expect(phone.meta.cursors[hub.id]).not.toHaveProperty('back');
    sync(phone, hub, 2);
    expect(textsAt(hub)).toEqual(['a']);
  });
  test('a value that it holds again, though we know it was replaced, goes there too', () => {
    const [second, third] = [newMemoryPhone(studio, id(3), server), newMemoryPhone(studio, id(4), server)];
    say('first');
    sync();
    const backup = structuredClone(server);
    sync(second);
    say('second', 0, second);
    sync(second);
    sync();
    sync(third);
    say('third', 0, third);
    const restored = { ...backup, epoch: 'second' };
    const asked = { ...request(third, server.id), server: '', epoch: '', after: 0, have: {} }; // it heard of its own op alone
    ask(asked, restored);
    expect(textsAt(restored)).toEqual(['third', 'first']);
    sync(phone, restored, 6);
    expect(textsAt(restored)).toEqual(['third']);
    expect(texts(phone)).toEqual(['third']);
  });
  test('a server that lacks nothing is not handed an empty part', () => {
    say('a');
    sync();
    const cursor = phone.meta.cursors[server.id];
    const asking = { ...phone.meta, cursors: { [server.id]: { ...cursor, ask: true } as never } };
    phone.meta = asking;
    const asked = request(phone, server.id);
    take(phone, asked, ask(asked), world);
    const part = startPart(phone.meta, server.id);
    expect(part).toBeDefined();
    if (!part) return;
    const rows = [...phone.rows.values()];
    const full = addToPart(phone.meta, server.id, addToPart(phone.meta, server.id, part, rows), []);
    const settled = settlePart(phone.meta, server.id, full);
    expect(settled.part).toBeUndefined();
    expect(settled.meta.cursors[server.id]).not.toHaveProperty('back');
  });
});

test('what a void replaced comes back to a copy that had got it by hand-over', () => {
  const writer = newMemoryPhone(studio, id(3), server);
  say('stands');
  sync();
  sync(writer);
  write(writer, { ...note(0), set: { text: 'refused' } }, 6000);
  const { meta, rows } = adoptFile(fileOf(writer.meta, [...writer.rows.values()], [], 0), id(5));
  const heir: MemoryPhone = { meta, outbox: [], rows: new Map(rows.map((r) => [keyOf(r.kind, r.id), r])), needs: [] };
  expect(texts(heir)).toEqual(['refused']);
  const dot = dotOf(id(3), 1);
  const over = { text: [dotOf(id(2), 1)] };
  const asked = request(heir, '');
  const answer = ask({ ...asked, ops: [] });
  take(heir, asked, { ...answer, voids: [{ dot, digest: short, ...note(0), over, reason: 'malformed' }] }, world);
  expect(texts(heir)).toEqual(['stands']);
});

test('a purge takes values on every phone, and tells which photos must go', () => {
  const other = newMemoryPhone(studio, id(3), server);
  write(phone, { kind: 'photo', id: id(5), set: { sha256: 'f'.repeat(64), caption: 'a face' } }, 5000);
  sync();
  sync(other);
  write(other, { kind: 'purge', id: id(6), set: { dots: [dotOf(id(2), 1)] } }, 6000);
  let asked = request(other, server.id);
  expect(take(other, asked, ask(asked), world).photosGone).toEqual(['f'.repeat(64)]);
  asked = request(phone, server.id);
  expect(take(phone, asked, ask(asked), world).photosGone).toEqual(['f'.repeat(64)]);
  for (const p of [phone, other]) {
    const row = p.rows.get(keyOf('photo', id(5)));
    expect(row?.fields.caption?.live).toEqual([{ dot: dotOf(id(2), 1), at: [5000, 0], by: '' }]);
  }
  expect(JSON.stringify(server.records)).not.toContain('a face');
});
