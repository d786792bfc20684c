import { describe, expect, it } from 'vitest';
import { faults } from '../records';
import { explore, routes, ways } from './explore';
import { kindOf, offers } from './run';
import { steps } from './steps';
import { acted, bare, opened, where } from './world';

describe('every task, from every way in', () => {
  const seen = new Set<string>();
  it.each(
    ways.map(
      (w) =>
        [`${w[0]} ${JSON.stringify(w[2] ?? {})}${w[1] === bare ? ' bare' : ''} ${w[3]?.join(' ') ?? ''}`, w] as const,
    ),
  )('%s', (_name, way) => {
    const nodes = explore(way);
    for (const { here } of nodes.values()) {
      const { state, ctx } = here;
      if (!state) continue;
      seen.add(`${state.task}.${state.step}`);
      for (const d of here.drafts)
        expect(faults(d.kind, d.set, Object.hasOwn(d.set, 'zone')), `${where(state)} ${JSON.stringify(d)}`).toEqual([]);
      const all = offers(state, ctx);
      const paced = kindOf(state) === 'paced' && !state.asking;
      expect(all.filter((o) => o.action.do === (paced ? 'stop' : 'leave'))).toHaveLength(1);
      expect(all.filter((o) => o.as === 'main').length, `${where(state)}: one main button`).toBeLessThanOrEqual(1);
      expect(all.length, `${where(state)} offers something to do`).toBeGreaterThan(paced ? 0 : 1);
    }
    const ends = new Set(['over']);
    for (let grown = true; grown; ) {
      grown = false;
      for (const [k, n] of nodes)
        if (!ends.has(k) && (n.next.some((x) => ends.has(x)) || n.next.some((x) => !nodes.has(x)))) {
          ends.add(k);
          grown = true;
        }
    }
    expect([...nodes.keys()].filter((k) => !ends.has(k))).toEqual([]);
  });

  it('reaches every step of the table', () => {
    const table = steps.map((r) => `${r.task}.${r.step}`);
    expect(table.length).toBeGreaterThan(90);
    expect(table.filter((s) => !seen.has(s))).toEqual([]);
  });
});

describe('routes', () => {
  it('lead to the step they name, which takes its example', () => {
    const all = routes();
    expect(all).toHaveLength(steps.length);
    for (const { task, step, way, path, example } of all) {
      let here = opened(way[0], way[1], way[2]);
      path.forEach((a, i) => {
        here = acted(here, i + 1, a, a.do === 'opened' ? 61_000 : 1000);
      });
      expect(where(here.state)).toBe(`${task}.${step}`);
      expect(acted(here, path.length + 1, example).state).not.toEqual(here.state);
    }
  });
});
