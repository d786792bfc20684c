import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex } from '@noble/hashes/utils.js';
import { describe, expect, it, vi } from 'vitest';
import { createApp, fileAfterMs, type Outside } from './app';
import { lastReading } from './domain/bench';
import { bobbinScrew, topScrew } from './domain/task/ledger';
import { position } from './domain/task/screws';
import { standing } from './domain/task/way-in';
import { find, joinText, list, needText, shown } from './read';
import type { Intent, State } from './state';
import { answerTo } from './store/contract';
import { StoreError } from './store/errors';
import { memoryEngine } from './store/memory';
import { type Draft, storeOver } from './store/store';
import { dotOf } from './sync/merge';
import { newId } from './sync/ops';
import { quietMs } from './typing';

const day = 24 * 3600 * 1000;

/** A phone whose clock stands still. `again` is the browser opened anew on the same store. */
async function phone(engine = memoryEngine(), at = Date.UTC(2026, 4, 1), path = '/', more: Partial<Outside> = {}) {
  const where = { path, hash: '' };
  const app = createApp(() => storeOver(engine, { zone: () => 120 }), {
    now: () => at,
    zone: () => 120,
    path: () => where.path,
    hash: () => where.hash,
    go: (to) => {
      Object.assign(where, { path: to, hash: '' });
    },
    back: () => {},
    ...more,
  });
  await app.start();
  const state = () => app.state.value;
  return {
    app,
    engine,
    where,
    state,
    send: async (...intents: Intent[]) => {
      for (const i of intents) app.send(i);
      await app.settled();
    },
    note: (id: string) => shown(find(state().rows, 'note', id), 'text'),
    again: (later = 0) => phone(engine, at + later, where.path, more),
  };
}

type Phone = Awaited<ReturnType<typeof phone>>;

/** A phone with one machine, named. */
async function withMachine(more: Partial<Outside> = {}): Promise<Phone> {
  const p = await phone(undefined, undefined, '/', more);
  await p.send({ type: 'start' }, { type: 'act', action: { do: 'next' } });
  return p;
}

const typed = (id: string, text: string): Intent => ({ type: 'typed', kind: 'note', id, field: 'text', text });
const left = (id: string): Intent => ({ type: 'left-field', kind: 'note', id, field: 'text' });
const act = (action: Extract<Intent, { type: 'act' }>['action']): Intent => ({ type: 'act', action });

async function withNote(text = '', more: Partial<Outside> = {}) {
  const p = await withMachine(more);
  const id = newId();
  await p.send({ type: 'write', drafts: [{ kind: 'note', id, set: { text, machine: p.state().machine, zone: 120 } }] });
  return { p, id };
}

/** What another phone wrote beside ours: nothing of ours is named in it. */
async function apart(p: Phone, id: string, text: string) {
  await p.app.store().write([{ kind: 'note', id, set: { text }, over: { text: [] } }], Date.UTC(2026, 4, 1));
  await p.send({ type: 'load', kinds: ['note'] });
  await p.app.changed();
}
const versions = (p: Phone, id: string) =>
  (find(p.state().rows, 'note', id)?.fields.text?.live ?? []).map((v) => v.value).sort();

/** One move in the ledger of the top screw. Gives its id. */
async function withChange(p: Phone): Promise<string> {
  const [id, screw] = [newId(), `top:${p.state().machine}`];
  const set = { screw, type: 'move', minutes: 30, after: [], machine: p.state().machine, zone: 120 };
  await p.send({ type: 'write', drafts: [{ kind: 'change', id, set }] });
  return id;
}

/** A drop test that is paced, with a case and a thread. */
async function dropTest(): Promise<Phone> {
  const p = await withMachine();
  const [bobbinCase, thread] = [newId(), newId()];
  await p.send(
    {
      type: 'write',
      drafts: [
        { kind: 'bobbinCase', id: bobbinCase, set: { label: 'red dot', zone: 120 } },
        { kind: 'thread', id: thread, set: { number: '40', fibre: 'cotton', zone: 120 } },
        { kind: 'bench', id: p.state().machine, set: { bobbinCase, bobbinThread: thread, bobbinKind: 'plastic' } },
      ],
    },
    { type: 'begin', task: 'drop-test' },
    act({ do: 'next' }), // the caution
  );
  expect(p.state().task?.step).toBe('setup');
  return p;
}

