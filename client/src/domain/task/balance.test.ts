import { describe, expect, it } from 'vitest';
import { faultModel } from '../fault-model';
import { offers } from './run';
import type { TaskState } from './task';
import { acted, bobbinCase, filled, machine, play, type Story, said, where } from './world';

const ready = ['clean', 'right', 'right'];
const goodDrop = ['start', 'all-right'];
/** What a sound does by itself between Start and the tiles: no taps. */
const paced = ['passed0', 'passed1', 'passed2'];
const drop = ['start', ...paced, 'all-right'];
const settled = { ...filled, balancings: [{ id: 'old', at: 0, by: '', machine, quilt: filled.bench.quilt }] };
const taps = (words: readonly string[]) => words.filter((w) => !w.startsWith('passed')).length;
const printed = (what: string, words: readonly string[], most: number) => {
  console.log(`taps: ${what} ${taps(words)} of ${most}`);
  expect(taps(words)).toBeLessThanOrEqual(most);
};
const last = (s: Story) => s.steps.at(-1);

describe('tap budgets', () => {
  it('a good drop test', () => {
    expect(last(play('drop-test', filled, drop))).toBe('drop-test.result');
    printed('a good drop test', drop, 2);
    expect(goodDrop).toHaveLength(2);
  });

  const toGood = [...ready, ...drop, 'next', 'as_usual', 'next', '0@all'];
  it('a first balancing, from get ready to good enough', () => {
    const words = [...toGood, 'next', 'next'];
    const story = play('balance', settled, words);
    expect(story.done?.how).toBe('good-enough');
    printed('a first balancing', words, 30);
  });

  it('a first balancing at a quilt’s start, with the star in both modes', () => {
    const words = [...ready, ...drop, 'next', 'as_usual', 'next', 'next', 'next', 'next', 'next', 'next', 'next'];
    const story = play('balance', filled, words);
    expect(story.done?.how).toBe('good-enough');
    expect(story.written.filter((d) => d.kind === 'sample').map((d) => d.set.mode)).toEqual(['regulated', 'manual']);
    printed('a first balancing with the star', words, 30);
  });

  it('a repeat round, top', () => {
    const before = [...ready, ...drop, 'next', 'as_usual', 'next', '1@all'];
    const round = ['next', 'next', 'next', '1@all'];
    const story = play('balance', settled, [...before, ...round]);
    expect(last(story)).toBe('balance.next');
    expect(story.state?.round).toBe(2);
    printed('a repeat round, top', round, 5);
  });

  it('a repeat round, bobbin', () => {
    const before = [...ready, ...drop, 'next', 'as_usual', 'next', '1@all', 'turn', `bobbin:${bobbinCase}`, 'add-5'];
    const round = ['next', ...drop, 'next', 'next'];
    const story = play('balance', settled, [...before, ...round]);
    expect(last(story)).toBe('sew.rate');
    expect(story.state?.round).toBe(2);
    printed('a repeat round, bobbin, up to the lines', round, 5);
  });
});

describe('turning by feel', () => {
  const off = [...ready, ...drop, 'next', 'light', 'clean', 'light'];
  it('turns a top that is plainly off before it sews, and feels it again', () => {
    const story = play('balance', settled, [...off, 'next', 'next']);
    expect(last(story)).toBe('top-feel.pull');
    const moves = story.written.filter((d) => d.kind === 'change' && d.set.type === 'move').map((d) => d.set);
    expect(moves).toMatchObject([{ minutes: 60, why: 'by-feel', model: faultModel.version }]);
    const felt = play('balance', settled, [...off, 'next', 'next', 'as_usual', 'next', '0@all']);
    expect(last(felt)).toBe('balance.next');
    expect(felt.written.filter((d) => d.kind === 'sample')).toHaveLength(1);
  });
  it('does not look at the path anew after each turn', () => {
    const story = play('balance', settled, [...off, 'next', 'next', 'light']);
    expect(last(story)).toBe('balance.next');
    expect(story.state?.data.advice).toMatchObject({ do: 'turn', minutes: 60, why: 'by-feel' });
  });
  it('sews where the turn is put off', () => {
    expect(last(play('balance', settled, [...off, '0@or']))).toBe('sew.stitch');
  });
});

