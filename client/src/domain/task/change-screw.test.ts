import { describe, expect, it } from 'vitest';
import { topScrew } from './ledger';
import { act } from './run';
import { position } from './screws';
import type { TaskData } from './task';
import { bare, bobbinCase, filled, machine, play, said } from './world';

const bobbin = `bobbin:${bobbinCase}`;
const top = topScrew(machine);
const changes = (words: readonly string[], data?: TaskData, ctx = filled) =>
  play('change-screw', ctx, words, data)
    .written.filter((d) => d.kind === 'change')
    .map((d) => d.set);

describe('change a screw', () => {
  it('writes a move that was already made in three taps: screw, amount, done', () => {
    const words = [bobbin, 'add5', 'next'];
    expect(changes(words)).toMatchObject([{ screw: bobbin, type: 'move', minutes: 5, machine, after: [] }]);
    console.log(`taps: a change from Frame ${words.length}`);
    expect(words.length).toBeLessThanOrEqual(3);
  });

  it('asks nothing about the machine when the move is already made', () => {
    expect(play('change-screw', { ...bare, acknowledged: ['change-screw'] }, [top]).steps.at(-1)).toBe(
      'change-screw.amount',
    );
  });

  it('tells the opener what can be undone, and both ways to undo it', () => {
    const { done } = play('change-screw', filled, [bobbin, 'add5', 'next']);
    expect(done?.data).toMatchObject({ screw: bobbin, minutes: 5 });
  });

  it('adds up small, normal and whole-turn steps and goes home again', () => {
    const { state } = play('change-screw', filled, [top, 'add60', 'add30', 'add-15', 'add60']);
    expect(state?.data.minutes).toBe(135);
    expect(
      play('change-screw', filled, ['add-5', 'home'], { door: 'about', screw: bobbin, minutes: 5 }).state?.data.minutes,
    ).toBe(5);
  });

  it('never leaves its bounds', () => {
    const { state, ctx } = play('change-screw', filled, [top, 'set600', 'add60']);
    expect(state?.data.minutes).toBe(600);
    if (!state) throw new Error('closed');
    for (const to of [601, -601, 1.5, Number.NaN, Number.POSITIVE_INFINITY])
      expect(act(state, { do: 'set', to }, ctx).refused).toBe(true);
  });

  it('asks after a break whether it was done, and takes the answer', () => {
    const { state, ctx } = play('change-screw', filled, [], { door: 'about', screw: bobbin, minutes: 5 });
    if (!state) throw new Error('closed');
    const at = (ms: number) => act(state, { do: 'opened' }, { ...ctx, now: state.touchedAt + ms }).state;
    expect(at(60_000)?.step).toBe('amount');
    expect(at(60_001)?.step).toBe('did-you');
    const asked = at(60_001);
    if (!asked) throw new Error('closed');
    const ids = { ...ctx, ids: ['a'.repeat(32), 'b'.repeat(32)] };
    expect(act(asked, said('turned'), ids).drafts[0]?.set).toMatchObject({ type: 'move', minutes: 5 });
    expect(act(asked, said('not-turned'), ids).state?.step).toBe('amount');
    expect(act(asked, said('not-sure'), ids).state?.step).toBe('mark');
  });

  it('asks so for the way back to an earlier point, and not for what was turned already', () => {
    let { ctx } = play('change-screw', filled, [bobbin, 'add5', 'next']);
    ctx = play('change-screw', { ...ctx, now: ctx.now + 9000 }, [bobbin, 'add5', 'next'], undefined, 2).ctx;
    const at = { ...ctx, now: ctx.now + 9000 };
    const later = (words: readonly string[]) => {
      const { state, ctx: then } = play('change-screw', at, words, undefined, 9);
      if (!state) throw new Error('closed');
      return act(state, { do: 'opened' }, { ...then, now: state.touchedAt + 60_001 }).state?.step;
    };
    expect(later([bobbin, 'points', ctx.changes[0]?.id ?? ''])).toBe('did-you');
    expect(later([bobbin, 'add5'])).toBe('amount');
  });

  it('remembers with the first reading of a pen mark that the case has a line', () => {
    const marked = play('change-screw', filled, [bobbin, 'mark', 'set10', 'next']);
    const lines = marked.written.filter((d) => d.kind === 'bobbinCase');
    expect(lines).toMatchObject([{ id: bobbinCase, set: { penLine: true } }]);
    const again = play('change-screw', { ...marked.ctx, now: marked.ctx.now + 9000 }, [
      bobbin,
      'mark',
      'set20',
      'next',
    ]);
    expect(again.written.filter((d) => d.kind === 'bobbinCase')).toEqual([]);
  });

  it('looks at the mark before a count is lost, and then goes to neutral', () => {
    const story = play('change-screw', filled, [bobbin, 'lost', 'no-mark', 'not-now']);
    expect(story.steps).toEqual([
      'change-screw.screw',
      'change-screw.amount',
      'change-screw.mark',
      'change-screw.neutral',
      '',
    ]);
    expect(position(story.ctx, bobbin)).toBe('lost');
    expect(story.done).toMatchObject({ how: 'lost', data: { screw: bobbin } });
  });

  it('keeps the count when the mark stands where it must, unless a whole turn is possible', () => {
    const marked = play('change-screw', filled, [bobbin, 'mark', 'set10', 'next']).ctx;
    const moved = { ...play('change-screw', { ...marked, now: marked.now + 1000 }, [bobbin, 'add5', 'next']).ctx };
    const words = [bobbin, 'somebody', 'set15', 'next'];
    expect(play('change-screw', moved, [...words, 'next']).done?.how).toBe('count-stands');
    expect(changes([...words, 'whole-turn'], undefined, moved).at(-1)).toMatchObject({ type: 'lost', why: 'somebody' });
    const off = changes([bobbin, 'somebody', 'set20', 'next', 'next'], undefined, moved);
    expect(off.at(-1)).toMatchObject({ type: 'move', minutes: 5, why: 'mark' });
  });

  it('goes back to an earlier point as the move to make', () => {
    let ctx = filled;
    for (const by of ['add5', 'add5', 'add-15'])
      ctx = play(
        'change-screw',
        { ...ctx, now: ctx.now + 9000 },
        [bobbin, by, 'next'],
        undefined,
        1 + ctx.changes.length,
      ).ctx;
    const [first] = ctx.changes;
    const back = play('change-screw', ctx, [bobbin, 'points', first?.id ?? '', 'next'], undefined, 9);
    expect(back.written).toMatchObject([{ set: { type: 'move', minutes: 10 } }]);
  });

  it('writes neutral for the top at once', () => {
    const story = play('change-screw', filled, ['next'], { door: 'neutral', screw: top });
    expect(story.written).toMatchObject([{ kind: 'change', set: { type: 'neutral', screw: top } }]);
  });

  it('reads a dial, which is never counted', () => {
    const dial = { ...filled, machines: filled.machines.map((m) => ({ ...m, topKnob: 'dial' as const })) };
    expect(changes([top, 'set35', 'add5', 'next'], undefined, dial)).toMatchObject([{ type: 'dial', dialTenths: 40 }]);
  });

  it('tries out which way a screw tightens before the first act that needs it, once', () => {
    const untried = { ...filled, bobbinCases: filled.bobbinCases.map(({ tightens: _, ...c }) => c) };
    const about = { door: 'about', screw: bobbin, minutes: 5 };
    const story = play('change-screw', untried, ['next', 'looser', 'next', 'next'], about);
    expect(story.steps.slice(0, 4)).toEqual([
      'ask.tightens',
      'ask.tightens-feel',
      'ask.tightens-back',
      'change-screw.amount',
    ]);
    expect(story.ctx.bobbinCases[0]?.tightens).toBe('counter');
    expect(play('change-screw', story.ctx, [], about).steps).toEqual(['change-screw.amount']);
  });

  it('tries the top out as well, by its number where it has one', () => {
    const untried = (topKnob: 'turns' | 'dial') => ({
      ...filled,
      machines: filled.machines.map(({ topTightens: _, ...m }) => ({ ...m, topKnob })),
    });
    const about = { door: 'about', screw: top, minutes: 30 };
    const turned = play('change-screw', untried('turns'), ['next', 'tighter', 'next'], about);
    expect(turned.ctx.machines[0]?.topTightens).toBe('clockwise');
    expect(turned.written.map((d) => d.set.type)).toEqual(['lost', 'strike', undefined]);
    const dial = play('change-screw', untried('dial'), ['next', 'looser', 'next'], about);
    expect(dial.ctx.machines[0]?.topTightens).toBe('counter');
    expect(dial.written.map((d) => d.kind)).toEqual(['machine']); // a number is read off: no position to hold open
  });

  it('can be tried out anew on the machine’s page, when it was told wrong', () => {
    const asked = { question: 'tightens', screw: bobbin };
    expect(play('ask', filled, [], asked)).toMatchObject({ state: undefined, done: { how: 'answered' } });
    const anew = play('ask', filled, ['next', 'looser', 'next'], { ...asked, anew: true });
    expect(anew.ctx.bobbinCases[0]?.tightens).toBe('counter');
  });

  it('holds the position open while the screw is off its place for the trial', () => {
    const untried = { ...filled, bobbinCases: filled.bobbinCases.map(({ tightens: _, ...c }) => c) };
    const neutral = { id: 'n', at: 0, by: '', screw: bobbin, type: 'neutral' as const, after: [] };
    const settled = play(
      'change-screw',
      { ...untried, changes: [neutral] },
      [bobbin, 'add5', 'next'],
      undefined,
      1,
    ).ctx;
    const about = { door: 'about', screw: bobbin, minutes: 5 };
    expect(position(play('change-screw', settled, ['next'], about).ctx, bobbin)).toBe('lost');
    expect(position(play('change-screw', settled, ['next', 'tighter', 'next'], about).ctx, bobbin)).toEqual({
      known: 5,
    });
    expect(position(play('change-screw', settled, ['next', 'tighter', 'left-there'], about).ctx, bobbin)).toEqual({
      known: 10,
    });
    expect(position(play('change-screw', settled, ['next', 'cant-tell', 'not-sure'], about).ctx, bobbin)).toBe('lost');
  });

  it('does not ask again what was skipped today', () => {
    const untried = { ...filled, bobbinCases: filled.bobbinCases.map(({ tightens: _, ...c }) => c) };
    const about = { door: 'about', screw: bobbin, minutes: 5 };
    const skipped = play('change-screw', untried, ['not-now'], about);
    expect(skipped.steps).toEqual(['ask.tightens', 'change-screw.amount']);
    expect(play('change-screw', skipped.ctx, [], about).steps).toEqual(['change-screw.amount']);
    expect(play('change-screw', { ...skipped.ctx, now: skipped.ctx.now + 13 * 3_600_000 }, [], about).steps).toEqual([
      'ask.tightens',
    ]);
  });
});
