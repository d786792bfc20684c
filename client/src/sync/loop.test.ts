import { afterEach, beforeAll, beforeEach, describe, expect, test, vi } from 'vitest';
import { memoryEngine } from '../store/memory';
import { type Store, storeOver } from '../store/store';
import { Failed } from './http';
import { type Loop, type LoopTransport, type Page, startLoop, type TabMessage } from './loop';
import { newId } from './ops';
import { newStub, type StubServer, serve } from './stub-server';
import type { StreamEnd } from './transport';
import { readAnswer, requestBody } from './wire';

const serverId = '5e'.repeat(16);

/** A server over the stub, with a way to it that can be broken. */
function wayTo(stub: StubServer) {
  const way = {
    stub,
    broken: undefined as Failed | undefined,
    calls: 0,
    ops: [] as number[], // of each exchange that arrived
    most: Number.POSITIVE_INFINITY, // ops a proxy lets through
    lose: false, // the next answer gets lost on the way
    hold: undefined as Promise<void> | undefined,
    holdAnswer: undefined as Promise<void> | undefined,
    photos: new Map<string, Uint8Array>(),
    streams: [] as { news(upTo: number): void; end(why: StreamEnd): void }[],
    knocked: 0,
    opened: 0,
    transport: {} as LoopTransport,
  };
  const may = () => {
    way.calls++;
    if (way.broken) throw way.broken;
  };
  way.transport = {
    signIn: async () => {
      may();
      return stub.id;
    },
    exchange: async (_studio, request) => {
      await way.hold;
      may();
      if (request.ops.length > way.most) throw new Failed('too-large');
      way.ops.push(request.ops.length);
      const answer = readAnswer(JSON.parse(serve(stub, requestBody(request))));
      await way.holdAnswer;
      if (way.lose) {
        way.lose = false;
        throw new Failed('offline');
      }
      return answer;
    },
    events: (_studio, news, signal) =>
      new Promise((resolve, reject) => {
        way.knocked++;
        if (way.broken) return reject(way.broken);
        way.opened++;
        const stream = {
          news,
          end: (why: StreamEnd) => {
            way.streams.splice(way.streams.indexOf(stream), 1);
            resolve(why);
          },
        };
        way.streams.push(stream);
        signal.addEventListener('abort', () => stream.end('cut'));
        news(stub.entries.length);
      }),
    putPhoto: async (_studio, sum, photo) => {
      may();
      const named = Object.values(stub.records).some((r) => r.fields.sha256?.live.some((e) => e.value === sum));
      if (!named) throw new Failed('not-found');
      way.photos.set(sum, photo);
    },
    getPhoto: async (_studio, sum) => {
      may();
      const photo = way.photos.get(sum);
      if (!photo) throw new Failed('not-found');
      return photo;
    },
  };
  return way;
}

/** Tabs of one browser: they share locks and a channel, time is the test's. */
function browser() {
  let held: Promise<void> = Promise.resolve();
  const heard = new Set<(m: TabMessage, from: object) => void>();
  return () => {
    const moments = new Map<string, Set<() => void>>();
    const self = {};
    let visible = true;
    const page: Page = {
      now: Date.now,
      random: () => 0.5,
      after: (ms, act) => {
        const timer = setTimeout(act, ms);
        return () => clearTimeout(timer);
      },
      visible: () => visible,
      on: (moment, act) => {
        const acts = moments.get(moment) ?? new Set();
        moments.set(moment, acts.add(act));
        return () => acts.delete(act);
      },
      alone: async (work, signal) => {
        const before = held;
        let release = () => {};
        held = new Promise((resolve) => {
          release = () => void before.then(resolve);
        });
        await Promise.race([before, new Promise((_, no) => signal.addEventListener('abort', no))]).catch((e) => {
          release();
          throw e;
        });
        await work().finally(release);
      },
      tabs: {
        post: (m) => {
          for (const listener of heard) listener(structuredClone(m), self);
        },
        listen: (listener) => {
          const mine = (m: TabMessage, from: object) => from !== self && listener(m);
          heard.add(mine);
          return () => heard.delete(mine);
        },
      },
    };
    const happen = (moment: 'online' | 'visible' | 'hidden') => {
      if (moment !== 'online') visible = moment === 'visible';
      for (const act of moments.get(moment) ?? []) act();
    };
    return { page, happen };
  };
}