describe('a machine marked "do not run"', () => {
  it('stays so behind any number of one-tap facts', async () => {
    const p = await withMachine();
    const machine = p.state().machine;
    const stop = newId();
    const event = (type: string, id: string = newId()) => ({ kind: 'event', id, set: { machine, type, zone: 120 } });
    await p.send({ type: 'write', drafts: [event('do-not-run', stop)] });
    const later = Date.UTC(2026, 4, 2);
    await p.app.store().write(
      Array.from({ length: 400 }, () => event('cleaned')),
      later,
    );
    const after = (await p.again(2 * day)).state();
    expect(after.ctx.events.filter((e) => e.type === 'cleaned')).toHaveLength(300);
    expect(standing(after.ctx)).toEqual([stop]);
  });
});

describe('taking a change back', () => {
  it('takes two quick taps for one, and says so', async () => {
    const p = await withMachine();
    const change = await withChange(p);
    const back: Intent = { type: 'take-back', how: 'turned-back', change };
    await p.send(back, back);
    expect(p.state().ctx.changes.filter((c) => c.type === 'back')).toHaveLength(1);
    expect(p.state().trouble).toBe('turned-already');
    await p.send({ type: 'fact', fact: 'good' });
    expect(p.state().trouble).toBeUndefined();
  });

  it('says what was written for it, until the next act', async () => {
    const p = await withMachine();
    const change = await withChange(p);
    await p.send({ type: 'take-back', how: 'turned-back', change });
    const back = p.state().ctx.changes.find((c) => c.type === 'back');
    expect(p.state().wrote).toEqual({ change: back?.id, screw: back?.screw });
    await p.send({ type: 'take-back', how: 'wrote-wrong', change: String(back?.id) });
    const strike = p.state().ctx.changes.find((c) => c.type === 'strike');
    expect(p.state().wrote?.change).toBe(strike?.id);
    await p.send({ type: 'fact', fact: 'good' });
    expect(p.state().wrote).toBeUndefined();
  });
});

describe('a start on Frame', () => {
  it('reads what Frame shows first, says the same of it when all is read, and lets no act in between', async () => {
    const p = await withMachine();
    const { machine } = p.state();
    const [other, inIt] = [newId(), newId()];
    await p.send(
      { type: 'write', drafts: [other, inIt].map((id) => ({ kind: 'bobbinCase', id, set: { label: id } })) },
      { type: 'write', drafts: [{ kind: 'bench', id: machine, set: { bobbinCase: inIt } }] },
      {
        type: 'write',
        drafts: [other, inIt].flatMap((id): Draft[] => [
          { kind: 'change', id: newId(), set: { screw: bobbinScrew(id), type: 'neutral', after: [] } },
          { kind: 'reading', id: newId(), set: { type: 'finger', answer: 'tips', machine, bobbinCase: id } },
        ]),
      },
      {
        type: 'write',
        drafts: [{ kind: 'finding', id: newId(), set: { machine, finding: 'push_up', state: 'soft' } }],
      },
      { type: 'fact', fact: 'good' },
    );
    const all = p.state();
    const frame = ({ ctx }: State) => ({
      top: position(ctx, topScrew(machine)),
      bobbin: position(ctx, bobbinScrew(inIt)),
      last: lastReading(ctx)?.id,
      good: ctx.events.findLast((e) => e.type === 'good')?.id,
      stops: standing(ctx),
    });
    expect(frame(all)).toMatchObject({ bobbin: { known: 0 }, last: expect.any(String), good: expect.any(String) });
    const parts: State[] = [];
    const app = createApp(() => storeOver(p.engine, { zone: () => 120 }), {
      ...{ now: () => all.ctx.now + 60_000, zone: () => 120, path: () => '/', go: () => {}, back: () => {} },
      seen: async () => {
        parts.push(app.state.value);
        app.send({ type: 'fact', fact: 'new-cone' }); // a tap on what is seen
      },
    });
    await app.start();
    await app.settled();
    const [part] = parts;
    expect(part?.partly).toBe(true);
    expect(part && frame(part)).toEqual(frame(all));
    expect(part?.rows.has('finding')).toBe(false);
    expect(part?.ctx.changes).toHaveLength(1);
    const { partly, ctx } = app.state.value;
    expect(partly).toBe(false);
    expect(ctx.changes).toHaveLength(2);
    expect(ctx.findings).toHaveLength(1);
    expect(ctx.events.map((e) => e.type)).toEqual(['good', 'new-cone']);
  });

  it('does nothing on half of what there is: where the rest can not be read, it says so', async () => {
    const p = await withMachine();
    const store = await storeOver(p.engine, { zone: () => 120 });
    let looks = 0;
    const look: typeof store.look = (at) => (looks++ ? Promise.reject(new StoreError('lost', 'gone')) : store.look(at));
    const once = Object.create(store, { look: { value: look } }) as typeof store;
    const app = createApp(async () => once, {
      ...{ now: () => p.state().ctx.now, zone: () => 120, path: () => '/', go: () => {}, back: () => {} },
      seen: async () => {
        app.send({ type: 'begin', task: 'drop-test' });
        app.send({ type: 'fact', fact: 'good' });
      },
    });
    await app.start();
    await app.settled();
    expect(app.state.value).toMatchObject({ phase: 'broken', trouble: 'lost' });
    expect(await store.tasks()).toEqual([]);
    expect(await store.all('event')).toEqual([]);
  });
});

