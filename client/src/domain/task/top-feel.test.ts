import { describe, expect, it } from 'vitest';
import { filled, play } from './world';

const told = (words: readonly string[]) => {
  const { written, steps, done } = play('top-feel', filled, words);
  return {
    steps,
    how: done?.how,
    written: written.map((d) => [d.kind, d.set.finding ?? d.set.type, d.set.state ?? d.set.answer]),
  };
};

describe('the feel of the top', () => {
  it('as usual is a reading and a finding, and that is all', () => {
    expect(told(['as_usual'])).toEqual({
      steps: ['top-feel.pull', ''],
      how: 'felt',
      written: [
        ['reading', 'pull', 'as_usual'],
        ['finding', 'pull_top', 'as_usual'],
      ],
    });
  });

  it.each([
    ['light', 'unseated', 'floss_discs'],
    ['stiff', 'missed_guide', 'threading_walk'],
    ['jerky', 'off_centre', 'supply_look'],
  ])('%s leads to one look at the path before any knob, then to the feel again', (feel, found, look) => {
    const { steps, written, how } = told([feel, found, 'as_usual']);
    expect(steps).toEqual(['top-feel.pull', 'top-feel.look', 'top-feel.pull', '']);
    expect(written).toContainEqual(['finding', look, found]);
    expect(written.at(-1)).toEqual(['finding', 'pull_top', 'as_usual']);
    expect(how).toBe('felt');
  });

  it('asks for that look once', () => {
    expect(told(['light', 'clean', 'light']).steps).toEqual(['top-feel.pull', 'top-feel.look', 'top-feel.pull', '']);
    expect(told(['light', 'not-now']).how).toBe('felt');
  });

  it.each(['cant-tell', 'not-now'])('%s writes nothing', (word) => {
    expect(told([word])).toMatchObject({ how: word, written: [] });
  });
});
