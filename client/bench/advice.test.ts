import { describe, expect, it } from 'vitest';
import { settingFigures } from './advice';
import { curedAlike } from './faults';
import { harmFigures } from './harm';

/** `npm run bench:advice` at a size for every day; its bars are for a thousand runs, these hold what must not fall off a cliff. */
describe('the advice on virtual machines', () => {
  it('needs fewer samples than the plain walk, and turns within the caps', () => {
    const { figures } = settingFigures(24);
    const is = (what: string) => figures.find((f) => f.what.includes(what))?.is ?? Number.NaN;
    expect(is('samples, median')).toBeLessThanOrEqual(4);
    expect(is('fewer samples')).toBeGreaterThan(20);
    expect(is('past the caps')).toBe(0);
  });

  it('does no harm by the app’s own next step', () => {
    const { figures, notes } = harmFigures(16, 77_000);
    expect(figures[0]?.is, notes.join('\n')).toBe(0);
    expect(notes[0]).toMatch(/^ {2}\d{2,} advices, [1-9]\d* of them turns$/);
  });

  it('counts causes that one act mends as alike', () => {
    expect(curedAlike('bobbin_wound_bad', 'bobbin_damaged')).toBe(true);
    expect(curedAlike('hook_timing', 'hook_burr')).toBe(false);
  });
});
