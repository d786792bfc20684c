import { describe, expect, test } from 'vitest';
import { memoryEngine } from '../store/memory';
import { type Store, storeOver } from '../store/store';
import { newId } from './ops';
import { mostAtOnce } from './replication';
import { type Round, round } from './round';
import { newStub, type StubServer, serve } from './stub-server';
import { type Answer, type Request, readAnswer, requestBody } from './wire';

const note = (text: string) => ({ kind: 'note', id: newId(), set: { text } });
const ask = (stub: StubServer, request: Request): Answer => readAnswer(JSON.parse(serve(stub, requestBody(request))));

async function phone(stub: StubServer, studio: string): Promise<Store> {
  const store = await storeOver(memoryEngine(), { zone: () => 0 });
  const link = { server: stub.id, studioName: '', phone: newId(), person: newId(), role: 'keeper', joinedAt: 1 };
  await store.saveLink(studio, link);
  await store.enterStudio(studio);
  return store;
}

function roundOf(store: Store, exchange: (request: Request) => Promise<Answer>): Round {
  const none = () => Promise.reject(new Error('no photos here'));
  const id = '5e'.repeat(16);
  return {
    ...{ store, studio: store.device.studio, size: { most: mostAtOnce }, photoFailed: new Map(), now: () => 5 },
    transport: { signIn: async () => id, exchange: (_studio, r) => exchange(r), putPhoto: none, getPhoto: none },
    signal: new AbortController().signal,
    took: () => {},
  };
}

const texts = async (store: Store) => (await store.all('note')).map((r) => r.fields.text?.live[0]?.value).sort();

/** A server with so many notes, which it gives a few at a time, and a phone that has none. */
async function longReading() {
  const stub = newStub('5e'.repeat(16));
  const studio = newId();
  const one = await phone(stub, studio);
  const all = Array.from({ length: 40 }, (_, i) => `note ${i}`);
  await one.write(all.map(note), 1);
  await round(roundOf(one, async (r) => ask(stub, r)));
  stub.pageRecords = 7;
  return { stub, all: all.sort(), two: await phone(stub, studio) };
}

describe('a long reading', () => {
  test('asks for a page while the one before is stored, each once', async () => {
    const { stub, all, two } = await longReading();
    const asked: number[] = []; // how many questions were asked when each answer was stored
    const shares: number[] = [];
    let questions = 0;
    const after = new Set<number>();
    const seen: Store = { ...two, device: two.device };
    seen.take = (...a) => {
      asked.push(questions);
      return two.take(...a);
    };
    const exchange = async (r: Request) => {
      questions++;
      after.add(r.after);
      return ask(stub, r);
    };
    await round({ ...roundOf(seen, exchange), took: (_more, share) => share !== undefined && shares.push(share) });
    expect(await texts(two)).toEqual(all);
    expect(shares).toEqual([...new Set(shares)].sort((a, b) => a - b)); // a bar that only grows
    expect(shares.length).toBeGreaterThan(3);
    expect(shares.every((s) => s > 0 && s < 1)).toBe(true);
    // The first question knows no server to go on with, the last answer has no page after it.
    expect(asked).toEqual([1, ...asked.slice(1, -1).map((_, i) => i + 3), questions]);
    expect(asked.length).toBeGreaterThan(5);
    expect(after.size).toBe(questions); // none was asked twice
  });

  test('goes on where something was written meanwhile: it is sent, and the page asked for before is left', async () => {
    const { stub, all, two } = await longReading();
    let n = 0;
    const exchange = async (r: Request) => {
      if (++n === 4) await two.write([note('written meanwhile')], 2);
      return ask(stub, r);
    };
    await round(roundOf(two, exchange));
    expect(await texts(two)).toEqual([...all, 'written meanwhile'].sort());
    expect((await two.counts()).waiting).toBe(0);
  });

  test('that is cut ends with what was stored, and the next one goes on there', async () => {
    const { stub, all, two } = await longReading();
    let n = 0;
    const cut = async (r: Request) => {
      if (++n === 4) throw new Error('cut');
      return ask(stub, r);
    };
    await expect(round(roundOf(two, cut))).rejects.toThrow('cut');
    const before = await two.count('note');
    expect(before).toBeGreaterThan(0);
    expect(before).toBeLessThan(all.length);
    const asked: number[] = [];
    await round(
      roundOf(two, async (r) => {
        asked.push(r.after);
        return ask(stub, r);
      }),
    );
    expect(asked[0]).toBeGreaterThan(0);
    expect(await texts(two)).toEqual(all);
  });
});
