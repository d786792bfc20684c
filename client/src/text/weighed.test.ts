import { describe, expect, it } from 'vitest';
import { roughTension } from '../domain/weighed-drop';
import { text } from './weighed';

const drop = { massG: 30, fallMm: 50, slipsTenthsIn: [31, 32, 31] };

describe('a weighed drop in words', () => {
  it.each([
    ['no weight', { ...drop, massG: 0 }, /weigh/],
    ['half a kilogram', { ...drop, massG: 500 }, /Weigh it again/],
    ['a fall from the ceiling', { ...drop, fallMm: 2000 }, /how far the hand/],
    ['no slip', { ...drop, slipsTenthsIn: [0] }, /hardly slipped/],
    ['three that disagree', { ...drop, slipsTenthsIn: [20, 40, 60] }, /Drop again/],
    ['nothing dropped', { ...drop, slipsTenthsIn: [] }, /how far it slipped/],
  ])('%s is refused with a sentence that says what to do', (_name, d, says) => {
    const t = roughTension(d);
    if (!('fault' in t)) throw new Error('not refused');
    expect(text.fault(t.fault)).toMatch(says);
  });

  it('is a stretch in grams, and says that it is no target', () => {
    const t = roughTension(drop);
    if ('fault' in t) throw new Error(t.fault);
    expect(text.about5(t.fromG, t.toG)).toMatch(/^About \d+ to \d+ grams\.$/);
    expect(text.noTarget).toMatch(/no target/);
  });

  it('names no band of the trade', () => {
    expect(Object.values(text).join(' ')).not.toMatch(/band|gf|cN|\d+ g\b/);
  });
});
