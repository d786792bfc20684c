import { describe, expect, it } from 'vitest';
import type { Ctx, Ray } from './context';
import { factsOf } from './next-facts';
import { nextThree } from './next-step';
import { likelier, situationOf, suspected, suspects } from './suspects';
import { filled, machine } from './world';

const own = { by: '', balancing: 'b', round: 1 };
const place = { balancing: 'b', round: 1 };
const began = filled.now - 600_000;
const rays = (...scores: readonly number[]): readonly Ray[] =>
  scores.map((score, i) => ({ direction: (scores.length === 2 ? i * 180 : i * 45) as 0, score }));

function world(p: {
  readonly rays?: readonly Ray[];
  readonly findings?: Record<string, string>;
  readonly steps?: readonly string[];
  readonly ctx?: Partial<Ctx>;
}): Ctx {
  return {
    ...filled,
    balancings: [{ id: 'b', by: '', at: began, machine }],
    readings: [
      {
        ...own,
        id: 'r',
        at: began + 1,
        type: 'drop',
        bobbinCase: filled.bench.bobbinCase,
        thread: filled.bench.bobbinThread,
        drops: [{ answer: 'right' }, { answer: 'right' }, { answer: 'right' }],
      },
    ],
    samples: p.rays ? [{ ...own, id: 's', at: began + 2, rays: p.rays, allAlike: false }] : [],
    findings: Object.entries(p.findings ?? {}).map(([finding, state], i) => ({
      ...own,
      id: `f${i}`,
      at: began + 3,
      finding,
      state,
    })),
    events: (p.steps ?? []).map((step, i) => ({ ...own, id: `e${i}`, at: began + 4, type: 'step', step })),
    ...p.ctx,
  };
}
const facts = (p: Parameters<typeof world>[0]) => factsOf(world(p), place, []);

describe('a balancing as a situation', () => {
  it.each<[string, Parameters<typeof world>[0], Record<string, string>]>([
    ['dots behind', { rays: rays(1, 1) }, { top_on_back: 'dots', bobbin_on_top: 'none', direction: 'all_same' }],
    ['loops on top', { rays: rays(-2, -2) }, { bobbin_on_top: 'pulled_up', top_on_back: 'none' }],
    ['worse away', { rays: rays(2, -1) }, { direction: 'away' }],
    ['worse toward', { rays: rays(0, 2) }, { direction: 'toward' }],
    ['worse sideways', { rays: rays(0, 0, 2, 0, -1) }, { direction: 'sideways' }],
    ['three drops in band', {}, { drop_test: 'neutral' }],
    [
      'what was told goes before what was worked out',
      { rays: rays(1, 1), findings: { top_on_back: 'big_loops' } },
      { top_on_back: 'big_loops' },
    ],
  ])('%s', (_name, p, want) => expect(situationOf(facts(p)).found).toMatchObject(want));

  it('takes acts that were done for tried', () => {
    expect(situationOf(facts({ steps: ['net_and_centre'] })).tried).toEqual(['net_and_centre']);
  });
});

describe('what the fault model adds', () => {
  it('puts an old needle before the knob, and lets a knob be where nothing is plainly likelier', () => {
    const looked = { card_spring: 'clean', threading_walk: 'right', pull_top: 'as_usual' };
    const wentWrong = { events: [{ id: 'g', by: '', at: 1, type: 'good' }] };
    const late = { rays: rays(1, 1), findings: { ...looked, needle_age: 'late' }, ctx: wentWrong };
    const needle = { do: 'act', action: 'new_needle', event: 'new-needle', why: 'likely' };
    expect(likelier(facts(late))).toMatchObject(needle);
    expect(nextThree(world(late), place, [])[0]).toMatchObject(needle); // and so the next step is
    expect(nextThree(world({ rays: rays(1, 1), findings: looked }), place, [])[0]).toMatchObject({ do: 'turn' });
    expect(likelier(facts({ rays: rays(1, 1), findings: looked }))).toBeUndefined();
    expect(likelier(facts({ rays: rays(1, 1), findings: looked, ctx: wentWrong }))).toBeUndefined();
  });

  it('offers no knob and nothing that was answered', () => {
    for (const p of [{ rays: rays(1, 1) }, { rays: rays(-2, -2), findings: { pull_top: 'stiff' } }, {}])
      for (const a of suspected(facts(p))) {
        expect(['turn', 'neutral']).not.toContain(a.do);
        if (a.do === 'check') expect(facts(p).state(a.finding)).toBeUndefined();
      }
  });

  it('names the three likeliest in counts, and no chance with them', () => {
    const { model, suspects: all } = suspects(facts({ rays: rays(1, 1) }));
    expect(model).toBeGreaterThan(0);
    expect(all.length).toBe(3);
    for (const s of all) {
      expect(s).not.toHaveProperty('chance');
      expect(s.fits).toBeLessThanOrEqual(s.of);
      expect(s.of).toBeGreaterThan(1);
    }
  });

  it('lays at most two others beside the advice, each once, and nothing beside a stop', () => {
    const three = nextThree(world({ rays: rays(1, 1) }), place, []);
    expect(three.length).toBeGreaterThan(1);
    expect(three.length).toBeLessThan(4);
    expect(new Set(three.map((a) => JSON.stringify(a))).size).toBe(three.length);
    expect(nextThree(world({ rays: rays(1, 1), findings: { noise: 'tick' } }), place, []).length).toBe(1);
  });
});
