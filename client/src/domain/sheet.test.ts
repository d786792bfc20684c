import { describe, expect, it } from 'vitest';
import { barMm, beyondStrip, classRows, codeSquareMm, paperNames, papers, star, stripMm, stripPieces } from './sheet';
import { usualBand } from './task/drop-verdict';

describe('the drop strip', () => {
  it.each(paperNames)('on %s has its lines where a ruler has them', (paper) => {
    const pieces = stripPieces(paper, usualBand);
    expect(pieces.reduce((mm, p) => mm + p.to - p.from, 0)).toBeCloseTo(stripMm, 9);
    const inches = pieces.flatMap((p) => p.inches.map((m) => ({ ...m, at: p.from + m.mm })));
    const millimetres = pieces.flatMap((p) => p.millimetres.map((m) => ({ ...m, at: p.from + m.mm })));
    for (const m of inches) if (m.label) expect(m.at).toBeCloseTo(Number(m.label) * 25.4, 9);
    for (const m of millimetres) if (m.label) expect(m.at).toBeCloseTo(Number(m.label), 9);
    const strong = (of: typeof inches) => [
      ...new Set(of.filter((m) => m.strong).map((m) => Math.round(m.at * 10) / 10)),
    ];
    expect(strong(inches)).toEqual([0, 101.6, 152.4]); // 4 and 6 in
    expect(strong(millimetres)).toEqual([0, 100, 150]);
    expect(inches.filter((m) => m.label).map((m) => m.label)).toEqual(
      paper === 'card' ? [...'01234', ...'45678'] : [...'012345678'],
    );
  });

  it('has the case’s own band, cut where a piece ends', () => {
    const own = { from: 35, to: 55 };
    expect(stripPieces('a4', own).map((p) => p.band)).toEqual([{ from: 88.9, to: expect.closeTo(139.7, 9) }]);
    const [first, second] = stripPieces('card', own);
    expect(first?.band).toEqual({ from: 88.9, to: 101.6 });
    expect(second?.band).toEqual({ from: 0, to: expect.closeTo(38.1, 9) });
    expect(stripPieces('card', { from: 10, to: 30 }).map((p) => p.band !== undefined)).toEqual([true, false]);
    expect(beyondStrip({ from: 60, to: 80 })).toBe(false);
    expect(beyondStrip({ from: 60, to: 81 })).toBe(true);
  });
});

describe('every paper', () => {
  const margin = { a4: 12, letter: 12, card: 5 };
  it.each(paperNames)('%s has room for what is printed at true size', (paper) => {
    const { width, height } = papers[paper];
    const [across, down] = [width - 2 * margin[paper], height - 2 * margin[paper]];
    expect(barMm).toBeLessThan(across);
    for (const p of stripPieces(paper, usualBand)) expect(p.to - p.from + 30).toBeLessThan(down);
    const { ray, circle } = star[paper];
    expect(2 * (ray + 8)).toBeLessThan(across);
    expect(2 * (ray + 8) + 2 * circle + 25).toBeLessThan(down);
    expect((101 + 8) * codeSquareMm).toBeLessThan(across);
    expect(classRows[paper]).toBeGreaterThan(0);
  });
});
