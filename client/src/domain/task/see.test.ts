import { describe, expect, it } from 'vitest';
import { offers } from './run';
import { bestQuestion, questions } from './symptoms';
import type { TaskState } from './task';
import { acted, filled, type Here, play, said } from './world';

const last = (s: { readonly steps: readonly string[] }) => s.steps.at(-1);

describe('what do you see?', () => {
  it('something happened comes first, and stops', () => {
    expect(last(play('see', filled, ['happened', 'knock']))).toBe('stop.power-off');
  });
  it('it just looks wrong leads to first five', () => {
    expect(last(play('see', filled, ['looks-wrong']))).toBe('first-five.rethread');
  });

  it('takes questions in any order, two answers each, and takes an answer back', () => {
    const story = play('see', filled, [
      'top',
      'firm@open',
      'lifts@firm',
      'top_face@open',
      'dots@top_face',
      'bumps@top_face',
      'wire@top_face',
    ]);
    expect(story.state?.data.answers).toEqual({ firm: ['lifts'], top_face: ['bumps', 'wire'] });
    const back = play('see', filled, ['top', 'dots@top_face', 'dots@top_face']);
    expect(back.state?.data.answers).toEqual({});
    const none = play('see', filled, ['top', 'dots@top_face', 'cant-tell@top_face']);
    expect(none.state?.data.answers).toEqual({ top_face: ['cant-tell'] });
  });

  it('goes on to the best next question, asks none twice, and shows the pictures when all were shown', () => {
    const words = ['top', 'next', 'next', 'next', 'next', 'next', 'next'];
    const { steps, state } = play('see', filled, words);
    expect(steps.at(-2)).toBe('see.features');
    expect(last({ steps })).toBe('see.result');
    expect(state?.data.answers ?? {}).toEqual({});
    expect([...((state?.data.shown as string[]) ?? [])].sort()).toEqual(
      questions('top')
        .map((f) => f.id)
        .sort(),
    );
    const after = play('see', filled, ['top', 'wire@top_face', 'next']).state?.data;
    expect(after?.open).toBe(bestQuestion({ top_face: ['wire'] }, ['where', 'firm', 'stitches', 'thread', 'holes']));
  });

  it('asks one more from the list, and stops where nothing would tell more', () => {
    const { state } = play('see', filled, ['top', 'wire@top_face', 'show', 'more']);
    expect(state).toMatchObject({ step: 'features', data: { answers: { top_face: ['wire'] } } });
    expect(state?.data.open).not.toBe('top_face');
  });

  it('keeps the path with what it was named, its findings, and ends in a look', () => {
    const story = play('see', filled, ['top', 'wire@top_face', 'show', '4', 'smooth', 'do:leave']);
    expect(story.written.map((d) => [d.kind, d.set.finding ?? d.set.named])).toEqual([
      ['symptom', 4],
      ['finding', 'bobbin_on_top'],
      ['finding', 'pull_bobbin'],
    ]);
    expect(story.written[0]?.set.answers).toEqual({ top_face: ['wire'] });
    const ended = play('see', filled, ['top', 'wire@top_face', 'show', '4', 'not-now']);
    expect(ended.done).toMatchObject({ how: 'named', data: { named: '4' } });
  });

  it('can be named none of these, with the path kept all the same', () => {
    const story = play('see', filled, ['=back', 'dots@back_face', 'show', 'none']);
    expect(story.written).toMatchObject([{ kind: 'symptom', set: { named: null } }]);
    expect(story.done?.how).toBe('unnamed');
  });

  it('compares two, and says why not', () => {
    const story = play('see', filled, ['top', 'dots@top_face', 'show', '2@compare', '15@compare']);
    expect(last(story)).toBe('see.compare');
    expect(story.state?.data.compare).toEqual(['2', '15']);
    expect(last(play('see', filled, ['top', 'dots@top_face', 'show', '15@why-not', 'next']))).toBe('see.result');
  });

  it('puts the own stitch beside a picture; it can be no answer, and its photos belong to the path', () => {
    const story = play('see', filled, ['top', 'dots@top_face', 'show', 'own@compare', '2@compare']);
    expect(story.state).toMatchObject({ step: 'compare', data: { compare: ['own', '2'] } });
    const named = offers(story.state as TaskState, story.ctx).filter((o) => o.as === 'tile');
    expect(named.map((o) => o.action)).toEqual([said('2')]);
    const path = story.state?.data.path;
    const kept = play('see', filled, ['top', 'dots@top_face', 'show', 'own@compare', '2@compare', '2']).written[0];
    expect(kept).toMatchObject({ kind: 'symptom', id: path, set: { named: 2, zone: filled.zone } });
  });

  it('was something else: named again from the same answers, and what the wrong name stood for is taken back', () => {
    const first = play('see', filled, [
      'top',
      'dots@top_face',
      'where@open',
      'everywhere@where',
      'show',
      '2',
      'not-now',
    ]);
    const wrong = first.written[0];
    const later = { ...first.ctx, now: first.ctx.now + 60_000 };
    const again = { corrects: wrong?.id, look: 'top', answers: wrong?.set.answers };
    const story = play('see', later, ['15', 'not-now'], again, 1);
    expect(story.steps[0]).toBe('see.result');
    expect(story.written.map((d) => [d.kind, d.set.finding ?? d.set.named, d.set.state])).toEqual([
      ['symptom', 15, undefined],
      ['finding', 'bobbin_on_top', 'none'],
      ['finding', 'both_sides', 'dots_both'],
    ]);
    expect(story.written[0]?.set.corrects).toBe(wrong?.id);
    const none = play('see', later, ['none'], again, 2);
    expect(none.written.map((d) => [d.kind, d.set.finding ?? d.set.named, d.set.state])).toEqual([
      ['symptom', null, undefined],
      ['finding', 'bobbin_on_top', 'none'],
    ]);
  });

  it('a wad under the plate is a stop', () => {
    expect(last(play('see', filled, ['=back', 'wad@below', 'show', '12']))).toBe('stop.power-off');
  });

  it('ends in the look that pays most with what the bench tells, and says what it tells apart', () => {
    const named = (ctx: typeof filled) => play('see', ctx, ['=back', 'dots@back_face', 'show', '5']).state?.data;
    const plain = named(filled);
    expect(plain?.check).toBeDefined();
    expect(plain?.about).toHaveLength(2);
    const dense = named({ ...filled, bench: { ...filled.bench, backing: 'Batik' } });
    expect([dense?.check, dense?.about]).not.toEqual([plain?.check, plain?.about]);
  });

  it('first looks at what is new since it was good, where that pays, until it was looked at', () => {
    const event = (type: string, at: number) => ({ id: type, by: '', at, type });
    const fresh = { ...filled, events: [event('good', 1), event('new-bobbin', filled.now - 60_000)] };
    const check = (ctx: typeof filled) =>
      play('see', ctx, ['=back', 'lashes@back_face', 'show', '8']).state?.data.check;
    const old = { ...filled, events: [event('new-bobbin', 1), event('good', 2)] };
    expect(check(old)).not.toBe('bobbin_look');
    expect(check(fresh)).toBe('bobbin_look');
    const seen = { id: 'f', by: '', at: filled.now - 1000, finding: 'bobbin_look', state: 'fine' };
    expect(check({ ...fresh, findings: [seen] })).not.toBe('bobbin_look');
  });

  describe('after a look', () => {
    const lashed = (words: readonly string[], ctx = filled) =>
      play('see', ctx, ['=back', 'lashes@back_face', 'show', '8', ...words]);

    it('goes on with the next suspicion where nothing was found, until something is to be done', () => {
      // With a bobbin that is new since it was good the bobbin is looked at first, and is well.
      const event = (type: string, at: number) => ({ id: type, by: '', at, type });
      const fresh = { ...filled, events: [event('good', 1), event('new-bobbin', filled.now - 60_000)] };
      const story = lashed(['fine'], fresh);
      expect(story.done).toBeUndefined();
      expect(story.state?.data.found).toMatchObject({ eyelash: 'back', bobbin_look: 'fine' });
      expect(story.state?.data.check).not.toBe('bobbin_look');
      // Whatever the looks are, all well leads to a step within a handful of taps, and never to the same look twice.
      let [here, turn] = [story as Here, 50];
      const asked = new Set<unknown>();
      while (here.state?.step === 'check') {
        expect(asked).not.toContain(here.state.data.check);
        asked.add(here.state.data.check);
        const well = offers(here.state, here.ctx).find((o) => o.as === 'tile');
        here = acted(here, turn++, well?.action ?? said('none'));
      }
      expect(asked.size).toBeLessThan(8);
      expect(here.state).toMatchObject({ task: 'see', step: 'act' });
      expect(here.done).toBeUndefined();
    });

    it('passes over what can’t be told, and says plainly what to do', () => {
      const story = lashed(['cant-tell']);
      expect(story.state?.data.passed).toEqual(['slow_down']);
      expect(last(story)).toBe('see.act');
      expect(story.state?.data.todo).toEqual({ do: 'balance' });
      const balancing = lashed(['cant-tell', 'next']);
      expect(last(balancing)).toBe('balance.ready-card');
      // It begins with what was told on the way, so that nothing is asked twice.
      const { id = '' } = balancing.written.findLast((d) => d.kind === 'balancing') ?? {};
      const told = balancing.written.filter((d) => d.kind === 'finding' && d.set.balancing === id);
      expect(told.map((d) => [d.set.finding, d.set.state, d.set.round])).toContainEqual(['eyelash', 'back', 1]);
    });

    it('mends what was found, writes it down, and asks whether it is gone', () => {
      let here: Here = play('see', filled, ['top', 'thread@open', 'top-frays@thread', 'show', '22']);
      for (let turn = 50; here.state?.step === 'check' && here.state.data.check !== 'needle_look'; turn++)
        here = acted(here, turn, said('cant-tell'));
      const damaged = acted(here, 80, said('damaged'));
      expect(damaged.state).toMatchObject({ step: 'act', data: { todo: { do: 'act', action: 'new_needle' } } });
      const fitted = acted(damaged, 81, said('next'));
      expect(fitted.state?.step).toBe('sew-on');
      expect(fitted.drafts.map((d) => d.set.type ?? d.kind)).toEqual(['new-needle', 'bench']);
    });

    it('asks whether it is gone after a look that mends; gone is written, still there goes on', () => {
      expect(last(lashed(['better']))).toBe('see.sew-on');
      const gone = lashed(['better', 'next', 'gone']);
      expect(gone.done?.how).toBe('named');
      expect(gone.written.at(-1)?.set).toMatchObject({ finding: 'eyelash', state: 'none' });
      const still = lashed(['better', 'next', 'still-there']);
      expect(still.state?.data.tried).toEqual(['slow_down']);
      expect(still.done).toBeUndefined();
    });

    it('asks for no sewing on a machine that is not to be run', () => {
      const marked = { ...filled, events: [{ id: 'f', by: '', at: 1, type: 'do-not-run' }] };
      expect(lashed(['better'], marked).done?.how).toBe('named');
    });

    it('ends at once inside a balancing, which goes on by itself', () => {
      const { quilt } = filled.bench;
      const known = { ...filled, balancings: [{ id: 'c'.repeat(32), at: 0, by: '', machine: filled.machine, quilt }] };
      const toNext = ['clean', 'right', 'right', 'finger', 'tips', 'next', 'as_usual', 'next', '1@all'];
      const story = play('balance', known, [...toNext, 'see', '=back', 'lashes@back_face', 'show', '8', 'no_change']);
      expect(last(story)).toBe('balance.next');
    });
  });
});
