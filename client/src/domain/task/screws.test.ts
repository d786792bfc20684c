import { describe, expect, it } from 'vitest';
import type { Ctx, Ray } from './context';
import { recipeName, recipeNow } from './recipe-now';
import { markOff, pointsBack, position } from './screws';
import { bobbinCase, filled, machine, otherCase } from './world';

const bobbin = `bobbin:${bobbinCase}`;
type Row = readonly [
  id: string,
  type: 'move' | 'neutral' | 'lost' | 'strike' | 'back' | 'dial',
  minutes: number,
  after: readonly string[],
  strikes?: string,
];

/** Rows are written one after the other; `after` says what each writer had seen. */
const ledger = (rows: readonly Row[], screw = bobbin) => ({
  ...filled,
  changes: rows.map(([id, type, n, after, strikes], at) => ({
    id,
    at,
    by: '',
    screw,
    type,
    after,
    strikes,
    ...(type === 'dial' ? { dialTenths: n } : n === 0 ? {} : { minutes: n }),
  })),
});

describe('position', () => {
  it.each<[string, readonly Row[], ReturnType<typeof position>]>([
    ['no marker', [['a', 'move', 5, []]], 'lost'],
    [
      'a marker and moves',
      [
        ['n', 'neutral', 0, []],
        ['a', 'move', 5, ['n']],
        ['b', 'move', -2, ['a']],
      ],
      { known: 3 },
    ],
    [
      'a newer marker',
      [
        ['n', 'neutral', 0, []],
        ['a', 'move', 5, ['n']],
        ['m', 'neutral', 0, ['a']],
      ],
      { known: 0 },
    ],
    [
      'lost',
      [
        ['n', 'neutral', 0, []],
        ['l', 'lost', 0, ['n']],
        ['a', 'move', 5, ['l']],
      ],
      'lost',
    ],
    [
      'lost, struck',
      [
        ['n', 'neutral', 0, []],
        ['a', 'move', 5, ['n']],
        ['l', 'lost', 0, ['a']],
        ['s', 'strike', 0, ['l'], 'l'],
      ],
      { known: 5 },
    ],
    [
      'a struck move',
      [
        ['n', 'neutral', 0, []],
        ['a', 'move', 5, ['n']],
        ['s', 'strike', 0, ['a'], 'a'],
      ],
      { known: 0 },
    ],
    [
      'struck twice',
      [
        ['n', 'neutral', 0, []],
        ['a', 'move', 5, ['n']],
        ['s', 'strike', 0, ['a'], 'a'],
        ['t', 'strike', 0, ['a'], 'a'],
      ],
      { known: 0 },
    ],
    [
      'turned back',
      [
        ['n', 'neutral', 0, []],
        ['a', 'move', 5, ['n']],
        ['b', 'back', -5, ['a']],
      ],
      { known: 0 },
    ],
    [
      'two phones, two moves: both count',
      [
        ['n', 'neutral', 0, []],
        ['a', 'move', 5, ['n']],
        ['b', 'move', 2, ['n']],
      ],
      { known: 7 },
    ],
    [
      'a move beside the marker',
      [
        ['o', 'neutral', 0, []],
        ['n', 'neutral', 0, ['o']],
        ['a', 'move', 5, ['o']],
      ],
      'lost',
    ],
    [
      'two markers apart, both flush',
      [
        ['o', 'move', 5, []],
        ['n', 'neutral', 0, ['o']],
        ['m', 'neutral', 0, ['o']],
      ],
      { known: 0 },
    ],
    [
      'a marker that saw both',
      [
        ['o', 'neutral', 0, []],
        ['n', 'neutral', 0, ['o']],
        ['a', 'move', 5, ['o']],
        ['z', 'neutral', 0, ['n', 'a']],
      ],
      { known: 0 },
    ],
    [
      'a ring of hostile bytes ends',
      [
        ['n', 'neutral', 0, ['a']],
        ['a', 'move', 5, ['n', 'a']],
      ],
      { known: 0 },
    ],
  ])('%s', (_name, rows, wanted) => {
    expect(position(ledger(rows), bobbin)).toEqual(wanted);
  });
});

describe('points to go back to', () => {
  it('each with its move, newest first, down to the marker', () => {
    const ctx = ledger([
      ['n', 'neutral', 0, []],
      ['a', 'move', 5, ['n']],
      ['b', 'move', 5, ['a']],
      ['c', 'move', -15, ['b']],
    ]);
    expect(pointsBack(ctx, bobbin)).toMatchObject([
      { change: 'b', minutes: 15 },
      { change: 'a', minutes: 10 },
      { change: 'n', minutes: 5 },
    ]);
  });
  it('marks the one it was last good at: of a bobbin case only while it was in', () => {
    const ctx = ledger([
      ['n', 'neutral', 0, []],
      ['a', 'move', 5, ['n']],
      ['b', 'move', 5, ['a']],
    ]);
    const at = ctx.changes.find((c) => c.id === 'a')?.at ?? 0;
    const good = (bobbinCase: string) => ({ id: 'g', at, by: '', type: 'good', bobbinCase });
    const marked = (events: Ctx['events']) =>
      pointsBack({ ...ctx, events }, bobbin).flatMap((p) => (p.good ? [p.change] : []));
    expect(marked([good(bobbinCase)])).toEqual(['a']);
    expect(marked([good(otherCase)])).toEqual([]);
    expect(marked([])).toEqual([]);
  });
  it('none beyond a lost count', () => {
    const ctx = ledger([
      ['a', 'move', 5, []],
      ['l', 'lost', 0, ['a']],
      ['b', 'move', 5, ['l']],
      ['c', 'move', 5, ['b']],
    ]);
    expect(pointsBack(ctx, bobbin)).toMatchObject([{ change: 'b', minutes: -5 }]);
  });
});

