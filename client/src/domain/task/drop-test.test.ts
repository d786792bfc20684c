import { describe, expect, it } from 'vitest';
import { act, offers } from './run';
import { bobbinCase, filled, play, said } from './world';

const run = ['start', 'passed0', 'passed1', 'passed2'];
const reading = (words: readonly string[]) =>
  play('drop-test', filled, words).written.find((d) => d.kind === 'reading')?.set;

describe('drop test', () => {
  it('keeps three drops with what they belong to', () => {
    expect(reading([...run, 'all-right'])).toMatchObject({
      type: 'drop',
      drops: [{ answer: 'right' }, { answer: 'right' }, { answer: 'right' }],
      fill: 'full',
      bobbinCase,
      thread: filled.bench.bobbinThread,
      bobbinKind: 'pre-wound',
      zone: 120,
    });
  });

  it('keeps lengths by half inches, the first tap standing at 5 in', () => {
    const story = [...run, 'right@0', 'add5@0', 'add-5@0', 'short@1', 'add5@1', 'right@2', 'set43@2', 'next'];
    expect(reading(story)?.drops).toEqual([
      { answer: 'right', tenthsIn: 45 },
      { answer: 'short', tenthsIn: 50 },
      { answer: 'right', tenthsIn: 43 },
    ]);
  });

  it('takes no touch but Stop while sound paces', () => {
    const { state, ctx } = play('drop-test', filled, ['start']);
    if (!state) throw new Error('closed');
    expect(offers(state, ctx).map((o) => o.action.do)).toEqual(['stop']);
    for (const word of ['next', 'all-right', 'right@0', 'full@fill', 'start', 'carry-on', 'back'])
      expect(act(state, said(word), ctx)).toEqual({ state, drafts: [], refused: true });
  });

  it('marks the drop during which the page was hidden, asks, and runs that one and the rest again', () => {
    const asked = play('drop-test', filled, ['start', 'passed0', 'hidden12000']);
    expect(asked.steps.at(-1)).toBe('drop-test.run?');
    const on = play('drop-test', filled, ['start', 'passed0', 'hidden12000', 'carry-on']);
    expect(on.state?.data.run).toEqual([3, 2]);
    const all = play('drop-test', filled, [
      'start',
      'passed0',
      'hidden12000',
      'carry-on',
      'passed0',
      'passed1',
      'all-right',
    ]);
    const set = all.written.find((d) => d.kind === 'reading')?.set;
    expect(set?.drops).toEqual([{ answer: 'right' }, { hidden: true }, { answer: 'right' }, { answer: 'right' }]);
    expect(set).not.toHaveProperty('interrupted');
  });

  it('starts over when asked to', () => {
    const over = play('drop-test', filled, ['start', 'passed0', 'hidden12000', 'do:again']);
    expect(over.state?.data).toMatchObject({ rows: [{}, {}, {}], run: [0, 1, 2], passed: 0 });
  });

  it('asks after a crash in the middle of a run, however short', () => {
    expect(play('drop-test', filled, ['start', 'passed0', 'opened']).steps.at(-1)).toBe('drop-test.run?');
  });

  it('marks a test that was stopped short as interrupted', () => {
    const set = reading(['start', 'passed0', 'stop', 'right@0', 'out@1', 'out@2', 'next']);
    expect(set).toMatchObject({ interrupted: true, drops: [{ answer: 'right' }] });
  });

  it('is whole when all three were read before Stop', () => {
    expect(
      reading(['start', 'passed0', 'passed1', 'stop', 'right@0', 'right@1', 'right@2', 'next']),
    ).not.toHaveProperty('interrupted');
  });

  it('runs one drop again, and throws one out', () => {
    const again = play('drop-test', filled, [...run, 'falls@1', 'again@1']);
    expect(again.state?.data).toMatchObject({ run: [1], rows: [{}, {}, {}] });
    const set = reading([...run, 'right@0', 'falls@1', 'out@1', 'right@2', 'next']);
    expect(set?.drops).toEqual([{ answer: 'right' }, { answer: 'falls', out: true }, { answer: 'right' }]);
  });

  it('is filed as unfinished after a day, with what was answered', () => {
    const { state, ctx } = play('drop-test', filled, [...run, 'right@0']);
    if (!state) throw new Error('closed');
    const late = act(
      state,
      { do: 'opened' },
      { ...ctx, now: state.touchedAt + 24 * 3_600_000 + 1, ids: ['a'.repeat(32)] },
    );
    expect(late.state).toBeUndefined();
    expect(late.done?.how).toBe('unfinished');
    expect(late.drafts[0]?.set).toMatchObject({ interrupted: true, drops: [{ answer: 'right' }] });
    const soon = act(state, { do: 'opened' }, { ...ctx, now: state.touchedAt + 23 * 3_600_000 });
    expect(soon.state?.step).toBe('answer');
  });

  it('takes the finger pads as an equal, and the gauge only from who owns one', () => {
    const story = play('drop-test', filled, ['finger', 'tips', 'next']);
    expect(story.done?.how).toBe('in-band');
    const { state, ctx } = play('drop-test', { ...filled, gauge: false }, []);
    if (!state) throw new Error('closed');
    expect(act(state, said('gauge'), ctx).refused).toBe(true);
    expect(offers(state, ctx).some((o) => o.action.do === 'pick' && o.action.value === 'gauge')).toBe(false);
  });

  it('is ready with the fill a new bobbin has', () => {
    const ctx = {
      ...filled,
      readings: [{ id: '1', at: 1, by: '', type: 'drop' as const, fill: 'low' as const }],
      events: [{ id: '2', at: 2, by: '', type: 'new-bobbin' }],
    };
    expect(play('drop-test', ctx, []).state?.data.fill).toBe('full');
    expect(play('drop-test', { ...ctx, events: [] }, []).state?.data.fill).toBe('low');
  });
});