const note = (text: string) => ({ kind: 'note', id: newId(), set: { text } });
const settle = (ms = 0) => vi.advanceTimersByTimeAsync(ms);

// What comes with its first use comes in real time, of which these tests have none.
beforeAll(() => Promise.all([import('../store/exchange'), import('../store/copies')]));

let loops: Loop[] = [];
beforeEach(() => {
  vi.useFakeTimers({ now: 1_800_000_000_000 });
});
afterEach(async () => {
  for (const loop of loops) await loop.stop();
  loops = [];
  vi.useRealTimers();
});

async function phoneOf(studio?: string): Promise<Store> {
  const store = await storeOver(memoryEngine(), { zone: () => 0 });
  const own = studio ?? (await store.startStudio(''));
  const link = { server: serverId, studioName: 'Barn', phone: newId(), person: newId(), role: 'keeper', joinedAt: 1 };
  await store.saveLink(own, link);
  await store.enterStudio(own);
  return store;
}

function start(store: Store, way: ReturnType<typeof wayTo>, tab = browser()()) {
  const loop = startLoop(store.device.studio, store, way.transport, tab.page);
  loops.push(loop);
  return { loop, ...tab };
}

const texts = async (store: Store) =>
  (await store.all('note')).map((r) => r.fields.text?.live[0]?.value as string).sort();
const onServer = (stub: StubServer) =>
  Object.values(stub.records)
    .map((r) => r.fields.text?.live[0]?.value as string)
    .sort();

