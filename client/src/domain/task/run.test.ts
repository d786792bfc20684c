import { describe, expect, it } from 'vitest';
import type { Ctx } from './context';
import { fact, undo } from './facts';
import { act, offers } from './run';
import { bobbinCase, filled, hex, machine, play, said } from './world';
import { withDraft } from './writer';

const ids = Array.from({ length: 16 }, (_, i) => hex(0x5000 + i));
const open = (words: readonly string[], task: 'sew' | 'drop-test' | 'balance' = 'sew', ctx = filled) => {
  const here = play(task, ctx, words);
  if (!here.state) throw new Error('closed');
  return { state: here.state, ctx: { ...here.ctx, ids } };
};

describe('coming back', () => {
  const { state, ctx } = open(['next', '1@0']);
  const opened = (ms: number) => act(state, { do: 'opened' }, { ...ctx, now: state.touchedAt + ms });

  it('shows the same step, and asks after more than a minute where starting again means something', () => {
    expect(opened(60_000).state).toEqual(state);
    expect(opened(60_001).state?.asking).toBe('carry-on');
    expect(act(open([]).state, { do: 'opened' }, { ...ctx, now: state.touchedAt + 9e6 }).state?.asking).toBeUndefined();
  });
  it('takes nothing else until it is answered; carrying on keeps what was tapped, starting again clears it', () => {
    const asked = opened(60_001).state ?? state;
    expect(offers(asked, ctx).map((o) => o.action.do)).toEqual(['carry-on', 'again', 'leave']);
    expect(act(asked, said('2@180'), ctx).refused).toBe(true);
    expect(act(asked, { do: 'carry-on' }, ctx).state?.data.rays).toEqual({ '0': { score: '1' } });
    expect(act(asked, { do: 'again' }, ctx).state?.data.rays).toBeUndefined();
  });
  it('goes on asking when it is shown once more', () => {
    const asked = opened(60_001).state ?? state;
    expect(act(asked, { do: 'opened' }, { ...ctx, now: asked.touchedAt + 1 }).state?.asking).toBe('carry-on');
  });
  it('leaving keeps the place', () => {
    const left = act(state, { do: 'leave' }, { ...ctx, now: ctx.now + 5 });
    expect(left).toMatchObject({ state: { ...state, touchedAt: ctx.now + 5 }, drafts: [] });
  });
});

describe('the line that says what was done', () => {
  it('names the step before, across tasks', () => {
    const did = (words: readonly string[]) => open(words, 'balance').state.did;
    expect(did(['clean'])).toBe('balance.ready-card');
    expect(did(['clean', 'right', 'right'])).toBe('balance.ready-path');
    expect(did(['clean', 'right', 'right', 'finger', 'tips', 'next'])).toBe('drop-test.result');
    expect(open([], 'balance').state.did).toBeUndefined();
  });
  it('names none that was left out', () => {
    expect(open(['clean', 'not-now'], 'balance').state.did).toBeUndefined();
    expect(open(['clean', 'right', 'right', 'not-now'], 'balance').state.did).toBeUndefined();
  });
});

describe('the step before', () => {
  const backs = (words: readonly string[]) => {
    const { state, ctx } = open(words, 'drop-test');
    return offers(state, ctx).some((o) => o.action.do === 'back');
  };
  it('is there while nothing was written, and not behind a record', () => {
    expect(backs(['finger'])).toBe(true);
    expect(backs(['finger', 'tips'])).toBe(false);
    expect(backs([])).toBe(false);
  });
});

describe('a quilt’s start', () => {
  it('sews the star once; the next round is two lines again', () => {
    const start = ['clean', 'right', 'right', 'finger', 'tips', 'next', 'as_usual'];
    const first = open(start, 'balance');
    expect(first.state.data.form).toBe('star');
    const round = [...start, 'next', '1@all', 'next', 'not-now', 'next', 'next'];
    expect(open(round, 'balance').state).toMatchObject({
      task: 'sew',
      step: 'stitch',
      data: { form: 'lines' },
      round: 2,
    });
  });
});

