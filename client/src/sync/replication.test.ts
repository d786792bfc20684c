import { beforeEach, describe, expect, test } from 'vitest';
import { adoptFile, fileOf } from './handover';
import { type MemoryPhone, newMemoryPhone, request, spell, take, write } from './memory';
import { dotOf } from './merge';
import { chainStart, limits, shortOf } from './ops';
import { keyOf } from './phone';
import { buildRequest, half, mostAtOnce, neededKeys, takeAnswer } from './replication';
import { id, newScene, note, short, studio, texts } from './scene';
import { requestBody } from './wire';

let { phone, server, world, say, ask, sync } = newScene();
beforeEach(() => {
  ({ phone, server, world, say, ask, sync } = newScene());
});

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
