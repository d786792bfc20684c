import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { gfOf, jerkTension, slipAt } from './tension-physics';
import { lengthAtMass, repeats, roughTension } from './weighed-drop';

const drop = { massG: 30, fallMm: 50, slipsTenthsIn: [31, 32, 31] };

describe('a rough tension', () => {
  it('is a wide stretch around the formula, to whole 5 g', () => {
    const t = roughTension(drop);
    const formula = gfOf(jerkTension({ massG: 30, fallMm: 50, slipMm: 31 * 2.54 }));
    if ('fault' in t) throw new Error(t.fault);
    expect([t.fromG % 5, t.toG % 5]).toEqual([0, 0]);
    expect(t.fromG).toBeLessThan(formula);
    expect(t.toG).toBeGreaterThan(formula);
    expect(t.toG - t.fromG).toBeGreaterThanOrEqual(15); // the fall is only guessed
  });

  it.each([
    ['nothing dropped', { ...drop, slipsTenthsIn: [] }, 'none'],
    ['no weight', { ...drop, massG: 0 }, 'not-a-mass'],
    ['not a number', { ...drop, massG: Number.NaN }, 'not-a-mass'],
    ['a case of half a kilogram', { ...drop, massG: 500 }, 'too-heavy'],
    ['a fall from the ceiling', { ...drop, fallMm: 2_000 }, 'too-far'],
    ['a fall upward', { ...drop, fallMm: -5 }, 'not-a-length'],
    ['it did not slip', { ...drop, slipsTenthsIn: [0, 0, 0] }, 'no-slip'],
    ['less than can be read', { ...drop, slipsTenthsIn: [1, 1, 1] }, 'no-slip'],
    ['three that disagree', { ...drop, slipsTenthsIn: [20, 40, 60] }, 'differ'],
  ])('%s is refused', (_name, d, fault) => expect(roughTension(d)).toEqual({ fault }));

  it('never is negative, nor below the weight that hung', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 5, max: 200 }),
        fc.integer({ min: 1, max: 300 }),
        fc.integer({ min: 2, max: 400 }),
        (massG, fallMm, slip) => {
          const t = roughTension({ massG, fallMm, slipsTenthsIn: [slip] });
          if ('fault' in t) expect(t.fault).toBe('no-slip');
          else expect(t.toG).toBeGreaterThanOrEqual(massG - 5);
        },
      ),
      { numRuns: 50, seed: 3 },
    );
  });
});

describe('three drops', () => {
  it('agree within what reading them takes', () => {
    expect(repeats([100, 104, 110])).toBe(true);
    expect(repeats([100, 104, 117])).toBe(false);
    expect(repeats([100])).toBe(true);
  });
});

describe('another fill', () => {
  it('drops less far when lighter, by the same tension', () => {
    const less = lengthAtMass(120, 60, 30, 27) ?? 0;
    expect(less).toBeLessThan(120);
    const tension = jerkTension({ massG: 30, fallMm: 60, slipMm: 120 });
    expect(less).toBeCloseTo(slipAt(27, 60, tension) ?? 0, 9);
    expect(lengthAtMass(120, 60, 30, 30)).toBeCloseTo(120, 9);
    expect(lengthAtMass(120, 60, 30, 45)).toBeUndefined();
  });
});
