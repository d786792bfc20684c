import { describe, expect, it } from 'vitest';
import file from '../../../../testdata/published/check-values.json';
import { type CheckValue, differs, runChecks } from './calc';
import { calcs } from './calcs';

const values = file as unknown as readonly CheckValue[];
const outcomes = runChecks(values, calcs);

describe('check values', () => {
  it('come each with a source', () => {
    expect(values.length).toBe(275);
    expect(values.filter((v) => !v.source)).toEqual([]);
    expect(new Set(values.map((v) => v.id)).size).toBe(values.length);
  });

  it('none fails', () => {
    expect(outcomes.filter((o) => o.how === 'failed')).toEqual([]);
  });

  it.each([
    ['1 thread count', 47],
    ['2 thread diameter and needle', 22],
    ['3 lockstitch geometry and consumption', 17],
    ['4 tension physics', 49],
    ['5 colour', 44],
    ['6 troubleshooting', 20],
    ['6 Bayesian networks', 21],
    ['7 directional fit', 13],
    ['8 next-setting estimation', 19],
  ])('%s: %i passed, none unknown but one', (topic, passed) => {
    const own = outcomes.filter((o) => o.topic === topic);
    expect(own.filter((o) => o.how === 'passed').length).toBe(passed);
    expect(own.filter((o) => o.how === 'unknown').map((o) => o.calc)).toEqual(topic === '5 colour' ? ['de76'] : []);
  });

  it('see a wrong figure, a missing one and a wrong order', () => {
    const one = values.find((v) => v.calc === 'jerk_tension') as CheckValue;
    const off = { ...one, expect: (one.expect as number) + 2 * one.tolerance };
    expect(runChecks([off], calcs)[0]?.how).toBe('failed');
    expect(runChecks([{ ...one, given: {} }], calcs)[0]?.how).toBe('failed');
    expect(runChecks([{ ...one, calc: 'toString' }], calcs)[0]?.how).toBe('unknown');
    expect(differs([0, 1], [1, 0], 0, '')).toBeDefined();
    expect(differs({ a: 1 }, {}, 9, '')).toBeDefined();
    expect(differs({ phase_deg: 0 }, { phase_deg: 359.9999999999 }, 1e-6, '')).toBeUndefined();
  });
});
