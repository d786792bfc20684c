import { describe, expect, it } from 'vitest';
import { filled, play } from './world';

const samples = (words: readonly string[], ctx = filled) =>
  play('sew', ctx, words)
    .written.filter((d) => d.kind === 'sample')
    .map((d) => d.set);

describe('two lines', () => {
  it('“all alike” is one tap', () => {
    expect(samples(['next', '1@all'])).toMatchObject([
      {
        mode: 'regulated',
        allAlike: true,
        rays: [
          { direction: 0, score: 1 },
          { direction: 180, score: 1 },
        ],
      },
    ]);
  });

  it('keeps what stands beside the score', () => {
    const [sample] = samples(['next', '1@0', 'lifts@0', '1@180', 'both-faces@180', 'next']);
    expect(sample).toMatchObject({
      allAlike: false,
      rays: [
        { direction: 0, score: 1, marks: ['lifts'] },
        { direction: 180, score: 1, marks: ['both-faces'] },
      ],
    });
    expect(samples(['next', 'lifts@all', '-1@all'])[0]).toMatchObject({
      allAlike: true,
      rays: [{ score: -1, marks: ['lifts'] }, {}],
    });
  });

  it('takes an answer back with a second tap', () => {
    expect(play('sew', filled, ['next', '1@0', '1@0', '2@0']).state?.data.rays).toMatchObject({ '0': { score: '2' } });
  });

  it('leads to the star when the lines differ', () => {
    const story = play('sew', filled, ['next', '0@0', '2@180', 'next', 'next']);
    expect(story.steps.slice(-2)).toEqual(['sew.differ', 'sew.stitch']);
    expect(story.state?.data).toMatchObject({ form: 'star' });
  });
});

describe('the star', () => {
  it('only odd rays are tapped, in both modes where the machine has them', () => {
    const [one, two] = samples(['star', 'next', '2@225', 'next', 'next', 'next', 'next']);
    expect(one?.rays).toHaveLength(10);
    expect(one).toMatchObject({ mode: 'regulated', allAlike: false });
    const rays = (one?.rays ?? []) as readonly { score: number }[];
    expect(rays.filter((r) => r.score !== 0)).toEqual([{ direction: 225, score: 2 }]);
    expect(two).toMatchObject({ mode: 'manual', allAlike: true });
  });

  it('is one sample on a machine with one mode', () => {
    const one = { ...filled, machines: filled.machines.map((m) => ({ ...m, modes: ['hand-guided' as const] })) };
    expect(samples(['star', 'next', 'next'], one)).toMatchObject([{ mode: 'manual' }]);
  });
});

describe('threads that look alike', () => {
  it('is said before a stitch is sewn', () => {
    const alike = { ...filled, threads: filled.threads.map((t) => ({ ...t, colour: '#113388' })) };
    expect(play('sew', alike, ['next']).steps).toEqual(['sew.colours', 'sew.stitch']);
    expect(play('sew', alike, ['go-on', 'next', '0@all']).done?.how).toBe('sewn');
    expect(play('sew', alike, ['not-now']).done?.how).toBe('not-now');
  });

  it('is not said of two that can be told apart, nor of a colour nobody gave', () => {
    const coloured = (...colours: readonly (string | undefined)[]) => ({
      ...filled,
      threads: filled.threads.map((t, i) => ({ ...t, colour: colours[i] })),
    });
    for (const pair of [
      ['#113388', '#dd7711'],
      ['#113388', undefined],
      [undefined, undefined],
    ])
      expect(play('sew', coloured(...pair), []).steps).toEqual(['sew.stitch']);
    expect(play('sew', coloured('#113388', '#14378c'), []).steps).toEqual(['sew.colours']);
  });

  it.each([
    [['smooth', 'slack_back', 'gives'], ['firmness slack_back']],
    [
      ['ridge-top', 'snug', 'gives'],
      ['bobbin_on_top pulled_up', 'firmness snug'],
    ],
    [
      ['ridge-back', 'cant-tell', 'snaps'],
      ['top_on_back pulled_down', 'firmness puckered'],
    ],
    [['smooth', 'cant-tell', 'gapes'], ['firmness slack_both']],
    [['cant-tell', 'cant-tell', 'cant-tell'], []],
  ])('goes by finger, pin and tug: %j → %j', (felt, findings) => {
    const story = play('sew', filled, ['next', 'same-colours', ...felt]);
    expect(story.written.filter((d) => d.kind === 'finding').map((d) => `${d.set.finding} ${d.set.state}`)).toEqual(
      findings,
    );
    expect(story.written.find((d) => d.kind === 'sample')?.set.rays).toMatchObject([
      { marks: ['cant-tell'] },
      { marks: ['cant-tell'] },
    ]);
  });
});

describe('while it sews', () => {
  it('something can happen: stop, and back to the lines once all is well', () => {
    const looks = ['next', 'whole', 'next', 'clean', 'smooth', 'next', 'picks_up', 'next', 'sews-well', 'next'];
    const story = play('sew', filled, ['happened', 'struck', ...looks]);
    expect([story.steps[1], story.steps.at(-1)]).toEqual(['stop.what', 'sew.stitch']);
    const bad = play('sew', filled, ['happened', 'heat', 'next', 'next', 'next']);
    expect(bad.steps.at(-1)).toBe('sew.blocked');
  });
});