describe('when there is a server', () => {
  test('what is saved goes soon, in one batch, and the strip says so', async () => {
    const [store, way] = [await phoneOf(), wayTo(newStub(serverId))];
    const { loop } = start(store, way);
    await settle();
    expect(loop.state()).toMatchObject({ state: 'idle', waiting: 0, heardAt: Date.now() });
    way.ops.length = 0;
    await store.write([note('a')], Date.now());
    await store.write([note('b')], Date.now());
    await settle();
    expect(loop.state()).toMatchObject({ waiting: 2 });
    await settle(500);
    expect(way.ops.filter((n) => n > 0)).toEqual([2]);
    expect(onServer(way.stub)).toEqual(['a', 'b']);
    expect(loop.state()).toMatchObject({ state: 'idle', waiting: 0, needs: 0 });
  });

  test('the other phone reads it when the stream says that there is news', async () => {
    const way = wayTo(newStub(serverId));
    const one = await phoneOf();
    const other = await phoneOf(one.device.studio);
    start(one, way);
    start(other, way);
    await settle();
    await one.write([note('for you')], Date.now());
    await settle(500);
    expect(await texts(other)).toEqual([]);
    for (const s of way.streams) s.news(way.stub.entries.length);
    await settle();
    expect(await texts(other)).toEqual(['for you']);
    const calls = way.calls;
    for (const s of way.streams) s.news(way.stub.entries.length); // the beat: nothing new
    await settle();
    expect(way.calls).toBe(calls);
  });

  test('news that comes while an answer is on its way is read right after', async () => {
    const way = wayTo(newStub(serverId));
    const one = await phoneOf();
    const other = await phoneOf(one.device.studio);
    start(one, way);
    await settle();
    await one.write([note('first')], Date.now());
    const { loop } = start(other, way);
    await settle(500);
    loop.poke('hand');
    await settle();
    expect(await texts(other)).toEqual(['first']);

    let again = () => {};
    way.holdAnswer = new Promise((resolve) => {
      again = resolve;
    });
    loop.poke('hand');
    await settle();
    way.holdAnswer = undefined;
    await one.write([note('second')], Date.now());
    await settle(500);
    for (const s of way.streams) s.news(way.stub.entries.length);
    again();
    await settle();
    expect(await texts(other)).toEqual(['first', 'second']);
  });

  test('what a copy took from the outbox is handed to the server all the same', async () => {
    const [store, way] = [await phoneOf(), wayTo(newStub(serverId))];
    await store.write([note('a'), note('b')], Date.now());
    const other = await phoneOf(store.device.studio);
    await other.openCopy(await store.exportCopy(Date.now()), Date.now());
    await other.write([note('d')], Date.now());
    await store.openCopy(await other.exportCopy(Date.now()), Date.now());
    await store.write([note('c')], Date.now());
    expect((await store.counts()).waiting).toBe(3);
    const { loop } = start(store, way);
    await settle();
    expect(onServer(way.stub)).toEqual(['a', 'b', 'c', 'd']);
    expect(loop.state()).toMatchObject({ state: 'idle', waiting: 0 });
  });

  test('a phone that is joined to none sends nothing, ever', async () => {
    const store = await storeOver(memoryEngine());
    await store.startStudio('');
    const way = wayTo(newStub(serverId));
    const { loop, happen } = start(store, way);
    await store.write([note('mine')], Date.now());
    loop.poke('hand');
    happen('online');
    await settle(3_600_000);
    expect(way.calls).toBe(0);
    expect(loop.state()).toMatchObject({ state: 'alone', waiting: 1 });
  });

  test('an entry added while the answer is on its way goes with the next one', async () => {
    const [store, way] = [await phoneOf(), wayTo(newStub(serverId))];
    start(store, way);
    await settle();
    let go = () => {};
    way.hold = new Promise((resolve) => {
      go = resolve;
    });
    await store.write([note('a')], Date.now());
    await settle(500);
    await store.write([note('b')], Date.now());
    way.hold = undefined;
    go();
    await settle(500);
    expect(onServer(way.stub)).toEqual(['a', 'b']);
    expect((await store.counts()).waiting).toBe(0);
  });

  test('a batch whose answer is lost three times is there once', async () => {
    const [store, way] = [await phoneOf(), wayTo(newStub(serverId))];
    const { loop } = start(store, way);
    await settle();
    await store.write([note('a'), note('b')], Date.now());
    for (const _ of [1, 2, 3]) {
      way.lose = true;
      loop.poke('hand');
      await settle();
      expect(loop.state()).toMatchObject({ state: 'offline', waiting: 2 });
    }
    loop.poke('hand');
    await settle();
    expect(way.stub.entries).toHaveLength(2);
    expect(loop.state()).toMatchObject({ state: 'idle', waiting: 0 });
  });

  test('a batch that is too large for the way is halved until it fits', async () => {
    const [store, way] = [await phoneOf(), wayTo(newStub(serverId))];
    way.most = 3;
    await store.write(
      Array.from({ length: 20 }, (_, i) => note(`${i}`)),
      Date.now(),
    );
    const { loop } = start(store, way);
    await settle();
    expect(onServer(way.stub)).toHaveLength(20);
    expect(loop.state()).toMatchObject({ state: 'idle', waiting: 0 });
  });

  test('one of ten is refused for good: nine arrive in the same run', async () => {
    const [store, way] = [await phoneOf(), wayTo(newStub(serverId))];
    await store.write(
      [{ kind: 'person', id: newId(), set: { name: 'not mine to write' } }, ...'bcdefghij'].map((d) =>
        typeof d === 'string' ? note(d) : d,
      ),
      Date.now(),
    );
    const { loop } = start(store, way);
    await settle();
    expect(onServer(way.stub)).toHaveLength(9);
    expect(loop.state()).toMatchObject({ state: 'idle', waiting: 0, needs: 1 });
  });

  test('after a restore the phone hands back what the server lost', async () => {
    const stub = newStub(serverId);
    const [store, way] = [await phoneOf(), wayTo(stub)];
    const { loop } = start(store, way);
    await store.write([note('a'), note('b')], Date.now());
    await settle(500);
    Object.assign(stub, newStub(serverId), { epoch: 'second' });
    loop.poke('hand');
    await settle();
    expect(onServer(stub)).toEqual(['a', 'b']);
    expect(loop.state()).toMatchObject({ state: 'idle', waiting: 0 });
  });

  test('a server that never takes anything in is not asked without end', async () => {
    const [store, way] = [await phoneOf(), wayTo(newStub(serverId))];
    const real = way.transport.exchange;
    way.transport.exchange = async (...args) => ({ ...(await real(...args)), acked: {}, refused: [] });
    await store.write([note('a')], Date.now());
    const { loop } = start(store, way);
    await settle();
    expect(way.calls).toBeLessThan(20);
    expect(loop.state()).toMatchObject({ state: 'offline', why: 'strange', waiting: 1 });
  });
});