describe('records', () => {
  it('are never written without an id of their own', () => {
    const { state, ctx } = open(['finger'], 'drop-test');
    expect(() => act(state, said('tips'), { ...ctx, ids: [] })).toThrow(RangeError);
  });
});

describe('outside a task', () => {
  it('a fact is one tap', () => {
    const ctx = { ...filled, ids };
    expect(fact('good', ctx)).toMatchObject([{ kind: 'event', set: { type: 'good', machine, bobbinCase, zone: 120 } }]);
    expect(fact('new-needle', ctx)).toMatchObject([
      { kind: 'event', set: { type: 'new-needle' } },
      { kind: 'bench', id: machine, set: { needleSince: filled.now } },
    ]);
    console.log('taps: a fact 1');
  });
  it('any change can be taken back for good, both ways', () => {
    const { ctx } = play('change-screw', filled, [`bobbin:${bobbinCase}`, 'add5', 'next']);
    const change = ctx.changes[0]?.id ?? '';
    expect(undo('turned-back', change, { ...ctx, ids })).toMatchObject([
      { set: { type: 'back', minutes: -5, backOf: change, after: [change] } },
    ]);
    expect(undo('wrote-wrong', change, { ...ctx, ids })).toMatchObject([{ set: { type: 'strike', strikes: change } }]);
    expect(undo('wrote-wrong', 'nobody', { ...ctx, ids })).toBe('nothing-to-turn');
  });
  it('but each way once: the second is refused with its reason', () => {
    const { ctx } = play('change-screw', filled, [`bobbin:${bobbinCase}`, 'add5', 'next']);
    const change = ctx.changes[0]?.id ?? '';
    const taken = (how: 'turned-back' | 'wrote-wrong') => {
      const drafts = undo(how, change, { ...ctx, ids });
      if (typeof drafts === 'string') throw new Error(drafts);
      return drafts.reduce((c, d) => withDraft(c, d.kind, d.id, d.set), ctx);
    };
    expect(undo('turned-back', change, { ...taken('turned-back'), ids })).toBe('turned-already');
    expect(undo('wrote-wrong', change, { ...taken('wrote-wrong'), ids })).toBe('turned-already');
    expect(undo('turned-back', change, { ...taken('wrote-wrong'), ids })).toBe('turned-already');
  });
  it('inside a task too', () => {
    const turned = play('change-screw', filled, [`bobbin:${bobbinCase}`, 'add5', 'next']);
    const change = turned.ctx.changes[0]?.id ?? '';
    const held = { ...open([]).state, undo: { change, screw: `bobbin:${bobbinCase}`, minutes: 5 } };
    const world: Ctx = { ...turned.ctx, ids };
    const first = act(held, { do: 'turned-back' }, world);
    expect(first.drafts).toHaveLength(1);
    // What that wrote is answered with, and can be taken back itself; a strike is answered with, and stands.
    expect(first.state?.undo).toEqual({ change: first.drafts[0]?.id, screw: `bobbin:${bobbinCase}`, minutes: -5 });
    const wrong = act(held, { do: 'wrote-wrong' }, world);
    expect(wrong.state?.undo).toEqual({ change: wrong.drafts[0]?.id, screw: `bobbin:${bobbinCase}` });
    const then = first.drafts.reduce((c, d) => withDraft(c, d.kind, d.id, d.set), world);
    expect(offers(held, then).map((o) => o.action.do)).not.toContain('turned-back');
    expect(act(held, { do: 'turned-back' }, { ...then, ids })).toMatchObject({ refused: true, drafts: [] });
  });
  it('a dial turned back gets the number it had', () => {
    const dial = { ...filled, machines: filled.machines.map((m) => ({ ...m, topKnob: 'dial' as const })) };
    const one = play('change-screw', dial, [`top:${machine}`, 'set30', 'next']);
    const two = play(
      'change-screw',
      { ...one.ctx, now: one.ctx.now + 9000 },
      [`top:${machine}`, 'set40', 'next'],
      undefined,
      1,
    );
    const last = two.ctx.changes.at(-1)?.id ?? '';
    expect(undo('turned-back', last, { ...two.ctx, ids })).toMatchObject([{ set: { type: 'dial', dialTenths: 30 } }]);
  });
});
