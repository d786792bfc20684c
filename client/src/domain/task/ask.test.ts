import { describe, expect, it } from 'vitest';
import type { Ctx } from './context';
import type { TaskData, TaskName } from './task';
import { bare, bobbinCase, filled, machine, play } from './world';

const top = `top:${machine}`;
const bobbin = `bobbin:${bobbinCase}`;
/** All cautions read, a case in the machine, and nothing else known. */
const unknown: Ctx = {
  ...bare,
  acknowledged: filled.acknowledged,
  bobbinCases: filled.bobbinCases.map(({ tightens: _, ...c }) => c),
  bench: { bobbinCase },
};
const noCase: Ctx = { ...unknown, bench: {} };

/** The questions that come before the act, each answered with "not now"; where one stands after them. */
function asked(task: TaskName, data?: TaskData, ctx: Ctx = unknown) {
  const questions: string[] = [];
  for (let n = 0; n < 9; n++) {
    const { steps } = play(
      task,
      ctx,
      Array.from({ length: n }, () => 'not-now'),
      data,
    );
    const now = steps.at(-1) ?? '';
    if (!now.startsWith('ask.')) return [...questions, now];
    questions.push(now);
  }
  return questions;
}

describe('what is not known is asked just before the first act that needs it, and nowhere else', () => {
  it.each<[string, TaskName, TaskData | undefined, string[]]>([
    ['the name of the first machine, and that alone', 'first-run', undefined, ['first-run.name']],
    ['lines: how the machine stands and how it is driven', 'sew', undefined, ['ask.body', 'ask.modes', 'sew.stitch']],
    [
      'the top, about to be turned',
      'change-screw',
      { door: 'about', screw: top },
      ['ask.top-knob', 'ask.tightens', 'change-screw.amount'],
    ],
    [
      'the top, to neutral',
      'change-screw',
      { door: 'neutral', screw: top },
      ['ask.top-knob', 'ask.tightens', 'change-screw.neutral'],
    ],
    [
      'a case screw, about to be turned',
      'change-screw',
      { door: 'about', screw: bobbin },
      ['ask.tightens', 'change-screw.amount'],
    ],
    ['a screw that was turned already', 'change-screw', { door: 'turned', screw: top }, ['change-screw.amount']],
    ['a look', 'see', undefined, ['see.start']],
    ['the feel of the top', 'top-feel', undefined, ['top-feel.pull']],
    ['something happened', 'stop', undefined, ['stop.what']],
    ['a balancing: nothing before its first step', 'balance', undefined, ['balance.ready-card']],
  ])('%s', (_what, task, data, want) => expect(asked(task, data)).toEqual(want));

  it('drops: which bobbin case is in', () => {
    expect(asked('drop-test', undefined, noCase)).toEqual(['ask.bobbin-case', 'drop-test.setup']);
    expect(asked('drop-test')).toEqual(['drop-test.setup']);
  });

  it('and never twice', () => {
    const first = play('sew', unknown, ['frame', 'regulated', 'manual', 'next']);
    expect(first.steps).toEqual(['ask.body', 'ask.modes', 'ask.modes', 'ask.modes', 'sew.stitch']);
    expect(first.ctx.machines[0]).toMatchObject({ body: 'frame', modes: ['regulated', 'manual'] });
    expect(play('sew', { ...first.ctx, now: first.ctx.now + 9_000 }, [], undefined, 1).steps).toEqual(['sew.stitch']);
  });

  it('a case that is new gets its label and is in the machine', () => {
    const { ctx, steps } = play('drop-test', noCase, ['"  Red dot "', 'next']);
    expect(steps.at(-1)).toBe('drop-test.setup');
    expect(ctx.bobbinCases.at(-1)).toMatchObject({ label: 'Red dot', fits: [machine] });
    expect(ctx.bench.bobbinCase).toBe(ctx.bobbinCases.at(-1)?.id);
  });

  it('a name that is blank or too long is not taken', () => {
    expect(() => play('first-run', bare, ['"   "', 'next'])).toThrow(/refused/);
    expect(() => play('first-run', bare, [`"${'x'.repeat(81)}"`, 'next'])).toThrow(/refused/);
    expect(play('first-run', bare, ['"Big frame"', 'next']).written).toMatchObject([
      { kind: 'machine', set: { name: 'Big frame' } },
    ]);
  });
});
