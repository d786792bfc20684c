import { describe, expect, it } from 'vitest';
import { howFar, usualSlope } from '../how-far';
import type { Change, Ctx, Kept, Sample } from './context';
import { dropsOf, topPast } from './knob-past';
import { factsOf } from './next-facts';
import { turning } from './next-turn';
import { bobbinCase, filled, machine } from './world';

const minute = 60_000;
const began = filled.now - 100 * minute;
const place = { balancing: 'b', round: 9 };
const by = { by: '', balancing: 'b' };
const [top, bobbin] = [`top:${machine}`, `bobbin:${bobbinCase}`];

/** Told in the order of the minutes: what was sewn, and what was turned. */
type Told =
  | { readonly sewn: readonly number[]; readonly at: number; readonly of?: string; readonly marks?: readonly string[] }
  | { readonly turned: number; readonly at: number; readonly screw?: string; readonly type?: Change['type'] }
  | { readonly event: string; readonly at: number }
  | { readonly felt: string; readonly at: number };

function world(told: readonly Told[], more: Partial<Ctx> = {}): Ctx {
  const at = (t: Told) => began + t.at * minute;
  const last = Math.max(...told.flatMap((t) => ('sewn' in t && t.of === undefined ? [t.at] : [])));
  return {
    ...filled,
    balancings: [{ id: 'b', by: '', at: began, machine }],
    samples: told.flatMap((t, i): readonly Kept<Sample>[] =>
      'sewn' in t
        ? [
            {
              ...by,
              id: `s${i}`,
              at: at(t),
              balancing: t.of ?? 'b',
              round: t.at === last ? place.round : 1,
              allAlike: false,
              rays: t.sewn.map((score, d) => ({ direction: 180 * d, score, marks: t.marks })),
            },
          ]
        : [],
    ),
    changes: told.flatMap((t, i): readonly Kept<Change>[] =>
      'turned' in t
        ? [
            {
              ...by,
              id: `c${i}`,
              at: at(t),
              screw: t.screw ?? top,
              type: t.type ?? 'move',
              minutes: t.turned,
              after: [],
            },
          ]
        : [],
    ),
    events: told.flatMap((t, i) => ('event' in t ? [{ ...by, id: `e${i}`, at: at(t), type: t.event }] : [])),
    findings: told.flatMap((t, i) =>
      'felt' in t ? [{ ...by, id: `f${i}`, at: at(t), finding: 'pull_top', state: t.felt }] : [],
    ),
    ...more,
  };
}
const past = (told: readonly Told[], more?: Partial<Ctx>) => topPast(factsOf(world(told, more), place, []));

