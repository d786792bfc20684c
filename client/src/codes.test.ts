import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex } from '@noble/hashes/utils.js';
import { describe, expect, it } from 'vitest';
import { codesIn, codesOut } from './codes';
import { deflated } from './deflate';
import type { CodesIn } from './state';
import { keptMs } from './store/codes';
import { memoryEngine } from './store/memory';
import { storeOver } from './store/store';
import { mostUnpackedBytes, partBytes, runCodes } from './sync/code-run';
import { newId } from './sync/ops';
import { pace, perSecond, text } from './text/codes';

const words = (seed: number): string =>
  Array.from({ length: 400 }, (_, i) => ((i * 7919 + seed * 104_729) % 99_991).toString(36)).join(' ');

async function studio(notes = 3) {
  const engine = memoryEngine();
  const store = await storeOver(engine);
  await store.startStudio('');
  for (let n = 0; n < notes; n++) await store.write([{ kind: 'note', id: newId(), set: { text: words(n) } }], 1000 + n);
  return { store, engine };
}
const emptyPhone = async () => {
  const engine = memoryEngine();
  return { store: await storeOver(engine), again: () => storeOver(engine) };
};
type Store = Awaited<ReturnType<typeof studio>>['store'];
const readAll = async (store: Store, texts: readonly string[], from?: CodesIn): Promise<CodesIn> => {
  let now = from;
  for (const text of texts) now = await codesIn(store, { do: 'read', text }, now);
  return now ?? {};
};

describe('the picture', () => {
  it('flashes no more than three times a second, and slower where motion is to be less', () => {
    expect(perSecond / 2).toBeLessThanOrEqual(3); // dark and light again is one flash
    expect(pace(false)).toBe(perSecond);
    expect(pace(true)).toBeLessThanOrEqual(perSecond / 3);
    expect(text.codes(90, true)).toBe('90 codes, about 1 min for all of them once.');
  });
});

describe('a studio as codes', () => {
  it('comes whole to a phone that reads them in any order, with foreign and damaged ones between', async () => {
    const { codes, count, round } = await codesOut((await studio()).store);
    expect(codes).toHaveLength(count);
    expect(count).toBeGreaterThan(5);
    expect(new Set(round)).toEqual(new Set(codes.keys()));
    const { store } = await emptyPhone();
    const other = (await codesOut((await studio(1)).store)).codes[0] ?? '';
    const [first = '', ...rest] = codes.toReversed();
    let now = await readAll(store, [first]);
    for (const [text, fault] of [
      ['https://lantern.example/', 'not-ours'],
      [other, 'other-run'],
      [(rest[0] ?? '').replace(/.$/, (c) => (c === '0' ? '1' : '0')), 'damaged'],
      ['EVENPULL RUN 9 0', 'newer'],
    ] as const) {
      now = await codesIn(store, { do: 'read', text }, now);
      expect(now).toMatchObject({ fault, run: { codes: { length: count } } });
      expect(now.missing).toHaveLength(count - 1);
    }
    expect(await readAll(store, [first], now)).toMatchObject({ fault: undefined });
    const { file, fault } = await readAll(store, rest, now);
    expect(fault).toBeUndefined();
    expect(await store.lookAtCopy(file as File, 1)).toMatchObject({ how: 'adopted', of: [], kinds: { note: 3 } });
    expect(await store.openCopy(file as File, 1)).toMatchObject({ how: 'adopted', records: 3 });
  });

  it('is the same run as long as nothing is written', async () => {
    const { store } = await studio();
    const { codes } = await codesOut(store);
    expect((await codesOut(store)).codes).toEqual(codes);
    await store.write([{ kind: 'note', id: newId(), set: { text: 'new' } }], 5000);
    expect((await codesOut(store)).codes).not.toEqual(codes);
  });

  it('is no copy that was kept', async () => {
    const { store } = await studio();
    const before = await store.counts();
    await codesOut(store);
    expect(await store.counts()).toEqual(before);
  });

  it('is another one each time while something could not be saved, and says so', async () => {
    const { store, engine } = await studio();
    expect((await codesOut(store)).stays).toBe(true);
    engine.fail('full');
    await store.write([{ kind: 'note', id: newId(), set: { text: 'new' } }], 5000).catch(() => undefined);
    const [one, two] = [await codesOut(store), await codesOut(store)];
    expect([one.stays, one.codes.length > 0, one.codes[0] === two.codes[0]]).toEqual([false, true, false]);
  });

  it('is no run when more would come out of it than a phone takes, however well it packs', async () => {
    const { store } = await studio(1);
    for (let n = 0; n < 9; n++)
      await store.write(
        Array.from({ length: 50 }, () => ({ kind: 'note', id: newId(), set: { text: '~'.repeat(20_000) } })),
        6000 + n,
      );
    const { codes, count } = await codesOut(store);
    expect(codes).toEqual([]);
    expect(count).toBeGreaterThan(mostUnpackedBytes / partBytes);
  });

  it('says how many codes a studio would be that is too much for them', async () => {
    const { store } = await studio(1);
    let n = 1; // bytes that can't be packed
    const bytes = Uint8Array.from({ length: 300_000 }, () => {
      n = (Math.imul(n, 1_103_515_245) + 12_345) >>> 0;
      return n >>> 24;
    }).buffer;
    const sum = bytesToHex(sha256(new Uint8Array(bytes)));
    await store.savePhoto({ sha256: sum, bytes, type: 'image/jpeg', sent: false });
    await store.write(
      [{ kind: 'photo', id: newId(), set: { parentKind: 'note', parent: newId(), sha256: sum } }],
      9000,
    );
    const { codes, count } = await codesOut(store);
    expect(codes).toEqual([]);
    expect(count).toBeGreaterThan(1000);
  });
});