describe('one tap', () => {
  it('again within a few seconds is the same fact, with its way back; later, or after another, it is a second one', async () => {
    const clock = { now: Date.UTC(2026, 4, 1) };
    const p = await withMachine({ now: () => clock.now });
    const types = () => p.state().ctx.events.flatMap((e) => (e.type === 'step' ? [] : [e.type]));
    const tap = (fact: 'cleaned' | 'new-bobbin') => p.send({ type: 'fact', fact });
    for (let i = 0; i < 5; i++) {
      await tap('cleaned');
      clock.now += 700;
    }
    expect(types()).toEqual(['cleaned']);
    expect(p.state().undo?.of).toBe('fact');
    await p.send({ type: 'undo' });
    expect(types()).toEqual([]);
    await tap('cleaned');
    clock.now += 500;
    await tap('new-bobbin');
    clock.now += 4_000;
    await tap('new-bobbin');
    expect(types()).toEqual(['cleaned', 'new-bobbin', 'new-bobbin']);
  });

  it('that was wrong is taken back until the next act: the fact goes, and the needle is as old as it was', async () => {
    const p = await withMachine();
    const types = (of: Phone) =>
      of
        .state()
        .ctx.events.map((e) => e.type)
        .sort();
    await p.send({ type: 'fact', fact: 'new-needle' }, { type: 'undo' });
    expect([types(p), p.state().ctx.bench.needleSince, p.state().undo]).toEqual([[], undefined, undefined]);
    await p.send({ type: 'fact', fact: 'new-needle' });
    const fitted = p.state().ctx.bench.needleSince;
    expect(fitted).toBeTypeOf('number');

    const q = await p.again(60_000);
    await q.send({ type: 'fact', fact: 'new-needle' });
    expect(q.state().ctx.bench.needleSince).toBe(Number(fitted) + 60_000);
    await q.send({ type: 'undo' });
    expect([types(q), q.state().ctx.bench.needleSince]).toEqual([['new-needle'], fitted]);
    expect((await q.again()).state().ctx.bench.needleSince).toBe(fitted);

    await q.send({ type: 'fact', fact: 'cleaned' }, { type: 'fact', fact: 'good' }, { type: 'undo' }, { type: 'undo' });
    expect(types(q)).toEqual(['cleaned', 'new-needle']);
  });
});

describe('acts', () => {
  it('wait for one another, so each works on what the one before it left', async () => {
    const p = await phone();
    await p.send(
      { type: 'start' },
      act({ do: 'type', text: 'Corner machine' }),
      act({ do: 'next' }),
      { type: 'fact', fact: 'good' },
      { type: 'begin', task: 'top-feel' },
    );
    expect(p.state().ctx.machines.map((m) => m.name)).toEqual(['Corner machine']);
    expect(p.state().ctx.events.map((e) => e.type)).toEqual(['good']);
    expect(p.state().task?.task).toBe('top-feel');
  });

  it('are shown as done before anything is counted again', async () => {
    const p = await withMachine();
    const seen: string[] = [];
    const stop = p.app.state.subscribe((s) => seen.push(`${s.task?.step ?? s.path} ${s.waiting}`));
    const { waiting } = p.state();
    await p.send({ type: 'begin', task: 'drop-test' });
    const caution = `${p.state().task?.step} ${waiting}`;
    await p.send(act({ do: 'next' }));
    stop();
    const { step } = p.state().task ?? { step: '' };
    expect(p.state().waiting).toBe(waiting + 1);
    const order = [caution, `${step} ${waiting}`, `${step} ${waiting + 1}`].map((s) => seen.indexOf(s));
    expect(order).not.toContain(-1);
    expect(order).toEqual([...order].sort((a, b) => a - b));
  });

  it('go on after one that failed', async () => {
    const p = await withMachine();
    vi.spyOn(console, 'error').mockImplementationOnce(() => {});
    await p.send(
      { type: 'write', drafts: [{ kind: 'nothing', id: newId(), set: {} }] },
      { type: 'fact', fact: 'good' },
    );
    expect(p.state().ctx.events).toHaveLength(1);
  });

  it('that records may not hold are refused with a word, and write nothing', async () => {
    const p = await withMachine();
    const machine = p.state().machine;
    await p.send({
      type: 'write',
      drafts: [
        { kind: 'note', id: newId(), set: { text: 'beside it', zone: 120 } },
        { kind: 'machine', id: machine, set: { body: 'flying' } },
      ],
    });
    expect(p.state().trouble).toBe('not-a-choice');
    expect(p.state().rows.get('note')).toBeUndefined();
    await p.send({ type: 'write', drafts: [{ kind: 'bobbinCase', id: newId(), set: { label: '', zone: 120 } }] });
    expect(p.state().trouble).toBe('missing');
  });
});

