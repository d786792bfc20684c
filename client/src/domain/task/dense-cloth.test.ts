import { describe, expect, it } from 'vitest';
import type { Ctx } from './context';
import { nextStep } from './next-step';
import { filled, machine } from './world';

const own = { by: '', balancing: 'b' };
const began = filled.now - 20 * 60_000;
const findings = [
  ['card_spring', 'clean'],
  ['threading_walk', 'right'],
  ['pull_top', 'as_usual'],
  ['check_spring', 'full'],
  ['hook_look', 'clean'],
] as const;

/** Four rounds of the same score, three moves of the top between them, and everything looked at: on this bench. */
function noGain(score: number, bench: Partial<Ctx['bench']>, number = '40', skipped: readonly string[] = []) {
  const ctx: Ctx = {
    ...filled,
    bench: { ...filled.bench, ...bench },
    threads: filled.threads.map((t, i) => (i === 0 ? { ...t, number } : t)),
    balancings: [{ id: 'b', by: '', at: began, machine }],
    readings: [
      {
        ...{ ...own, id: 'r', at: began + 1, type: 'drop', bobbinCase: filled.bench.bobbinCase },
        drops: [1, 2, 3].map(() => ({ answer: 'right' as const })),
      },
    ],
    samples: [1, 2, 3, 4].map((round) => ({
      ...{ ...own, id: `s${round}`, at: began + 10 * round, round, allAlike: true },
      rays: [0, 180].map((direction) => ({ direction, score })),
    })),
    findings: findings.map(([finding, state], i) => ({
      ...{ ...own, id: `f${i}`, at: filled.now - 1000, round: 4, finding, state },
    })),
    changes: [1, 2, 3].map((round) => ({
      ...{ ...own, id: `m${round}`, at: began + 10 * round + 5, screw: `top:${machine}`, type: 'move' as const },
      ...{ minutes: 30, after: [] },
    })),
    events: [{ ...own, id: 'e', at: began + 2, type: 'new-needle' }],
  };
  return nextStep(ctx, { balancing: 'b', round: 4 }, skipped);
}

describe('turned three times without a gain', () => {
  it.each<[string, Partial<Ctx['bench']>, string]>([
    ['dense backing', { backing: 'Batik, grey' }, '40'],
    ['thin batting', { batting: 'thin cotton' }, '40'],
    ['a fat thread', {}, '12'],
  ])('%s: dots that can’t be hidden are accepted', (_what, bench, number) => {
    expect(noGain(1, bench, number)).toMatchObject({ do: 'good', why: 'dense' });
    expect(noGain(1, bench, number, ['accept'])).not.toMatchObject({ do: 'good' });
    expect(noGain(2, bench, number)).not.toMatchObject({ do: 'good' }); // loops are never
  });

  it('on cloth that hides a lock it goes on to neutral', () => {
    expect(noGain(1, { backing: 'plain cotton' })).toMatchObject({ do: 'neutral' });
    expect(noGain(1, {})).toMatchObject({ do: 'neutral' });
  });
});