describe('when the way is bad', () => {
  test('it is tried later and later, up to five minutes, and at once when something changes', async () => {
    const [store, way] = [await phoneOf(), wayTo(newStub(serverId))];
    way.broken = new Failed('offline');
    const { loop, happen } = start(store, way);
    const waits: number[] = [];
    for (let i = 0; i < 10; i++) {
      await settle();
      const { nextAt = 0 } = loop.state();
      waits.push(nextAt - Date.now());
      await settle(nextAt - Date.now());
    }
    expect(waits.slice(0, 3)).toEqual([3000, 6000, 12_000]);
    expect(waits.at(-1)).toBe(225_000);
    expect(way.calls).toBe(11);
    for (const [moment, after] of [
      ['online', 11],
      ['visible', 12],
    ] as const) {
      await settle(5000);
      expect(way.calls).toBe(after);
      if (moment === 'visible') happen('hidden');
      await settle();
      happen(moment);
      await settle();
      expect(way.calls).toBe(after + 1);
    }
    await settle(5000);
    loop.poke('hand');
    await settle();
    expect(way.calls).toBe(14);
    await settle(5000);
    await store.write([note('a')], Date.now());
    await settle(500);
    expect(way.calls).toBe(15);
    way.broken = undefined;
    loop.poke('hand');
    await settle();
    expect(loop.state()).toMatchObject({ state: 'idle', waiting: 0, nextAt: undefined });
  });

  test('writes in a row do not hammer a server that is away', async () => {
    const [store, way] = [await phoneOf(), wayTo(newStub(serverId))];
    way.broken = new Failed('offline');
    start(store, way);
    await settle();
    const before = way.calls;
    for (let i = 0; i < 20; i++) {
      await store.write([note(`${i}`)], Date.now());
      await settle(500);
    }
    expect(way.calls - before).toBeLessThanOrEqual(5); // 10 s, never closer than 2 s
    expect(way.calls - before).toBeGreaterThan(1);
  });

  test('a server that asks to wait is left alone so long', async () => {
    const [store, way] = [await phoneOf(), wayTo(newStub(serverId))];
    way.broken = new Failed('too-many', '', '', 600);
    const { loop } = start(store, way);
    await settle();
    loop.poke('hand');
    await settle(599_000);
    expect(way.calls).toBe(1);
    way.broken = undefined;
    await settle(1000);
    expect(loop.state().state).toBe('idle');
  });

  test.each([
    ['unauthenticated', 'refused'],
    ['denied', 'refused'],
    ['unknown-server', 'refused'],
    ['too-old', 'too-old'],
    ['server-too-old', 'too-new'],
    ['unavailable', 'offline'],
    ['strange', 'offline'],
  ] as const)('%s deletes nothing and says %s', async (kind, state) => {
    const [store, way] = [await phoneOf(), wayTo(newStub(serverId))];
    await store.write([note('a')], Date.now());
    way.broken = new Failed(kind, 'its sentence');
    const { loop } = start(store, way);
    await settle(3_600_000);
    expect(loop.state()).toMatchObject({ state, why: kind, text: 'its sentence', waiting: 1 });
    expect(await texts(store)).toEqual(['a']);
    expect((await store.studios())[0]?.links).toHaveLength(1);
    way.broken = undefined;
    loop.poke('hand');
    await settle();
    expect(onServer(way.stub)).toEqual(['a']);
  });

  test('without the right to write everything waits, is read all the same, and flows when the right returns', async () => {
    const way = wayTo(newStub(serverId));
    const one = await phoneOf();
    const other = await phoneOf(one.device.studio);
    start(other, way);
    await other.write([note('theirs')], Date.now());
    await settle(500);
    way.stub.mayWrite = false;
    await one.write([note('mine')], Date.now());
    const { loop } = start(one, way);
    await settle();
    expect(loop.state()).toMatchObject({ state: 'refused', why: 'no-right', waiting: 1 });
    expect(await texts(one)).toEqual(['mine', 'theirs']);
    way.stub.mayWrite = true;
    await settle(10_000);
    expect(loop.state()).toMatchObject({ state: 'idle', waiting: 0, why: undefined });
  });

  test('a full phone says so and keeps its place', async () => {
    const engine = memoryEngine();
    const store = await storeOver(engine);
    const studio = await store.startStudio('');
    await store.saveLink(studio, { server: serverId, studioName: '', phone: '', person: '', role: '', joinedAt: 1 });
    const way = wayTo(newStub(serverId));
    await store.write([note('a')], Date.now());
    engine.fail('full');
    const { loop } = start(store, way);
    await settle();
    expect(loop.state()).toMatchObject({ state: 'refused', why: 'full', waiting: 1 });
    await settle(10_000);
    expect(loop.state()).toMatchObject({ state: 'idle', waiting: 0 });
    expect(way.stub.entries).toHaveLength(1);
  });
});