describe('a write that fails', () => {
  it('says so, keeps the task where it was, and the same tap again writes once', async () => {
    const p = await phone();
    await p.send({ type: 'start' });
    p.engine.fail('full');
    await p.send(act({ do: 'next' }));
    expect(p.state()).toMatchObject({ trouble: 'full', machine: '', task: { task: 'first-run' } });
    await p.send(act({ do: 'next' }));
    expect(p.state().trouble).toBeUndefined();
    expect(list(p.state().rows, 'machine')).toHaveLength(1);
    expect(p.state().task).toBeUndefined();
  });

  it('of one tap is not written twice, and another tap is not swallowed', async () => {
    const p = await withMachine();
    p.engine.fail('full');
    await p.send({ type: 'fact', fact: 'good' }, { type: 'fact', fact: 'good' }, { type: 'fact', fact: 'cleaned' });
    expect(
      p
        .state()
        .ctx.events.map((e) => e.type)
        .sort(),
    ).toEqual(['cleaned', 'good']);
  });

  it('makes a record of what was typed before a photo is worked on', async () => {
    let typing: number | undefined;
    const { p, id } = await withNote('first', {
      photo: async () => {
        typing = p.state().drafts.size;
        return {
          sha256: bytesToHex(sha256(new Uint8Array(8))),
          bytes: new ArrayBuffer(8),
          type: 'image/jpeg',
          width: 1,
          height: 1,
        };
      },
    });
    await p.send(typed(id, 'first, and more'), { type: 'photo', parentKind: 'note', parent: id, file: new Blob() });
    expect([typing, p.note(id)]).toEqual([0, 'first, and more']);
    const [photo] = list(p.state().rows, 'photo');
    await p.send({ type: 'remove', kind: 'photo', id: photo?.id ?? '' });
    expect(list(p.state().rows, 'photo')).toHaveLength(0);
    await p.send({ type: 'undo' });
    expect(list(p.state().rows, 'photo').map((r) => shown(r, 'parent'))).toEqual([id]);
  });

  it('keeps what was typed, on the screen and beyond a restart', async () => {
    const { p, id } = await withNote('first');
    await p.send(typed(id, 'first, and more'));
    p.engine.fail('full');
    await p.send(left(id));
    expect(p.state().trouble).toBe('full');
    expect(p.state().drafts.get(`note/${id}/text`)).toBe('first, and more');
    const q = await p.again();
    await q.send({ type: 'load', kinds: ['note'] });
    expect(q.note(id)).toBe('first, and more');
  });

  it('never puts an older text over a newer one', async () => {
    const { p, id } = await withNote();
    await p.send(typed(id, 'one'));
    p.engine.fail('full');
    await p.send(left(id));
    await p.send(typed(id, 'one two'), left(id));
    expect(versions(p, id)).toEqual(['one two']);
    expect(p.state().drafts.size).toBe(0);
    expect(p.app.store().unsaved()).toEqual([]);
  });
});

