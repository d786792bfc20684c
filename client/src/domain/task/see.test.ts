import { describe, expect, it } from 'vitest';
import { offers } from './run';
import { bestQuestion, questions } from './symptoms';
import type { TaskState } from './task';
import { filled, play, said } from './world';

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
    const story = play('see', filled, ['top', 'wire@top_face', 'show', '4', 'smooth']);
    expect(story.written.map((d) => [d.kind, d.set.finding ?? d.set.named])).toEqual([
      ['symptom', 4],
      ['finding', 'bobbin_on_top'],
      ['finding', 'pull_bobbin'],
    ]);
    expect(story.written[0]?.set.answers).toEqual({ top_face: ['wire'] });
    expect(story.done).toMatchObject({ how: 'named', data: { named: '4' } });
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
});