describe('what is known of the top knob', () => {
  it('counts each round’s place by the moves before it', () => {
    const p = past([
      { sewn: [2, 2], at: 1 },
      { turned: 60, at: 2 },
      { felt: 'stiff', at: 3 },
      { turned: -15, at: 4 },
      { sewn: [-1, -1], at: 5 },
    ]);
    expect(p?.rounds).toEqual([
      { place: 0, scores: [2, 2] },
      { place: 45, scores: [-1, -1] },
    ]);
    expect(p?.here).toBe(45);
    expect(p?.feels).toEqual([{ place: 60, is: 'stiff' }]);
  });

  it.each<[string, Told]>([
    ['the bobbin was turned', { turned: 5, at: 2, screw: bobbin }],
    ['a new needle went in', { event: 'new-needle', at: 2 }],
    ['something was done', { event: 'step', at: 2 }],
    ['the count was lost', { turned: 0, at: 2, type: 'lost' }],
  ])('leaves out what was sewn and felt before %s', (_what, change) => {
    const p = past([{ sewn: [2, 2], at: 1 }, { felt: 'stiff', at: 1.5 }, change, { sewn: [1, 1], at: 3 }]);
    expect(p?.rounds.map((r) => r.scores)).toEqual([[1, 1]]);
    expect(p?.feels).toEqual([]);
  });

  it('leaves out a change of thread, and rays that nobody could tell', () => {
    const threads = { benchAt: { topThread: began + 2 * minute } };
    expect(
      past(
        [
          { sewn: [2, 2], at: 1 },
          { sewn: [1, 1], at: 3 },
        ],
        threads,
      )?.rounds,
    ).toHaveLength(1);
    expect(
      past([
        { sewn: [0, 0], at: 1, marks: ['cant-tell'] },
        { sewn: [1, 1], at: 3 },
      ])?.rounds,
    ).toHaveLength(1);
  });

  it('learns the slope from earlier balancings, and not from one whose bobbin was turned between', () => {
    const steep = (screw?: string): readonly Told[] => [
      { sewn: [1, 1], at: -50, of: 'a' },
      { turned: 30, at: -49 },
      ...(screw ? [{ turned: 5, at: -48.5, screw }] : []),
      { sewn: [-1, -1], at: -48, of: 'a' },
      { sewn: [1, 1], at: 1 },
    ];
    expect(past(steep())?.slope?.at).toBeGreaterThan(usualSlope.top.at);
    expect(past(steep(bobbin))?.slope).toEqual(usualSlope.top);
  });

  it('knows where it was last good, while the count and the threads hold', () => {
    const good: readonly Told[] = [
      { turned: 30, at: -20 },
      { event: 'good', at: -10 },
      { turned: 60, at: -5 },
      { sewn: [-1, -1], at: 1 },
    ];
    expect(past(good)?.home).toBe(30);
    expect(past([...good, { turned: 0, at: -4, type: 'lost' }])?.home).toBeUndefined();
    expect(past(good, { benchAt: { bobbinThread: began - 3 * minute } })?.home).toBeUndefined();
    expect(past(good, { benchAt: { bobbinThread: began - 12 * minute } })?.home).toBe(30);
  });

  it('says nothing of a knob with numbers', () => {
    const dial = { machines: filled.machines.map((m) => ({ ...m, topKnob: 'dial' as const })) };
    expect(past([{ sewn: [1, 1], at: 1 }], dial)).toBeUndefined();
  });

  it('goes by the drops of this case only', () => {
    const drop = (at: number, answer: 'falls' | 'short' | 'right', of = bobbinCase) =>
      ({
        ...by,
        id: `r${at}`,
        at: began + at * minute,
        type: 'drop',
        bobbinCase: of,
        thread: filled.bench.bobbinThread,
        drops: [{ answer }, { answer }, { answer }],
      }) as const;
    const ctx = world(
      [
        { turned: 5, at: 2, screw: bobbin },
        { turned: -2, at: 4, screw: bobbin },
        { sewn: [0, 0], at: 9 },
      ],
      {
        readings: [drop(1, 'falls'), drop(3, 'short'), drop(5, 'right'), drop(6, 'falls', 'another')],
      },
    );
    expect(dropsOf(factsOf(ctx, place, []), bobbinCase)).toMatchObject({
      here: 3,
      rounds: [
        { place: 0, scores: [-2] },
        { place: 5, scores: [1] },
      ],
    });
  });
});

describe('rounds that do not go with the knob', () => {
  const dropped = {
    readings: [
      {
        ...by,
        id: 'r',
        at: began + 1,
        type: 'drop' as const,
        bobbinCase,
        thread: filled.bench.bobbinThread,
        drops: [{ answer: 'right' as const }, { answer: 'right' as const }, { answer: 'right' as const }],
      },
    ],
  };
  const advise = (told: readonly Told[], skipped: readonly string[] = []) =>
    turning(factsOf(world(told, dropped), place, skipped));
  const wrong: readonly Told[] = [
    { sewn: [1, 1], at: 1 },
    { turned: 30, at: 2 },
    { sewn: [2, 2], at: 3 },
    { turned: -60, at: 4 },
    { sewn: [-1, -1], at: 5 },
  ];

  it('are sewn again once, then looked into', () => {
    expect(advise(wrong)).toEqual({ do: 'sew', why: 'wrong-way' });
    expect(advise([...wrong, { sewn: [-1, -1], at: 6 }])).toEqual({ recheck: 'wrong-way' });
    expect(advise(wrong, ['sew'])).toEqual({ recheck: 'wrong-way' });
  });

  it('as others are turned by what the rounds say, and how sure it is', () => {
    const told: readonly Told[] = [
      { sewn: [2, 2], at: 1 },
      { turned: 120, at: 2 },
      { sewn: [-2, -2], at: 3 },
    ];
    const a = advise(told);
    const p = past(told, dropped);
    const far = p && howFar(p);
    expect(far?.minutes).toBe(-60);
    expect(a).toEqual({ do: 'turn', screw: top, minutes: -60, why: 'bobbin-on-top', sure: far?.sure });
  });
});