describe('what is typed', () => {
  it('stands on the screen at once, and an older key never comes back over it', async () => {
    const { p, id } = await withNote();
    const seen: (string | undefined)[] = [];
    const stop = p.app.state.subscribe((s) => seen.push(s.drafts.get(`note/${id}/text`)));
    p.app.send(typed(id, 'a'));
    p.app.send(typed(id, 'ab'));
    expect(p.state().drafts.get(`note/${id}/text`)).toBe('ab');
    await p.app.settled();
    stop();
    expect(seen.slice(seen.indexOf('ab'))).not.toContain('a');
  });

  it('is on the disk while another act waits, the last key too, with few writes', async () => {
    let answer: (() => void) | undefined;
    const link = () =>
      new Promise<undefined>((resolve) => {
        answer = () => resolve(undefined);
      });
    const { p, id } = await withNote('', { link });
    p.app.send({ type: 'link', do: { do: 'send-now' } });
    await vi.waitFor(() => expect(answer).toBeDefined());
    const before = p.engine.writes;
    for (const text of ['a', 'ab', 'abc', 'abcd', 'abcde']) p.app.send(typed(id, text));
    await vi.waitFor(async () => {
      const drafts = await p.app.store().drafts();
      expect(drafts.map((d) => d.text)).toEqual(['abcde']);
    });
    expect(p.engine.writes - before).toBeLessThan(3); // the first key, and the others together
    answer?.();
    await p.app.settled();
    expect(p.state().drafts.get(`note/${id}/text`)).toBe('abcde');
  });

  it.each<[string, (id: string) => Intent]>([
    ['on leaving the field', left],
    ['on going elsewhere', () => ({ type: 'go', path: '/changes' })],
    ['before another act', () => ({ type: 'fact', fact: 'good' })],
  ])('becomes a record %s', async (_, then) => {
    const { p, id } = await withNote();
    await p.send(typed(id, 'kept'), then(id));
    if (then(id).type === 'fact') await p.app.hide();
    expect(p.note(id)).toBe('kept');
    expect(p.state().drafts.size).toBe(0);
  });

  it('becomes a record after a quiet while', async () => {
    vi.useFakeTimers();
    try {
      const { p, id } = await withNote();
      await p.send(typed(id, 'kept'));
      expect(p.note(id)).toBe('');
      await vi.advanceTimersByTimeAsync(quietMs);
      await p.app.settled();
      expect(p.note(id)).toBe('kept');
    } finally {
      vi.useRealTimers();
    }
  });

  it('is there after the browser was killed', async () => {
    const { p, id } = await withNote();
    await p.send(typed(id, 'half a sen'));
    const q = await p.again();
    await q.send({ type: 'load', kinds: ['note'] });
    expect(q.note(id)).toBe('half a sen');
  });

  it('beyond what a note can hold stays a draft, and holds up nothing', async () => {
    const { p, id } = await withNote();
    const long = 'x'.repeat(20_001);
    await p.send(typed(id, long), { type: 'go', path: '/book' });
    expect(p.state()).toMatchObject({ path: '/book', trouble: 'too-long' });
    const q = await p.again();
    expect(q.state().phase).toBe('ready');
    expect(q.state().drafts.get(`note/${id}/text`)).toBe(long);
    await q.send(typed(id, 'short again'), left(id));
    expect(q.note(id)).toBe('short again');
  });

  it('replaces what was on the screen, and not what came from another phone meanwhile', async () => {
    const { p, id } = await withNote('start');
    await p.send(typed(id, 'mine'));
    await apart(p, id, 'theirs');
    await p.send(left(id));
    expect(versions(p, id)).toEqual(['mine', 'theirs']);
    await p.send(typed(id, 'mine on'), left(id));
    await p.send(typed(id, 'mine on and on'), left(id));
    expect(versions(p, id)).toEqual(['mine on and on', 'theirs']);
  });

  it('goes with a note that is removed, and comes back with it', async () => {
    const { p, id } = await withNote('start');
    await p.send(typed(id, 'last words'), { type: 'remove', kind: 'note', id, goTo: '/book' });
    expect(list(p.state().rows, 'note')).toEqual([]);
    await p.send({ type: 'undo' });
    expect(list(p.state().rows, 'note').map((r) => shown(r, 'text'))).toEqual(['last words']);
  });
});

describe('a form that is no record yet', () => {
  it('keeps its words through a restart, until it is used', async () => {
    const p = await withMachine();
    const key = 'form/bobbinCase/label';
    await p.send({ type: 'typed', kind: 'form', id: 'bobbinCase', field: 'label', text: 'red d' });
    const q = await p.again();
    expect(q.state().drafts.get(key)).toBe('red d');
    await q.send({
      type: 'write',
      drafts: [{ kind: 'bobbinCase', id: newId(), set: { label: 'red d', zone: 120 } }],
      used: [key],
    });
    expect(q.state().drafts.size).toBe(0);
    expect((await q.again()).state().drafts.size).toBe(0);
  });
});

describe('two versions', () => {
  it('stay both through a removal taken back', async () => {
    const { p, id } = await withNote('one');
    await apart(p, id, 'two');
    await p.send({ type: 'remove', kind: 'note', id }, { type: 'undo' });
    expect(versions(p, id)).toEqual(['one', 'two']);
  });

  it('are one when a person picks', async () => {
    const { p, id } = await withNote('one');
    await apart(p, id, 'two');
    const dots = (find(p.state().rows, 'note', id)?.fields.text?.live ?? []).map((v) => v.dot);
    await p.send({ type: 'write', drafts: [{ kind: 'note', id, set: { text: 'one' }, over: { text: dots } }] });
    expect(versions(p, id)).toEqual(['one']);
  });
});

