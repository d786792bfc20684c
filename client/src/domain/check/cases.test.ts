import { describe, expect, it } from 'vitest';
import published from '../../../../testdata/published/cases.json';
import own from '../../../../testdata/trade/cases.json';
import { answerCase, type WorkedCase } from './cases';

const files = { published: published.cases, own: own.cases } as unknown as {
  readonly [name: string]: readonly WorkedCase[];
};

describe.each(Object.entries(files))('worked cases, %s', (name, cases) => {
  const results = cases.map((c) => ({ ...answerCase(c), want: c }));
  it.each(results)('$id', ({ full, early, want }) => {
    expect(want.expected.firstSuspicion).toContain(full.suspicion);
    expect(want.expected.nextAction).toContain(full.step);
    expect([...full.harmful, ...(early?.harmful ?? [])]).toEqual([]);
  });

  it('early on, with few findings told', () => {
    const told = results.filter((r) => r.early);
    const right = [told.filter((r) => r.early?.suspected).length, told.filter((r) => r.early?.helped).length];
    const [suspected, helped] = right;
    const least = name === 'own' ? [31, 27] : [10, 10];
    expect(suspected).toBeGreaterThanOrEqual(least[0] ?? 0);
    expect(helped).toBeGreaterThanOrEqual(least[1] ?? 0);
  });
});
