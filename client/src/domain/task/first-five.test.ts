import { describe, expect, it } from 'vitest';
import { filled, play } from './world';

/** The quilt was balanced before, so two lines are enough. */
const after = { ...filled, balancings: [{ id: 'c'.repeat(32), at: 0, by: '', machine: filled.machine }] };
const notNow = (n: number) => Array.from({ length: n }, () => 'not-now');

describe('first five', () => {
  it('go in order, and what each shows goes down as a finding', () => {
    const words = ['right', 'next', 'clean', 'next', 'finger', 'tips', 'next', 'next', 'next', '0@all'];
    const { steps, written, state } = play('first-five', after, words);
    const own = steps.filter((s) => s.startsWith('first-five.'));
    expect([...new Set(own)]).toEqual([
      'first-five.rethread',
      'first-five.needle',
      'first-five.card',
      'first-five.drops',
      'first-five.lines',
      'first-five.done',
    ]);
    expect(written.map((d) => [d.kind, d.set.finding ?? d.set.type])).toEqual([
      ['finding', 'threading_walk'],
      ['event', 'new-needle'],
      ['bench', undefined],
      ['finding', 'card_spring'],
      ['reading', 'finger'],
      ['change', 'neutral'], // in its drop band: a count that was lost starts again
      ['sample', undefined],
    ]);
    expect(state?.data.did).toEqual(['rethread', 'needle', 'card', 'drops', 'lines']);
  });

  it('takes "not now" at each, writes nothing for it, and still ends', () => {
    const { written, done } = play('first-five', after, [...notNow(5), 'next']);
    expect(written).toEqual([]);
    expect(done?.how).toBe('done');
  });

  it('comes back to the drops while they are not done', () => {
    const { steps } = play('first-five', after, [...notNow(3), 'next', 'not-now']);
    expect(steps.at(-1)).toBe('first-five.drops');
  });
});
