import { describe, expect, it, vi } from 'vitest';
import { createApp, type Outside } from './app';
import { codesIn, codesOut, lookAtCopy, openCopy } from './copy';
import type { CodesAct, Intent } from './state';
import { keptMs } from './store/codes';
import { memoryEngine } from './store/memory';
import { storeOver } from './store/store';
import { newId } from './sync/ops';

/** A phone on which nothing is set up, with what the page gives the loop. */
async function phone(more: Partial<Outside> = {}) {
  const engine = memoryEngine();
  const app = createApp(() => storeOver(engine), {
    now: () => Date.UTC(2026, 4, 1),
    zone: () => 120,
    path: () => '/codes',
    go: () => {},
    back: () => {},
    ...{ lookAtCopy, openCopy, codesOut, codesIn },
    ...more,
  });
  await app.start();
  const send = async (...intents: Intent[]) => {
    for (const i of intents) app.send(i);
    await app.settled();
  };
  const codes = (act: CodesAct) => send({ type: 'codes-in', do: act });
  return { app, engine, send, codes, state: () => app.state.value };
}

/** A studio of three notes, as a file and as codes. */
async function given() {
  const store = await storeOver(memoryEngine());
  await store.startStudio('');
  await store.write([{ kind: 'studio', id: newId(), set: { name: 'Lantern Lane' } }], 900);
  for (let n = 0; n < 3; n++)
    await store.write([{ kind: 'note', id: newId(), set: { text: `${newId()} `.repeat(9) } }], 1000 + n);
  return { file: await store.exportCopy(2000), codes: (await codesOut(store)).codes };
}

/** A phone that has read all codes of a studio and looked at what they bring. */
async function readWhole(more: Partial<Outside> = {}) {
  const p = await phone(more);
  const { codes, file } = await given();
  for (const text of codes) await p.codes({ do: 'read', text });
  const read = p.state().codesIn?.file as File;
  await p.send({ type: 'look-at-copy', file: read });
  return { p, file, read, codes };
}

describe('codes that a camera read', () => {
  it('are looked at, brought in once, and not kept any longer', async () => {
    const { p, read } = await readWhole();
    expect(p.state()).toMatchObject({ looked: read, said: { seen: { of: ['Lantern Lane'], kinds: { note: 3 } } } });
    await p.send({ type: 'open-copy', file: read });
    expect(p.state().codesIn).toEqual({ came: '4 records opened.' });
    expect(await p.app.store().codes(0)).toEqual([]);
    await p.send({ type: 'look-at-copy', file: read }); // by the screen that came with the studio
    expect(p.state().said).toBe('4 records opened.');
  });

  it('are kept where nothing was brought in, and thrown away where the person says so', async () => {
    const { p, codes } = await readWhole();
    expect(await p.app.store().codes(0)).toHaveLength(codes.length);
    await p.codes({ do: 'drop' });
    expect(p.state().codesIn).toEqual({});
    expect(await p.app.store().codes(0)).toEqual([]);
  });
});

describe('a phone with no room', () => {
  it('says so of a code until one is kept, and counts none that is not', async () => {
    const p = await phone();
    const [one = '', two = ''] = (await given()).codes;
    p.engine.fail('full');
    await p.codes({ do: 'read', text: one });
    expect([p.state().trouble, p.state().codesIn?.run]).toEqual(['full', undefined]);
    await p.codes({ do: 'read', text: two });
    expect(p.state().trouble).toBeUndefined();
    expect(p.state().codesIn?.missing).toContain(0);
  });

  it('says so no longer when it is told to try again and nothing waits', async () => {
    const p = await phone();
    p.engine.fail('full');
    await p.codes({ do: 'read', text: (await given()).codes[0] ?? '' });
    await p.send({ type: 'try-again' });
    expect(p.state().trouble).toBeUndefined();
  });

  it('leaves a copy to be brought in again', async () => {
    const { p, read } = await readWhole();
    const before = p.state().said;
    p.engine.fail('full');
    await p.send({ type: 'open-copy', file: read });
    expect(p.state()).toMatchObject({ trouble: 'full', said: before, looked: read });
    await p.send({ type: 'open-copy', file: read });
    expect(p.state()).toMatchObject({ trouble: undefined, said: '4 records opened.' });
  });

  it('does not stand reading for ever when a copy can’t be looked at', async () => {
    const p = await phone({
      lookAtCopy: async (_store, _file, told) => {
        told(0.5);
        throw new DOMException('gone', 'NotReadableError');
      },
    });
    const logged = vi.spyOn(console, 'error').mockImplementation(() => {});
    await p.send({ type: 'look-at-copy', file: new Blob() });
    expect(p.state()).toMatchObject({ trouble: 'unknown', said: undefined });
    expect(logged).toHaveBeenCalledTimes(1);
    logged.mockRestore();
  });
});

describe('codes for another phone', () => {
  it('that could not be made are not waited for, and made when they are asked for again', async () => {
    const p = await phone();
    await p.send({ type: 'start' });
    p.engine.fail('full');
    await p.send({ type: 'codes-out' });
    expect(p.state()).toMatchObject({ trouble: 'full', codesOut: { codes: [], count: 0 } });
    await p.send({ type: 'codes-out' });
    expect(p.state().trouble).toBeUndefined();
    expect(p.state().codesOut?.codes.length).toBeGreaterThan(0);
  });
});

describe('a run that was given up', () => {
  it('is gone a week later, when the app is opened', async () => {
    const p = await phone({ now: () => Date.now() + keptMs + 1000 });
    await p.send({ type: 'start' });
    await p.codes({ do: 'read', text: (await given()).codes[0] ?? '' });
    expect(await p.app.store().codes(0)).toHaveLength(1);
    await p.app.start();
    await vi.waitFor(async () => expect(await p.app.store().codes(0)).toEqual([]));
  });
});

describe('what is said of a copy', () => {
  it('is bound to the file that was looked at', async () => {
    const p = await phone();
    const { file } = await given();
    await p.send({ type: 'look-at-copy', file });
    expect(p.state().looked).toBe(file);
    const other = new Blob(['no copy']);
    p.app.send({ type: 'look-at-copy', file: other });
    expect(p.state().looked).not.toBe(other); // not before it was looked at
    await p.app.settled();
    expect(p.state().looked).toBe(other);
  });
});