describe('tasks', () => {
  it('and their records come back after reopening, in the step they stood in', async () => {
    const p = await dropTest();
    await p.send(act({ do: 'start' }), ...[0, 1, 2].map((drop) => act({ do: 'passed', drop })));
    await p.send(act({ do: 'pick', value: 'far', of: '1' }));
    const before = p.state().task;
    expect(before?.step).toBe('answer');
    const q = await p.again(1000);
    expect(q.state().task).toEqual(before);
    expect(q.state().path).toBe('/task');
    expect(q.state().ctx.bobbinCases.map((c) => c.label)).toEqual(['red dot']);
    await q.send(act({ do: 'pick', value: 'all-right' }));
    expect(q.state().ctx.readings).toHaveLength(1);
  });

  it('a drop test that was cut off and left too long ends as an interrupted reading', async () => {
    const p = await dropTest();
    await p.send(act({ do: 'start' }), act({ do: 'passed', drop: 0 }), act({ do: 'stop' }));
    await p.send(act({ do: 'pick', value: 'right', of: '0' }), act({ do: 'leave' }));
    const q = await p.again(fileAfterMs + day);
    expect([q.state().open, q.state().filed]).toEqual([[], []]);
    expect(q.state().ctx.readings.map((r) => r.interrupted)).toEqual([true]);
    expect((await q.again(day)).state().ctx.readings).toHaveLength(1);
  });

  it('that were left too long are put away, and can be taken up again', async () => {
    const p = await withMachine();
    await p.send({ type: 'begin', task: 'top-feel' }, act({ do: 'leave' }));
    const q = await (await p.again(fileAfterMs + day)).again();
    expect(q.state().open).toEqual([]);
    expect(q.state().filed.map((t) => t.task)).toEqual(['top-feel']);
    await q.send({ type: 'resume', id: q.state().filed[0]?.id ?? '' }, act({ do: 'carry-on' }));
    expect(q.state().path).toBe('/task');
    expect([q.state().filed, q.state().open.map((t) => t.task)]).toEqual([[], ['top-feel']]);
    expect((await q.again()).state().open.map((t) => t.task)).toEqual(['top-feel']);
  });

  it('of another machine open on that machine', async () => {
    const p = await dropTest();
    const [first, other] = [p.state().machine, newId()];
    await p.send(
      act({ do: 'leave' }),
      { type: 'write', drafts: [{ kind: 'machine', id: other, set: { name: 'Other', zone: 120 } }] },
      { type: 'pick-machine', machine: other },
      { type: 'fact', fact: 'good' },
    );
    expect(p.state().machine).toBe(other);
    p.app.moved('/task');
    await p.app.settled();
    expect(p.state().machine).toBe(first);
    expect(p.state().ctx.events.some((e) => e.type === 'good')).toBe(false);
    const q = await p.again();
    expect(q.state().machine).toBe(first);
  });
});

describe('what no server takes', () => {
  const refused = async (): Promise<Phone> => {
    const { p, id } = await withNote();
    const { studio } = p.app.store().device;
    const op = { replica: 'f'.repeat(32), n: 1, kind: 'note', id, set: { text: 'refused words' }, over: {} };
    await p.engine.run(['needs'], 'write', async (tx) =>
      tx.put('needs', { studio, key: 1, at: 1, reason: 'malformed', text: JSON.stringify(op) }),
    );
    const q = await p.again();
    expect(q.state().needs).toHaveLength(1);
    return q;
  };

  it('is written anew when asked to, and its words show', async () => {
    const p = await refused();
    await p.send({ type: 'load', kinds: ['note'] }, { type: 'need', key: 1, do: 'retry' });
    expect(p.state().needs).toEqual([]);
    expect(list(p.state().rows, 'note').map((r) => r.fields.text?.live.map((v) => v.value))).toEqual([
      ['refused words', ''],
    ]);
  });

  it('can be shortened where it stands: what is typed outlives a kill, and goes out as a new op', async () => {
    const p = await refused();
    await p.send({ type: 'typed', ...needText(1), text: 'refused' });
    const q = await p.again();
    expect(q.state().needs).toHaveLength(1);
    expect([...q.state().drafts.values()]).toEqual(['refused']);
    const before = q.state().waiting;
    await q.send({ type: 'load', kinds: ['note'] }, { type: 'need', key: 1, do: 'retry', text: 'refused' });
    expect(q.state()).toMatchObject({ needs: [], waiting: before + 1 });
    expect(q.state().drafts.size).toBe(0);
    expect(list(q.state().rows, 'note').map((r) => r.fields.text?.live.map((v) => v.value))).toEqual([['refused', '']]);
  });

  it('and is still too long stays where it is, with its words', async () => {
    const p = await refused();
    const long = 'x'.repeat(20_001);
    await p.send({ type: 'typed', ...needText(1), text: long }, { type: 'need', key: 1, do: 'retry', text: long });
    expect(p.state()).toMatchObject({ trouble: 'refused' });
    expect(p.state().needs).toHaveLength(1);
    expect([...p.state().drafts.values()]).toEqual([long]);
  });

  it('stays readable on this phone when kept here, until it is forgotten', async () => {
    const p = await refused();
    await p.send({ type: 'need', key: 1, do: 'keep' });
    expect(p.state().needs).toEqual([]);
    expect((await p.again()).state().keptHere.map((n) => n.text)).toEqual([expect.stringContaining('refused words')]);
    await p.send({ type: 'need', key: 1, do: 'drop' });
    expect(p.state().keptHere).toEqual([]);
  });
});