describe('the result reads the ledger', () => {
  const thread = filled.bench.bobbinThread;
  const readings = [{ id: '1', at: 1, by: '', type: 'finger' as const, answer: 'tips', bobbinCase, thread }];
  const before = { ...filled, readings };
  const falls = ['finger', 'flat'];
  const turned = {
    ...before,
    changes: [{ id: '2', at: 2, by: '', screw: `bobbin:${bobbinCase}`, type: 'move' as const, minutes: 5, after: [] }],
  };

  it('the same drop leads to the looks when nobody turned the screw, and to the screw when somebody did', () => {
    expect(play('drop-test', before, [...falls, 'next']).steps.at(-1)).toBe('drop-test.card');
    expect(play('drop-test', turned, [...falls, 'next']).steps.at(-1)).toBe('change-screw.amount');
  });

  it('offers the screw after the looks, also when they were answered with not now', () => {
    const looks = [...falls, 'next', 'clean', 'smooth', 'fine', ...falls, 'next'];
    expect(play('drop-test', before, looks).steps.at(-1)).toBe('change-screw.amount');
    const none = [...falls, 'next', 'not-now', 'not-now', 'not-now', ...falls, 'next'];
    expect(play('drop-test', before, none).steps.at(-1)).toBe('change-screw.amount');
  });

  it('drops again as soon as a look finds something', () => {
    expect(play('drop-test', before, [...falls, 'next', 'lint']).steps.at(-1)).toBe('drop-test.setup');
  });
});

describe('the screw within the drop test', () => {
  it('a lost count comes back here, where the next drop in band is neutral', () => {
    const words = ['finger', 'flat', 'next', 'lost', 'no-mark', 'next'];
    const thread = filled.bench.bobbinThread;
    const again = {
      ...filled,
      readings: [{ id: '1', at: 1, by: '', type: 'finger' as const, answer: 'flat', bobbinCase, thread }],
      changes: [
        { id: '2', at: 2, by: '', screw: `bobbin:${bobbinCase}`, type: 'move' as const, minutes: 5, after: [] },
      ],
    };
    const lost = play('drop-test', again, words);
    expect(lost.steps.at(-1)).toBe('drop-test.setup');
    expect(lost.state?.back).toBeUndefined();
    const neutral = play('drop-test', again, [...words, 'finger', 'tips', 'next']);
    expect(neutral.written.at(-1)).toMatchObject({ kind: 'change', set: { type: 'neutral' } });
  });
});
