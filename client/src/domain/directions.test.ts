import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { directionsOf, harmonicFit, type Ray, type Sample } from './directions';
import { fork, soundMachine, star, topThreads, trueScore } from './virtual';

const eight = [0, 45, 90, 135, 180, 225, 270, 315];
const rays = (scores: readonly number[], circles: readonly number[] = []): readonly Ray[] => [
  ...scores.map((score, i) => ({ direction: eight[i] ?? 0, score })),
  ...circles.map((score, i) => ({ direction: i === 0 ? ('circle-left' as const) : ('circle-right' as const), score })),
];
const said = (scores: readonly number[], circles?: readonly number[]) =>
  directionsOf([{ rays: rays(scores, circles) }]).verdict;

describe('what a star says', () => {
  it.each([
    ['nothing', [0, 0, 0, 0, 0, 0, 0, 0], { is: 'balanced' }],
    ['off alike', [1, 1, 1, 1, 1, 1, 1, 1], { is: 'tension', face: 'top-on-back' }],
    ['off alike but for one step', [-1, -1, -2, -1, -1, -1, -1, -1], { is: 'tension', face: 'bobbin-on-top' }],
    ['off going away only', [2, 1, 0, 0, 0, 0, 0, 1], { is: 'direction', face: 'top-on-back', worst: 0 }],
    ['off to the left only', [0, 0, 0, 0, 0, -1, -2, -1], { is: 'direction', face: 'bobbin-on-top', worst: 270 }],
    [
      'one face one way, the other back',
      [2, 1, 0, -1, -1, -1, 0, 1],
      { is: 'direction', face: 'top-on-back', worst: 0 },
    ],
    ['off all over, most coming back', [1, 1, 1, 2, 2, 2, 1, 1], { is: 'both', face: 'top-on-back', worst: 180 }],
    ['along one line both ways', [2, 1, 0, 1, 2, 1, 0, 1], { is: 'scattered' }],
    ['a lone ray', [0, 0, 0, 1, 0, 0, 0, 0], { is: 'scattered' }],
  ])('%s', (_name, scores, want) => expect(said(scores)).toEqual(want));

  it('takes circles alone for curves', () => {
    expect(said([0, 0, 0, 0, 0, 0, 0, 0], [1, 1])).toEqual({ is: 'curves', face: 'top-on-back' });
  });

  it('asks for the star where two lines differ, and takes two alike for tension', () => {
    const two = (a: number, b: number) =>
      directionsOf([
        {
          rays: [
            { direction: 0, score: a },
            { direction: 180, score: b },
          ],
        },
      ]).verdict;
    expect(two(1, 0)).toEqual({ is: 'too-few' });
    expect(two(2, 1)).toEqual({ is: 'tension', face: 'top-on-back' });
    expect(two(0, 0)).toEqual({ is: 'balanced' });
  });

  it('leaves out rays that could not be told', () => {
    const star = rays([2, 1, 0, 0, 0, 0, 0, 1]).map((r, i) => (i > 4 ? { ...r, score: -2, marks: ['cant-tell'] } : r));
    expect(directionsOf([{ rays: star }]).verdict).toMatchObject({ is: 'direction', face: 'top-on-back' });
    expect(directionsOf([{ rays: star.map((r) => ({ ...r, marks: ['cant-tell'] })) }]).verdict).toEqual({
      is: 'unread',
    });
  });

  it.each([
    [[1, 1], [0, 0], 'regulated-only'],
    [[0, 0], [1, 2], 'manual-only'],
    [[1, 1], [1, 1], 'same'],
    [[0, 0], [0, 0], 'same'],
  ] as const)('regulated %j and manual %j: %s', (regulated, manual, want) => {
    const sample = (mode: 'regulated' | 'manual', scores: readonly number[]): Sample => ({ mode, rays: rays(scores) });
    expect(directionsOf([sample('regulated', regulated), sample('manual', manual)]).modes).toBe(want);
    expect(directionsOf([sample('regulated', regulated)]).modes).toBeUndefined();
  });

  it('turns with the star and mirrors with the faces', () => {
    const scores = fc.array(fc.integer({ min: -2, max: 2 }), { minLength: 8, maxLength: 8 });
    fc.assert(
      fc.property(scores, fc.nat(7), (ys, by) => {
        const turned = ys.map((_, i) => ys[(i - by + 8) % 8] ?? 0);
        const [a, b, c] = [said(ys), said(turned), said(ys.map((y) => (y === 0 ? 0 : -y)))];
        expect([b.is, c.is]).toEqual([a.is, a.is]);
        if ('worst' in a && 'worst' in b && 'face' in b) {
          expect(b.face).toBe(a.face);
          expect(b.worst).toBe((a.worst + 45 * by) % 360);
        }
        if ('face' in a && 'face' in c && a.is !== 'direction') expect(c.face).not.toBe(a.face);
        if (a.is === 'direction' && a.face === 'top-on-back') expect(ys.some((y) => y > 0)).toBe(true);
      }),
      { numRuns: 500, seed: 7 },
    );
  });

  it('finds the way a virtual needle bends, and calls a knob a knob', () => {
    let [bent, right, knob, set] = [0, 0, 0, 0];
    for (let seed = 0; seed < 300; seed++) {
      const r = fork(seed, 3);
      const thread = topThreads[seed % topThreads.length];
      if (!thread) throw new RangeError('no thread');
      const sound = soundMachine(seed, r, thread);
      const toward = 45 * (seed % 8);
      const base = { ...sound.base, flex: 0.4, flexToward: toward };
      const read = (v: typeof sound) =>
        directionsOf([{ rays: star.map((d) => ({ direction: d, score: trueScore(v, d) })) }]).verdict;
      const flexed = read({ ...sound, base });
      bent++;
      if (flexed.is === 'direction' && (flexed.worst - toward + 360) % 180 === 0) right++;
      const off = read({ ...sound, top: seed % 2 === 0 ? 240 : -240 });
      knob++;
      if (off.is === 'tension' || off.is === 'both') set++;
    }
    expect(right / bent).toBeGreaterThan(0.95);
    expect(set / knob).toBeGreaterThan(0.95);
  });

  it('fits exactly through three directions, and says nothing of two', () => {
    expect(
      harmonicFit([
        [0, 1],
        [180, -1],
        [360, 1],
      ]),
    ).toBeUndefined();
    expect(
      harmonicFit([
        [0, 2],
        [90, 1],
        [180, -1],
      ])?.sse,
    ).toBeCloseTo(0, 12);
  });
});