describe('balance', () => {
  it('writes what was looked at, each record under its balancing and round', () => {
    const story = play('balance', settled, [...ready, ...drop, 'next', 'as_usual', 'next', '1@all', 'next', 'next']);
    const own = story.written.filter((d) => ['finding', 'reading', 'sample', 'change'].includes(d.kind));
    expect(own.map((d) => d.kind)).toEqual([
      'finding',
      'finding',
      'finding',
      'reading',
      'change', // in band: the bobbin case is at neutral
      'reading',
      'finding',
      'sample',
      'change',
    ]);
    const balancing = story.written.find((d) => d.kind === 'balancing')?.id;
    expect(own.every((d) => d.set.balancing === balancing && d.set.round === 1)).toBe(true);
  });

  it('can be told not now at every step of getting ready and still goes on', () => {
    const story = play('balance', settled, ['not-now', 'not-now', 'not-now', 'not-now', 'not-now', 'not-now']);
    expect(last(story)).toBe('balance.next');
    expect(story.written.map((d) => d.kind)).toEqual(['balancing']);
  });

  it('offers to undo the change just written, until the next act', () => {
    const before = [...ready, ...drop, 'next', 'as_usual', 'next', '1@all', 'next', 'next'];
    const here = play('balance', settled, before);
    const undos = (s: TaskState | undefined) =>
      s ? offers(s, here.ctx).filter((o) => o.action.do === 'turned-back' || o.action.do === 'wrote-wrong').length : 0;
    expect(undos(here.state)).toBe(2);
    const back = play('balance', settled, [...before, 'turned-back']);
    expect(back.written.at(-1)).toMatchObject({
      kind: 'change',
      set: { type: 'back', minutes: -30, backOf: here.written.at(-1)?.id },
    });
    const struck = play('balance', settled, [...before, 'wrote-wrong']);
    expect(struck.written.at(-1)).toMatchObject({
      kind: 'change',
      set: { type: 'strike', strikes: here.written.at(-1)?.id },
    });
    expect(undos(play('balance', settled, [...before, 'next']).state)).toBe(0);
  });

  it('sews the real pair where a test colour was on, and looks: not good leads to another round, good to the recipe', () => {
    const alike = { ...settled, threads: settled.threads.map((t) => ({ ...t, colour: '#113388' })) };
    const balanced = (colour: string) => [...ready, ...drop, 'next', 'as_usual', colour, 'next', '0@all', 'next'];
    expect(last(play('balance', alike, balanced('next')))).toBe('balance.pair');
    expect(last(play('balance', alike, balanced('go-on')))).toBe('balance.keep'); // sewn with the real pair already
    const bad = play('balance', alike, [...balanced('next'), 'next', 'not-good']);
    expect(bad.steps.slice(-2)).toEqual(['balance.pair-look', 'sew.stitch']); // the colours are not asked about again
    expect(bad.state?.round).toBe(2);
    expect(bad.state?.back?.data.skipped).toContain('accept'); // not good is not to be accepted in the next round
    const kept = play('balance', alike, [...balanced('next'), 'next', 'next', 'next']);
    const recipe = kept.written.find((d) => d.kind === 'recipe')?.id;
    expect(recipe).toBeDefined();
    expect(kept.written.at(-1)).toMatchObject({ kind: 'balancing', set: { ended: 'good-enough', kept: recipe } });
  });

  it('asks first for which kind of work, where the quilt does not say', () => {
    const any = { ...settled, quilts: settled.quilts.map(({ work: _, ...q }) => q) };
    const balanced = [...ready, ...drop, 'next', 'as_usual', 'next', '0@all', 'next'];
    expect(last(play('balance', any, balanced))).toBe('balance.work');
    const show = play('balance', any, [...balanced, 'show', 'not-now']);
    expect(show.written.at(-1)?.set).toMatchObject({ ended: 'good-enough', work: 'show' });
    expect(show.written.some((d) => d.kind === 'recipe')).toBe(false);
  });

  it('offers to put a screw back when a needle was the cure, and puts it back by the ledger', () => {
    const turned = [...ready, ...drop, 'next', 'as_usual', 'next', '1@all', 'next', 'next', 'next', '1@all'];
    const here = play('balance', settled, turned);
    const { state } = here;
    const needle = { id: 'e'.repeat(32), by: '', at: here.ctx.now, type: 'new-needle', balancing: state?.balancing };
    const cured = { ...here, ctx: { ...here.ctx, events: [...here.ctx.events, needle] } };
    const asked = acted(cured, 60, said('good-enough'));
    expect(where(asked.state)).toBe('balance.put-back');
    const offered = acted(asked, 61, said('next'));
    expect(offered.state).toMatchObject({ task: 'change-screw', data: { minutes: -30, why: 'put back' } });
    const back = acted(offered, 62, said('next'));
    expect(back.drafts.find((d) => d.kind === 'change')?.set).toMatchObject({ type: 'move', minutes: -30 });
    expect(where(acted(asked, 63, said('not-now')).state)).toBe('balance.keep');
  });

  it('comes back to its own step when what it opened is left by the way back', () => {
    expect(last(play('balance', settled, [...ready, 'back']))).toBe('balance.drop');
    expect(last(play('balance', settled, [...ready, 'back', 'next']))).toBe('drop-test.setup');
  });

  it('ends left for now, or with a technician who marks it', () => {
    const before = ['not-now', 'not-now', 'not-now', 'not-now', 'not-now', 'not-now'];
    expect(play('balance', settled, [...before, 'left']).written.at(-1)).toMatchObject({
      kind: 'balancing',
      set: { ended: 'left' },
    });
    const marked = play('balance', settled, [...before, 'technician', 'mark']);
    expect(marked.written.slice(-2)).toMatchObject([
      { kind: 'event', set: { type: 'do-not-run' } },
      { kind: 'balancing', set: { ended: 'technician' } },
    ]);
  });

  it('is stopped where it stands when the machine is marked do not run meanwhile, and goes on there once lifted', () => {
    const { state, ctx } = play('balance', settled, ['not-now', 'not-now']);
    if (!state) throw new Error('closed');
    const marked = { ...ctx, events: [{ id: 'e'.repeat(32), at: 1, by: '', type: 'do-not-run' }] };
    const blocked = acted({ ctx: marked, state, drafts: [] }, 50, said('not-now'));
    expect(where(blocked.state)).toBe('balance.blocked');
    const asked = acted(blocked, 51, said('next'));
    const typed = acted(asked, 52, said('"Belt changed"'));
    expect(where(acted(typed, 53, said('next')).state)).toBe('balance.ready-path');
  });
});

describe('one change at a time', () => {
  const sewn = [...ready, ...drop, 'next', 'as_usual', 'next', '1@all'];
  const topTurned = [...sewn, 'next', 'next', 'not-now'];
  it('asks to test first when a second screw is turned before anything is sewn, once', () => {
    const asked = play('balance', settled, [...topTurned, 'turn', `bobbin:${bobbinCase}`]);
    expect(last(asked)).toBe('change-screw.test-first');
    expect(last(play('balance', settled, [...topTurned, 'turn', `bobbin:${bobbinCase}`, 'next']))).toBe('sew.stitch');
    expect(last(play('balance', settled, [...topTurned, 'turn', `bobbin:${bobbinCase}`, 'go-on']))).toBe(
      'change-screw.amount',
    );
  });
  it('does not ask after the lines were sewn', () => {
    const tested = [...sewn, 'next', 'next', 'next', '1@all', 'turn', `bobbin:${bobbinCase}`];
    expect(last(play('balance', settled, tested))).toBe('change-screw.amount');
  });
});