describe('a code', () => {
  const withHash = (p: Phone, hash: string) => {
    p.where.hash = hash;
    p.app.moved('/people/join');
    return p.app.settled();
  };
  const name: Intent = { type: 'typed', ...joinText.name, text: 'Ada' };

  it('and the name typed beside it are kept through a kill, on a phone that has nothing yet', async () => {
    const p = await phone();
    await p.send({ type: 'typed', ...joinText.code, text: 'abcd 2345' }, name);
    const q = await p.again();
    expect(q.state().phase).toBe('new');
    expect([...q.state().drafts.values()]).toEqual(['abcd 2345', 'Ada']);
  });

  it('put behind the # of an app that is open goes to its form, and leaves the address', async () => {
    const p = await phone();
    await withHash(p, '#abcd-2345');
    expect(p.state()).toMatchObject({ phase: 'new', brought: { code: 'ABCD2345', claim: false } });
    expect([...p.state().drafts.values()]).toEqual(['ABCD2345']);
    expect(p.where).toEqual({ path: '/people/join', hash: '' });
    const ready = await withMachine();
    await withHash(ready, '#claim=WXYZ2345');
    expect(ready.state()).toMatchObject({ path: '/people', brought: { code: 'WXYZ2345', claim: true } });
    expect(ready.where).toEqual({ path: '/people', hash: '' });
  });

  it('that was taken is not in the form any more, the name neither', async () => {
    const p: Phone = await phone(undefined, undefined, '/', {
      link: async (_act, app) => {
        await app.codeTaken();
        return undefined;
      },
    });
    const join = { do: 'join', code: 'ABCD2345', name: 'Ada', copy: false } as const;
    await withHash(p, '#ABCD2345');
    await p.send(name, { type: 'link', do: join });
    expect(p.state().brought).toBeUndefined();
    expect(p.state().drafts.size).toBe(0);
    expect((await p.again()).state().drafts.size).toBe(0);
  });
});

describe('reading again', () => {
  it('keeps what screens asked for whole', async () => {
    const { p, id } = await withNote('one');
    await p.send({ type: 'load', kinds: ['note', 'person'] });
    const store = p.app.store();
    await store.write([{ kind: 'note', id, set: { text: 'from another tab' } }], 1);
    await p.app.changed();
    expect(p.note(id)).toBe('from another tab');
    await p.app.queue(() => p.app.entered());
    expect(p.note(id)).toBe('from another tab');
  });

  it('never carries what is typed into another studio', async () => {
    const { p, id } = await withNote('one', {
      link: async (_, app) => {
        await app.store().startStudio('');
        await app.entered();
        return undefined;
      },
    });
    const first = p.app.store().device.studio;
    await p.send(typed(id, 'one more'), { type: 'link', do: { do: 'enter', studio: 'other' } });
    expect(await p.app.store().get('note', id)).toBeUndefined();
    expect(p.state().drafts.size).toBe(0);
    await p.app.store().enterStudio(first);
    expect(shown(await p.app.store().get('note', id), 'text')).toBe('one more');
  });
});

describe('a start', () => {
  it('goes from the three doors to the name of the machine, with nothing in between', async () => {
    const p = await phone();
    const seen: string[] = [];
    const stop = p.app.state.subscribe((s) => seen.push(`${s.phase} ${s.task?.step ?? 'no task'}`));
    await p.send({ type: 'start' });
    stop();
    expect(seen.filter((s) => s === 'ready no task')).toEqual([]);
    expect(seen.at(-1)).toBe('ready name');
  });
});