describe('what was read of a run', () => {
  it('is there again after the tab was closed, until it is thrown away', async () => {
    const { codes } = await codesOut((await studio()).store);
    const { store, again } = await emptyPhone();
    const before = await readAll(store, [codes[4] ?? '', codes[1] ?? '']);
    const later = await again();
    expect(await codesIn(later, { do: 'take-up' })).toEqual(before);
    await readAll(later, codes, before);
    const whole = await codesIn(await again(), { do: 'take-up' });
    expect(whole.file?.size).toBeGreaterThan(0);
    expect(await codesIn(later, { do: 'drop' }, whole)).toEqual({});
    expect(await codesIn(await again(), { do: 'take-up' })).toEqual({});
    expect(await later.meta('device')).toBeUndefined(); // and nothing else was touched
  });

  it('is refused whole where its codes are right and what they hold is not', async () => {
    const { store } = await emptyPhone();
    const bytes = Uint8Array.from({ length: 600 }, (_, i) => (i * 151) & 255);
    const read = await readAll(store, runCodes(bytes) ?? []);
    expect(read).toMatchObject({ fault: 'not-whole', missing: [] });
    expect(read.file).toBeUndefined();
    expect((await codesIn(store, { do: 'take-up' })).fault).toBe('not-whole'); // until it is thrown away
  });

  it('is refused where more comes out of it than a copy of this size can be', async () => {
    const { store } = await emptyPhone();
    const bomb = await deflated(new Uint8Array(mostUnpackedBytes + 1));
    const read = await readAll(store, runCodes(bomb) ?? []);
    expect([read.missing, read.fault, read.file]).toEqual([[], 'not-whole', undefined]);
    const most = await readAll(
      (await emptyPhone()).store,
      runCodes(await deflated(new Uint8Array(mostUnpackedBytes))) ?? [],
    );
    expect(most.file?.size).toBe(mostUnpackedBytes);
  });

  it('is kept a week, each run apart from another tab’s', async () => {
    const { store, again } = await emptyPhone();
    const kept = (run: string, at: number) => store.keepCode({ run, index: 0, text: `${run} at ${at}`, at });
    await kept('aa', 1);
    await kept('bb', 5);
    await kept('cc', 5);
    expect(await (await again()).codes(5)).toEqual(['aa at 1', 'bb at 5', 'cc at 5']);
    await codesIn(store, { do: 'drop' }, { run: { id: 'cc', codes: [] } });
    expect(await (await again()).codes(5)).toEqual(['aa at 1', 'bb at 5']);
    expect(await store.codes(1 + keptMs)).toEqual(['bb at 5']);
    expect(await (await again()).codes(5)).toEqual(['bb at 5']); // gone, not passed over
  });
});