describe('the stream', () => {
  test('is opened once the server answers, again when it ends, and not while hidden', async () => {
    const [store, way] = [await phoneOf(), wayTo(newStub(serverId))];
    way.broken = new Failed('offline');
    const { happen } = start(store, way);
    await settle(1000);
    expect(way.opened).toBe(0);
    way.broken = undefined;
    await settle(10_000);
    expect(way.opened).toBe(1);
    way.streams[0]?.end('token');
    await settle();
    expect(way.opened).toBe(2);
    way.streams[0]?.end('stopping');
    await settle(1100);
    expect(way.opened).toBe(3);
    happen('hidden');
    await settle(60_000);
    expect(way.streams).toHaveLength(0);
    happen('visible');
    await settle();
    expect(way.streams).toHaveLength(1);
  });

  test('that still beats brings a try that was put off', async () => {
    const [store, way] = [await phoneOf(), wayTo(newStub(serverId))];
    const { loop } = start(store, way);
    await settle();
    const real = way.transport.exchange;
    way.transport.exchange = async () => {
      throw new Failed('offline');
    };
    loop.poke('hand');
    await settle(100_000);
    expect(loop.state().state).toBe('offline');
    way.transport.exchange = real;
    way.streams[0]?.news(way.stub.entries.length);
    await settle();
    expect(loop.state().state).toBe('idle');
  });

  test('is not knocked for while the server does not answer', async () => {
    const [store, way] = [await phoneOf(), wayTo(newStub(serverId))];
    start(store, way);
    await settle();
    way.broken = new Failed('offline');
    way.streams[0]?.end('stopping');
    await settle(3_600_000);
    expect(way.knocked).toBe(1);
    way.broken = undefined;
    await settle(300_000);
    expect(way.opened).toBe(2);
  });

  test('that ends at once again and again is opened later and later', async () => {
    const [store, way] = [await phoneOf(), wayTo(newStub(serverId))];
    const real = way.transport.events;
    way.transport.events = (studio, _news, signal) => {
      const open = real(studio, () => {}, signal);
      way.streams.at(-1)?.end('cut');
      return open;
    };
    start(store, way);
    await settle(60_000);
    expect(way.opened).toBeLessThan(8);
    expect(way.opened).toBeGreaterThan(2);
  });
});