describe('pen mark', () => {
  const marked = (minutes: number, mark: number, tightens: 'clockwise' | 'counter' = 'clockwise') =>
    markOff(
      {
        ...ledger([
          ['n', 'neutral', 0, []],
          ['a', 'move', minutes, ['n']],
        ]),
        bobbinCases: filled.bobbinCases.map((c) => ({ ...c, tightens })),
        readings: [{ id: 'p', at: 0, by: '', type: 'pen', bobbinCase, clockMinute: 10 }],
      },
      bobbin,
      mark,
    );
  it.each([
    [5, 15, 'clockwise', 0],
    [5, 20, 'clockwise', 5],
    [5, 5, 'counter', 0],
    [5, 0, 'counter', 5],
    [-15, 55, 'clockwise', 0],
    [65, 15, 'clockwise', 0],
    [5, 45, 'clockwise', 30],
    [5, 46, 'clockwise', -29],
  ] as const)('moved %i, mark at %i, tightens %s: off by %i', (minutes, mark, way, off) => {
    expect(marked(minutes, mark, way)).toBe(off);
  });
  it('has nothing to say without an earlier mark', () => {
    expect(markOff(filled, bobbin, 10)).toBeUndefined();
  });
});

describe('recipe', () => {
  const drops = [
    { answer: 'right' as const, tenthsIn: 55 },
    { answer: 'right' as const, tenthsIn: 45 },
    { answer: 'right' as const, tenthsIn: 50 },
  ];
  it('keeps the setting as it stands', () => {
    const ctx = {
      ...ledger(
        [
          ['n', 'neutral', 0, []],
          ['a', 'move', 30, ['n']],
        ],
        `top:${machine}`,
      ),
      readings: [{ id: 'r', at: 1, by: '', type: 'drop' as const, bobbinCase, fill: 'half' as const, drops }],
    };
    expect(recipeNow(ctx)).toMatchObject({
      machine,
      bobbinCase,
      bobbinKind: 'pre-wound',
      fill: 'half',
      dropTenthsIn: 50,
      topMinutesFromFlush: 30,
      topDialTenths: undefined,
      bobbinMinutesHint: undefined,
    });
  });
  it('keeps what the lines showed that were sewn with it, and no others', () => {
    const sewn = ledger([['n', 'neutral', 0, []]], `top:${machine}`);
    const at = (sewn.changes.at(-1)?.at ?? 0) + 1;
    const sample = (...rays: readonly Ray[]) => [{ id: 's', at, by: '', rays, allAlike: false }];
    const score = (ctx: Ctx) => recipeNow(ctx).score;
    const dots = [
      { direction: 0, score: -2 },
      { direction: 180, score: -1 },
      { direction: 90, score: 0, marks: ['cant-tell'] },
    ];
    const ctx = { ...sewn, samples: sample(...dots) };
    expect(score(ctx)).toBe(-2); // of -1.5
    const ray = (direction: number, of: number) => ({ direction, score: of });
    expect(score({ ...ctx, samples: sample(ray(0, 0), ray(180, -1), ray(90, 0)) })).toBe(0);
    expect(score({ ...ctx, samples: sample(ray(0, 2), ray(180, 1)) })).toBe(2);
    expect(score({ ...ctx, samples: sample(...dots.slice(2)) })).toBeUndefined();
    expect(score(sewn)).toBeUndefined();
    const turned = ledger(
      [
        ['n', 'neutral', 0, []],
        ['a', 'move', 30, ['n']],
      ],
      `top:${machine}`,
    );
    const moved = turned.changes.map((c, i) => ({ ...c, at: i === 0 ? at - 1 : at + 1 }));
    expect(score({ ...ctx, changes: moved })).toBeUndefined();
    expect(score({ ...ctx, benchAt: { topThread: at + 1 } })).toBeUndefined();
    expect(score({ ...ctx, benchAt: { topThread: at - 1, startedFrom: at + 1 } })).toBe(-2);
  });
  it('keeps the number of a dial', () => {
    const ctx = {
      ...ledger([['d', 'dial', 35, []]], `top:${machine}`),
      machines: filled.machines.map((m) => ({ ...m, topKnob: 'dial' as const })),
    };
    expect(recipeNow(ctx)).toMatchObject({ topDialTenths: 35, topMinutesFromFlush: undefined });
  });
  it('starts from the quilt’s name, else the threads, else the machine’s', () => {
    expect(recipeName(filled)).toBe('River stones');
    expect(recipeName({ ...filled, bench: { ...filled.bench, quilt: undefined } })).toBe('40 / 60');
    const nameless = { ...filled, quilts: filled.quilts.map((q) => ({ ...q, name: '' })) };
    expect(recipeName(nameless)).toBe('40 / 60');
    expect(recipeName({ ...nameless, threads: [] })).toBe(''); // a machine's name tells nothing of a mix
  });
});
