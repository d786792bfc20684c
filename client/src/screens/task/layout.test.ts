import { describe, expect, it } from 'vitest';
import { type Offer, offers } from '../../domain/task';
import { explore, ways } from '../../domain/task/explore';
import { offerWords } from '../../text/task-offers';
import { arrange, chosenIn, type Layout, pairs, pickOf, rowOf } from './layout';

const placed = (l: Layout): Offer[] => [
  ...[l.main, l.stop, l.leave, l.back].filter((o) => o !== undefined),
  ...l.takeBack,
  ...l.writes,
  ...l.rows.flatMap((r) => [...r.tiles, ...r.adjust, ...r.small]),
];
const sorted = (all: readonly Offer[]) => all.map((o) => JSON.stringify(o)).sort();

describe('every place of every way in', () => {
  it('gives each offer exactly one place, and adds none', () => {
    let places = 0;
    const wrong: string[] = [];
    for (const way of ways)
      for (const { here } of explore(way).values()) {
        if (!here.state) continue;
        places++;
        const all = offers(here.state, here.ctx);
        if (sorted(placed(arrange(all))).join() !== sorted(all).join())
          wrong.push(`${here.state.task}.${here.state.step}`);
      }
    expect(wrong).toEqual([]);
    expect(places).toBeGreaterThan(500);
  });

  it('calls no two things in a row the same', () => {
    const twice = new Set<string>();
    for (const way of ways)
      for (const { here } of explore(way).values()) {
        const { state, ctx } = here;
        if (!state) continue;
        for (const row of arrange(offers(state, ctx)).rows) {
          const said = [...row.tiles, ...row.adjust, ...row.small].map((o) => offerWords(o, state, ctx));
          if (row.of !== 'why-not' && new Set(said).size < said.length)
            twice.add(`${state.task}.${state.step}: ${said}`);
        }
      }
    expect([...twice]).toEqual([]);
  });

  it('pairs every plus with its minus', () => {
    const single: string[] = [];
    for (const way of ways)
      for (const { here } of explore(way).values()) {
        if (!here.state) continue;
        for (const row of arrange(offers(here.state, here.ctx)).rows)
          if (pairs(row.adjust).length * 2 !== row.adjust.length) single.push(`${here.state.task}.${here.state.step}`);
      }
    expect(single).toEqual([]);
  });
});

describe('rows', () => {
  const all: Offer[] = [
    { action: { do: 'pick', value: 'falls', of: '0' }, as: 'tile', on: true },
    { action: { do: 'pick', value: 'right', of: '0' }, as: 'tile' },
    { action: { do: 'add', by: -5, of: '0' }, as: 'adjust' },
    { action: { do: 'add', by: 5, of: '0' }, as: 'adjust' },
    { action: { do: 'pick', value: 'out', of: '1' }, as: 'small' },
    { action: { do: 'pick', value: 'start-over' }, as: 'small' },
    { action: { do: 'next' }, as: 'main' },
  ];
  it('keeps what belongs together together, in the order offered', () => {
    const layout = arrange(all);
    expect(layout.rows.map((r) => r.of)).toEqual(['0', '1', '']);
    expect(chosenIn(rowOf(layout, '0'))).toEqual(['falls']);
    expect(rowOf(layout, '0').adjust).toHaveLength(2);
    expect(rowOf(layout).small.map(pickOf)).toEqual(['start-over']);
    expect(rowOf(layout, '7').tiles).toEqual([]);
    expect(layout.main).toEqual(all[6]);
  });
  it('puts the larger step where it was offered first', () => {
    const adjust = [-5, 5, -2, 2].map((by): Offer => ({ action: { do: 'add', by }, as: 'adjust' }));
    expect(pairs(adjust).map((p) => p.by)).toEqual([5, 2]);
  });
});