describe('two tabs', () => {
  test('send by one; when it goes, the other takes over; both show the same', async () => {
    const [store, way] = [await phoneOf(), wayTo(newStub(serverId))];
    const tabs = browser();
    const a = start(store, way, tabs());
    const b = start(store, way, tabs());
    await settle();
    expect(way.streams).toHaveLength(1);
    await store.write([note('a')], Date.now());
    await settle(500);
    expect(way.ops.filter((n) => n > 0)).toEqual([1]);
    expect(b.loop.state()).toEqual(a.loop.state());
    const calls = way.calls;
    b.loop.poke('hand'); // the tab that does not lead asks the one that does
    await settle();
    expect(way.calls).toBe(calls + 2);
    a.happen('hidden');
    await settle();
    expect(way.streams).toHaveLength(1);
    await store.write([note('b')], Date.now());
    await settle(500);
    expect(onServer(way.stub)).toEqual(['a', 'b']);
    expect(a.loop.state()).toEqual(b.loop.state());
  });

  test('a tab that is opened later shows at once how it stands', async () => {
    const [store, way] = [await phoneOf(), wayTo(newStub(serverId))];
    const tabs = browser();
    const a = start(store, way, tabs());
    await settle();
    const b = start(store, way, tabs());
    await settle();
    expect(a.loop.state().state).toBe('idle');
    expect(b.loop.state()).toEqual(a.loop.state());
  });

  test('a tab that is hidden right after a save sends it before it goes', async () => {
    const [store, way] = [await phoneOf(), wayTo(newStub(serverId))];
    const { happen } = start(store, way);
    await settle();
    await store.write([note('last words')], Date.now());
    await settle();
    happen('hidden');
    await settle();
    expect(onServer(way.stub)).toEqual(['last words']);
  });
});

describe('photos', () => {
  const jpeg = Uint8Array.from([0xff, 0xd8, 0xff, 1, 2, 3]);
  const keep = async (store: Store) => {
    const digest = new Uint8Array(await crypto.subtle.digest('SHA-256', jpeg));
    const sha256 = [...digest].map((b) => b.toString(16).padStart(2, '0')).join('');
    await store.savePhoto({ sha256, bytes: jpeg.slice().buffer, type: 'image/jpeg', sent: false });
    return sha256;
  };

  test('go after the record that names them, and come to the other phone', async () => {
    const way = wayTo(newStub(serverId));
    const one = await phoneOf();
    const other = await phoneOf(one.device.studio);
    const sha256 = await keep(one);
    const { loop } = start(one, way);
    await settle();
    expect(way.photos.size).toBe(0); // no record names it yet
    expect(loop.state()).toMatchObject({ state: 'idle', photosWaiting: 1 });
    await one.write([{ kind: 'photo', id: newId(), set: { sha256, parentKind: 'note', parent: newId() } }], Date.now());
    await settle(70_000);
    loop.poke('hand');
    await settle();
    expect([...way.photos.keys()]).toEqual([sha256]);
    expect(loop.state()).toMatchObject({ photosWaiting: 0 });
    start(other, way);
    await settle();
    expect(await other.photo(sha256)).toMatchObject({ type: 'image/jpeg', sent: true });
  });

  test('one that is not there yet does not hold up the rest, and comes later', async () => {
    const way = wayTo(newStub(serverId));
    const one = await phoneOf();
    const other = await phoneOf(one.device.studio);
    const sha256 = await keep(one);
    await one.write([{ kind: 'photo', id: newId(), set: { sha256 } }], Date.now());
    const put = way.transport.putPhoto;
    way.transport.putPhoto = async () => {
      throw new Failed('offline');
    };
    start(one, way);
    await settle();
    const { loop } = start(other, way);
    await settle();
    expect(loop.state().state).toBe('idle');
    expect(await other.photoWork(other.device.studio, 'down', 9)).toEqual([sha256]);
    way.transport.putPhoto = put;
    await settle(61_000);
    loop.poke('hand');
    await settle();
    expect(await other.photo(sha256)).toBeDefined();
  });
});