describe('addresses', () => {
  it('of a task, as the home screen has them, open it', async () => {
    const p = await withMachine();
    const q = await phone(p.engine, undefined, '/task/see');
    await q.app.settled();
    expect(q.state()).toMatchObject({ path: '/task', task: { task: 'see' } });
    expect(q.where.path).toBe('/task');
  });
  it('do not open it over one that is open', async () => {
    const p = await dropTest();
    const q = await phone(p.engine, undefined, '/task/see');
    await q.app.settled();
    expect(q.state().task?.task).toBe('drop-test');
  });
});

describe('the home screen', () => {
  it('is asked for where the person wants it, and "Not now" is kept', async () => {
    let asked = 0;
    const p = await withMachine({
      putHome: async () => {
        asked++;
      },
    });
    await p.send({ type: 'home', do: 'put' });
    expect(asked).toBe(1);
    await p.send({ type: 'home', do: 'not-now' });
    expect((await p.again()).state().settings.homeNotNowAt).toBe(Date.UTC(2026, 4, 1));
  });
});

describe('a studio that was joined', () => {
  const server = '5e'.repeat(16);
  /** A phone that joined and is reading; `page` brings a page of the studio, the last unless there are more. */
  async function joined() {
    const engine = memoryEngine();
    const store = await storeOver(engine, { zone: () => 120 });
    const studio = newId();
    const more = { server, studioName: 'Barn', phone: newId(), person: newId(), role: 'operator', joinedAt: 1 };
    await store.saveLink(studio, more);
    await store.enterStudio(studio);
    const p = await phone(engine);
    let n = 0;
    const page = async (kinds: readonly string[], more: boolean) => {
      const request = await store.nextRequest(studio, server);
      const records = kinds.map((kind) => {
        const live = [{ dot: dotOf('bb'.repeat(16), ++n), at: [9, 0] as const, by: '', value: 'Big frame' }];
        return { kind, id: newId(), fields: { name: { live, dead: [] } } };
      });
      const have = { ['bb'.repeat(16)]: [n, 'b'.repeat(16)] as const };
      await store.take(studio, request, answerTo(request, { records, more, ...(more ? {} : { have }) }), 5);
      await p.app.changed();
    };
    return { p, page };
  }

  it('is not asked for a machine while it is read', async () => {
    const { p, page } = await joined();
    expect(p.state()).toMatchObject({ phase: 'ready', reading: true, machine: '', task: undefined });
    await page(['thread'], true);
    expect(p.state()).toMatchObject({ reading: true, machine: '', task: undefined });
    const again = await p.again(); // cut off: the same on the next start
    expect(again.state()).toMatchObject({ reading: true, task: undefined });
    await page(['machine'], false);
    expect(p.state()).toMatchObject({ reading: false, task: undefined });
    expect(p.state().ctx.machines.map((m) => m.name)).toEqual(['Big frame']);
  });

  it('is asked for one when there is none in it, or when the person does not want to wait', async () => {
    const { p, page } = await joined();
    await page([], false);
    expect(p.state()).toMatchObject({ reading: false, task: { task: 'first-run' } });
    const { p: q } = await joined();
    await q.send({ type: 'begin', task: 'first-run', with: { text: 'Window seat' } }, act({ do: 'next' }));
    expect(q.state().ctx.machines).toHaveLength(1);
  });
});

describe('what the browser keeps', () => {
  it('is looked at from the start and asked for once, after the first record', async () => {
    const asked: boolean[] = [];
    const storage = async (ask: boolean) => {
      asked.push(ask);
      return { installed: false, kept: false };
    };
    const p = await withMachine({ storage });
    await vi.waitFor(() => expect(p.state().storage).toEqual({ installed: false, kept: false }));
    await p.send({ type: 'fact', fact: 'good' }, { type: 'fact', fact: 'cleaned' });
    expect(asked.filter((ask) => ask)).toEqual([true]);
    const q = await p.again();
    await vi.waitFor(() => expect(asked.at(-1)).toBe(false)); // a start only looks
    expect(q.state().phase).toBe('ready');
  });
});

it('starts although a task of another version lies there, and keeps it', async () => {
  const p = await withMachine();
  const id = newId();
  const state = { task: 'drop-test', step: 'of-another-version' };
  await p.app.store().write([], 1, { id, touchedAt: Date.UTC(2026, 4, 1), state });
  const said = vi.spyOn(console, 'error').mockImplementationOnce(() => {});
  const q = await p.again(2 * day);
  expect(q.state()).toMatchObject({ phase: 'ready', machine: p.state().machine });
  expect(q.state().trouble).toBeUndefined();
  expect((await q.app.store().filed()).map((t) => [t.id, t.state])).toEqual([[id, state]]);
  expect(said).toHaveBeenCalledTimes(1);
  said.mockRestore();
});
