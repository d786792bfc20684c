import { beforeEach, describe, expect, test } from 'vitest';
import { addToPart, partBytes, settlePart, startPart } from './handback';
import { newMemoryPhone, request, spell, take } from './memory';
import { dotOf } from './merge';
import { forkName, shortOf } from './ops';
import { keyOf } from './phone';
import { id, newScene, short, studio, texts, textsAt } from './scene';
import { newStub } from './stub-server';

let { phone, server, world, say, ask, sync } = newScene();
beforeEach(() => {
  ({ phone, server, world, say, ask, sync } = newScene());
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
