import { describe, expect, it } from 'vitest';
import { dropAt, dropMs, fitGaps, schedule, touchCounts, usualGaps } from './pace';

describe('schedule', () => {
  it('paces three drops on one Start', () => {
    expect(schedule(usualGaps).map((c) => `${c.atMs} ${c.cue} ${c.drop}`)).toEqual([
      '0 number 0',
      '5000 hold 0',
      '8000 shake 0',
      '10700 tick 0',
      '11000 tick 0',
      '11000 number 1',
      '16000 hold 1',
      '19000 shake 1',
      '21700 tick 1',
      '22000 tick 1',
      '22000 number 2',
      '27000 hold 2',
      '30000 shake 2',
      '33000 end 2',
    ]);
  });

  it('paces one drop, and none of its cues is out of order at any gap', () => {
    expect(schedule(usualGaps, 1).map((c) => c.cue)).toEqual(['number', 'hold', 'shake', 'end']);
    for (const gaps of [
      { pickUpS: 0, holdS: 2, quietS: 2 },
      { pickUpS: 60, holdS: 30, quietS: 60 },
    ]) {
      const at = schedule(gaps).map((c) => c.atMs);
      expect(at).toEqual([...at].sort((a, b) => a - b));
      expect(at.at(-1)).toBe(3 * dropMs(gaps));
    }
  });

  it('keeps gaps inside their bounds', () => {
    expect(fitGaps({ pickUpS: -1, holdS: 1, quietS: 61 })).toEqual({ pickUpS: 0, holdS: 2, quietS: 60 });
    expect(fitGaps({ pickUpS: Number.NaN, holdS: 3.4, quietS: 5 })).toEqual({ pickUpS: 5, holdS: 3, quietS: 5 });
  });

  it('knows which drop is under way', () => {
    expect([-5, 0, 10_999, 11_000, 32_999, 99_000].map((ms) => dropAt(usualGaps, 3, ms))).toEqual([0, 0, 0, 1, 2, 2]);
  });
});

describe('touchCounts', () => {
  it.each([
    [{ pointers: 1, heldMs: 80, asking: true }, true],
    [{ pointers: 1, heldMs: 999, asking: true }, true],
    [{ pointers: 1, heldMs: 1000, asking: true }, false],
    [{ pointers: 2, heldMs: 80, asking: true }, false],
    [{ pointers: 0, heldMs: 80, asking: true }, false],
    [{ pointers: 1, heldMs: 80, asking: false }, false],
  ] as const)('%o → %s', (touch, counts) => {
    expect(touchCounts(touch)).toBe(counts);
  });
});
