import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { allowedSteps, estimate, type HowFarInput, howFar, learnedSlope, type Sewn, usualSlope } from './how-far';

const sewn = (...rounds: readonly (readonly [place: number, ...scores: number[]])[]): readonly Sewn[] =>
  rounds.map(([place, ...scores]) => ({ place, scores }));
const top = (rounds: readonly Sewn[], more: Partial<HowFarInput> = {}) =>
  howFar({ knob: 'top', here: rounds.at(-1)?.place ?? 0, rounds, ...more });

describe('how far to turn', () => {
  it('goes the way that the colours say', () => {
    expect(top(sewn([0, 2, 2])).minutes).toBeGreaterThan(0); // top colour on the back: tighten the top
    expect(top(sewn([0, -1, -1])).minutes).toBeLessThan(0);
    const bobbin = (score: number) => howFar({ knob: 'bobbin', here: 0, rounds: sewn([0, score]) });
    expect(bobbin(2).minutes).toBe(-5);
    expect(bobbin(-2).minutes).toBe(5);
  });

  it('goes one turn at most, however far off both lines say it is', () => {
    expect(top(sewn([0, 2, 2])).minutes).toBe(60);
    expect(top(sewn([0, -2, -2], [-60, -2, -2])).minutes).toBe(-60);
    expect(top(sewn([0, 2, 2]), { home: 300 }).minutes).toBe(60);
    expect(Math.max(...allowedSteps.top)).toBe(60);
    expect(Math.max(...allowedSteps.bobbin)).toBe(5);
  });

  it('halves between two places that are each on the wrong side', () => {
    const a = top(sewn([0, 2, 2], [120, -2, -2]));
    expect(a.minutes).toBeLessThan(0);
    expect(a.minutes).toBeGreaterThan(-120);
    expect(a.minutes).toBe(-60);
  });

  it('has no step left between places one step apart', () => {
    const there: readonly [number, ...number[]][] = [
      [0, 1, 1],
      [15, -1, -1],
    ];
    expect(top(sewn(...there, ...there, ...there)).minutes).toBe(0);
  });

  it('is surer the more was sewn', () => {
    expect(top(sewn([0, 2, 2])).sure).toBe('guess');
    expect(top(sewn([0, 2, 2], [120, 1, 1], [150, 0, 1])).sure).toBe('likely');
  });

  it('asks to sew again where nothing moved, and where it moved the wrong way', () => {
    const dead = top(sewn([0, 1, 1], [60, 1, 1], [120, 1, 1], [180, 1, 1]));
    expect(dead.doubt).toEqual({ why: 'no-effect', sewnAgain: false });
    const wrong = top(sewn([0, 1, 1], [30, 2, 2], [-30, 0, 0], [-60, -1, -1]));
    expect(wrong.doubt).toEqual({ why: 'wrong-way', sewnAgain: false });
    expect(top(sewn([0, 1, 1], [30, 2, 2], [-30, 0, 0], [-60, -1, -1], [-60, -1, -1])).doubt?.sewnAgain).toBe(true);
    expect(top(sewn([0, 2, 2], [90, -1, -1])).doubt).toBeUndefined();
  });

  it('takes a misreading for one when the next rounds say so', () => {
    const misread = sewn([0, 2, 2], [90, 2, 2], [60, -1, -1], [75, -1, -1]);
    const e = estimate({ knob: 'top', here: 75, rounds: misread });
    const tighter = e.lines.reduce((t, n) => t + (-n.alpha / n.beta > 15 ? n.weight : 0), 0);
    expect(tighter).toBeLessThan(0.2); // 90 was read for the wrong face
  });

  it('goes by the feel before anything is sewn, and back to where it was good before', () => {
    const feel = (is: 'stiff' | 'light' | 'as_usual') =>
      howFar({ knob: 'top', here: 0, rounds: [], feels: [{ place: 0, is }] });
    expect(feel('stiff').minutes).toBe(-60);
    expect(feel('light').minutes).toBe(60);
    expect(feel('as_usual').minutes).toBe(0);
    const by = (home: number) => top(sewn([0, 1, 1]), { home }).minutes;
    expect([by(15), by(75)]).toEqual([30, 45]);
    expect(top(sewn([0, 1, 1]), { home: 300 }).minutes).toBeLessThanOrEqual(60); // what is sewn outweighs what was
  });
});

describe('the slope that a studio learns', () => {
  it('is the usual one without a history', () => {
    expect(learnedSlope('top', [])).toEqual(usualSlope.top);
    expect(learnedSlope('top', [sewn([0, 2, 2])])).toEqual(usualSlope.top);
  });

  it('is steep where small turns did much, flat where large ones did little, and never sure of one pair', () => {
    const steep = sewn([0, 1, 1], [30, -1, -1], [15, 0, -1]);
    const flat = sewn([0, 2, 2], [60, 1, 1], [120, 1, 0], [180, 0, 0]);
    const at = (...b: readonly (readonly Sewn[])[]) => learnedSlope('top', b);
    expect(at(steep).at).toBeGreaterThan(usualSlope.top.at + 0.15);
    expect(at(flat).at).toBeLessThan(usualSlope.top.at - 0.15);
    expect(at(steep, steep, steep).at).toBeGreaterThan(at(steep).at);
    expect(at(...Array(12).fill(steep)).sd).toBe(0.35);
    expect(at(flat, flat).sd).toBeLessThan(usualSlope.top.sd);
  });

  it('moves the step', () => {
    const slope = (n: number) => ({ at: usualSlope.top.at + n, sd: 0.35 });
    const step = (n: number) => Math.abs(top(sewn([0, 1, 1]), { slope: slope(n) }).minutes);
    expect(step(0.7)).toBeLessThan(step(0));
    expect(step(-0.7)).toBeGreaterThan(step(0));
  });
});

describe('whatever was sewn', () => {
  const score = fc.integer({ min: -2, max: 2 });
  const rounds = fc.array(
    fc.record({
      place: fc.integer({ min: -20, max: 20 }).map((n) => 15 * n),
      scores: fc.array(score, { minLength: 1, maxLength: 8 }),
    }),
    { maxLength: 6 },
  );
  it('only allowed steps, within the caps, and none back to a place surely seen on the other side', () => {
    let moved = 0;
    fc.assert(
      fc.property(rounds, fc.constantFrom('top' as const, 'bobbin' as const), (all, knob) => {
        const here = all.at(-1)?.place ?? 0;
        const input = { knob, here, rounds: all };
        const a = howFar(input);
        if (a.minutes === 0) return;
        moved++;
        expect(allowedSteps[knob]).toContain(Math.abs(a.minutes));
        const e = estimate(input);
        const to = a.minutes;
        for (const r of all) {
          const x = r.place - here;
          const tighter = e.lines.reduce((t, n) => t + (-n.alpha / n.beta > x ? n.weight : 0), 0);
          if (tighter > 0.9) expect(to).toBeGreaterThan(x);
          if (tighter < 0.1) expect(to).toBeLessThan(x);
        }
      }),
      { numRuns: 300, seed: 7 },
    );
    expect(moved).toBeGreaterThan(100);
  });
});
