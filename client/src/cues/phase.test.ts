import { describe, expect, it } from 'vitest';
import { schedule, usualGaps } from '../domain/task';
import { cuesBetween, passedAt, phaseAt } from './phase';

const gaps = { pickUpS: 5, holdS: 3, quietS: 3 };

describe('what a moment asks for', () => {
  it.each([
    [0, 'pick-up', 0, 5],
    [4999, 'pick-up', 0, 1],
    [5000, 'hold', 0, 3],
    [7999, 'hold', 0, 1],
    [8000, 'shake', 0, 3],
    [8999, 'shake', 0, 3],
    [9000, 'read', 0, 2],
    [10_999, 'read', 0, 1],
    [11_000, 'pick-up', 1, 5],
    [32_999, 'read', 2, 1],
    [33_000, 'over', 2, 0],
    [99_000, 'over', 2, 0],
    [-5, 'pick-up', 0, 5],
  ] as const)('%i ms: %s', (ms, name, drop, left) => {
    expect(phaseAt(gaps, 3, ms)).toEqual({ name, drop, left });
  });

  it('changes its word at the very cue that is heard', () => {
    const words = { number: 'pick-up', hold: 'hold', shake: 'shake' } as const;
    for (const c of schedule(usualGaps))
      if (c.cue in words) expect(phaseAt(usualGaps, 3, c.atMs).name).toBe(words[c.cue as keyof typeof words]);
  });

  it('has no time to take hold when that gap is nothing', () => {
    expect(phaseAt({ ...gaps, pickUpS: 0 }, 2, 0)).toEqual({ name: 'hold', drop: 0, left: 3 });
    expect(phaseAt({ ...gaps, pickUpS: 0 }, 2, 6000).drop).toBe(1);
  });

  it('counts a drop as over when its quiet is', () => {
    expect([0, 10_999, 11_000, 21_999, 22_000, 33_000, 90_000].map((ms) => passedAt(gaps, 3, ms))).toEqual([
      0, 0, 1, 1, 2, 3, 3,
    ]);
  });

  it('misses no cue between two looks and gives none twice', () => {
    const cues = schedule(usualGaps);
    let at = -1;
    const seen = [];
    for (const next of [0, 16, 4000, 9000, 9001, 40_000]) {
      seen.push(...cuesBetween(cues, at, next));
      at = next;
    }
    expect(seen).toEqual(cues);
  });
});
