import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { type Pair, pairHints, pairs } from './knowledge/pairs';
import { fromNow, nearest, pendingStart, type Recipe, tradeStarts } from './recipe';
import { bare, bobbinCase, filled, hex, machine, otherCase } from './task/world';
import type { Sized } from './thread';

const threads = new Map<string, Sized>([
  ['blue40', { number: '40', fibre: 'polyester' }],
  ['red40', { number: '40', fibre: 'polyester' }],
  ['cotton40', { number: '40', fibre: 'cotton' }],
  ['poly50', { number: '50', fibre: 'polyester' }],
  ['poly60', { number: '60', fibre: 'polyester' }],
  ['two', { number: '50/2', fibre: 'cotton' }],
]);
const mix = {
  machine: 'M',
  bobbinCase: 'C',
  topThread: 'blue40',
  bobbinThread: 'poly60',
  batting: 'wool',
  needle: '100',
};
const recipe = (id: string, more: Partial<Recipe>): Recipe => ({ id, at: 1, ...mix, ...more });
const order = (recipes: readonly Recipe[], worked = new Map<string, boolean>()) =>
  nearest(mix, recipes, threads, worked).map((n) => n.recipe.id);
const told = (more: Partial<Recipe>) => nearest(mix, [recipe('r', more)], threads, new Map())[0]?.differences;

describe('the nearest recipes', () => {
  test('same machine and case go first, then the distance, then the newest', () => {
    const all = [
      recipe('other machine', { machine: 'N' }),
      recipe('other case', { bobbinCase: 'D' }),
      recipe('two steps', { bobbinThread: 'red40' }),
      recipe('one step', { bobbinThread: 'poly50' }),
      recipe('older', {}),
      recipe('newer', { at: 2 }),
    ];
    expect(order(all)).toEqual(['newer', 'older', 'one step', 'two steps', 'other case', 'other machine']);
  });

  test('one that failed the last time goes behind those of its case', () => {
    const all = [
      recipe('failed', {}),
      recipe('farther', { bobbinThread: 'poly50' }),
      recipe('other case', { bobbinCase: 'D' }),
    ];
    expect(order(all, new Map([['failed', false]]))).toEqual(['farther', 'failed', 'other case']);
    expect(order(all, new Map([['failed', true]]))[0]).toBe('failed');
  });

  test('what was not said is farther than what is the same, and nearer than what is another', () => {
    const newer = { at: 2 };
    expect(order([recipe('same', {}), recipe('no batting', { ...newer, batting: undefined })])[0]).toBe('same');
    expect(order([recipe('same', {}), recipe('no needle', { ...newer, needle: undefined })])[0]).toBe('same');
    expect(order([recipe('same', {}), recipe('sharp', { ...newer, needle: '100 sharp' })])[0]).toBe('same');
    const unsaid = recipe('no batting', { batting: undefined });
    expect(order([unsaid, recipe('another', { ...newer, batting: 'cotton' })])[0]).toBe('no batting');
  });

  test('what says nothing of the mix is left out', () => {
    expect(
      order([recipe('far', { topThread: undefined, bobbinThread: undefined, batting: 'cotton', needle: '140' })]),
    ).toEqual([]);
  });
});

describe('what differs', () => {
  test('same top thread, bobbin one step finer now', () => {
    expect(told({ bobbinThread: 'poly50' })).toEqual([
      { part: 'machine', how: 'same' },
      { part: 'bobbinCase', how: 'same' },
      { part: 'topThread', how: 'same' },
      { part: 'bobbinThread', how: 'steps', finer: 1 },
      { part: 'batting', how: 'same' },
      { part: 'needle', how: 'same' },
    ]);
  });

  test.each([
    [{ topThread: 'red40' }, { part: 'topThread', how: 'alike' }],
    [{ topThread: 'cotton40' }, { part: 'topThread', how: 'steps', finer: 0, otherFibre: true }],
    [{ topThread: 'poly60' }, { part: 'topThread', how: 'steps', finer: -2 }],
    [{ topThread: 'two' }, { part: 'topThread', how: 'other', otherFibre: true }],
    [{ topThread: undefined }, { part: 'topThread', how: 'not-said' }],
    [{ batting: ' Wool ' }, { part: 'batting', how: 'same' }],
    [{ batting: 'cotton' }, { part: 'batting', how: 'other' }],
    [{ needle: '90/14' }, { part: 'needle', how: 'bigger' }],
    [{ needle: '110' }, { part: 'needle', how: 'smaller' }],
    [{ needle: '100 sharp' }, { part: 'needle', how: 'other' }],
    [{ needle: '4.0' }, { part: 'needle', how: 'other' }],
  ] as const)('%j', (more, want) => {
    expect(told(more)).toContainEqual(want);
  });
});

describe('turns to make from now', () => {
  const at = (minutes: number) => ({
    ...filled,
    changes: [
      { id: hex(1), at: 1, by: '', screw: `top:${machine}`, type: 'neutral' as const, after: [] },
      { id: hex(2), at: 2, by: '', screw: `top:${machine}`, type: 'move' as const, minutes, after: [hex(1)] },
      { id: hex(3), at: 3, by: '', screw: `bobbin:${bobbinCase}`, type: 'neutral' as const, after: [] },
    ],
  });
  const own: Recipe = {
    id: 'r',
    at: 1,
    machine,
    bobbinCase,
    topMinutesFromFlush: 90,
    bobbinMinutesHint: -5,
    dropTenthsIn: 50,
  };

  test('the difference, not the place', () => {
    expect(fromNow(own, at(60))).toEqual({ top: { minutes: 30 }, topWanted: 90, dropTenthsIn: 50, caseMinutes: -5 });
    expect(fromNow(own, at(90)).top).toEqual({ minutes: 0 });
    expect(fromNow(own, at(120)).top).toEqual({ minutes: -30 });
  });

  test('a lost position: neutral first', () => {
    expect(fromNow(own, bare)).toEqual({ top: 'neutral-first', topWanted: 90, dropTenthsIn: 50 });
  });

  test('another machine or case has no turn to copy', () => {
    expect(fromNow({ ...own, machine: hex(0xee) }, at(60))).toEqual({
      topOf: 'another',
      dropTenthsIn: 50,
      caseMinutes: -5,
    });
    const kept = { ...own, topMinutesFromFlush: undefined, topDialTenths: undefined };
    expect(fromNow(kept, at(60)).topOf).toBe('not-kept'); // nothing of another machine: it was not known then
    expect(fromNow({ ...own, bobbinCase: otherCase }, at(60))).toEqual({
      top: { minutes: 30 },
      topWanted: 90,
      dropTenthsIn: 50,
    });
  });

  test('the minutes of one case are never given for another, though both counts stand', () => {
    const neutral = { id: hex(4), at: 4, by: '', screw: `bobbin:${otherCase}`, type: 'neutral' as const, after: [] };
    const both = { ...at(60), changes: [...at(60).changes, neutral] };
    expect(fromNow(own, both).caseMinutes).toBe(-5);
    expect(fromNow({ ...own, bobbinCase: otherCase }, both).caseMinutes).toBeUndefined();
    expect(fromNow({ ...own, bobbinCase: undefined }, both).caseMinutes).toBeUndefined();
  });

  test('a dial has a number to set', () => {
    expect(fromNow({ id: 'r', at: 1, machine, topDialTenths: 45 }, at(60))).toEqual({ top: { dialTenths: 45 } });
  });
});

test('a start is pending until lines are sewn or it is called good', () => {
  const started = { ...filled, bench: { ...filled.bench, startedFrom: 'r' }, benchAt: { startedFrom: 10 } };
  const sample = (at: number) => ({ id: hex(1), at, by: '', rays: [], allAlike: true });
  const good = (at: number) => ({ id: hex(2), at, by: '', type: 'good' });
  expect(pendingStart(filled)).toBeUndefined();
  expect(pendingStart({ ...started, samples: [sample(9)], events: [good(9)] })).toBe('r');
  expect(pendingStart({ ...started, samples: [sample(11)] })).toBeUndefined();
  expect(pendingStart({ ...started, events: [good(11)] })).toBeUndefined();
});

describe("the trade's table", () => {
  const trade = readFileSync(new URL('../../../testdata/trade/pairs.tsv', import.meta.url), 'utf8')
    .trimEnd()
    .split('\n')
    .filter((line) => !line.startsWith('#'))
    .slice(1)
    .map((line) => line.split('\t'));
  const span = (words = '') => {
    const [from, to = from] = words.split('-').map(Number);
    return [from, to];
  };
  const stuff = (words = ''): readonly string[] | undefined =>
    words === 'any'
      ? undefined
      : words.split(' or ').flatMap((w) => {
          if (w === 'polyester') return ['polyester', 'shiny polyester'];
          return w === 'matt polyester' ? ['polyester'] : [w];
        });

  test('has every figure of the trade’s', () => {
    expect(pairs).toHaveLength(trade.length);
    trade.forEach(([wt, of, below, ofBelow, bobbinGf, topGf, needle, stitches, speed, sure], i) => {
      const p = pairs[i] as Pair;
      expect([p.top.wt, p.top.fibres]).toEqual([wt === 'any' ? undefined : Number(wt), stuff(of)]);
      if (below !== 'any') expect(p.bobbin.wt).toEqual(span(below));
      expect(p.bobbin.fibres).toEqual(stuff(ofBelow));
      const figures = [p.bobbinGf, p.topGf, p.needle, p.stitchesPerInch];
      expect(figures).toEqual([bobbinGf, topGf, needle, stitches].map(span));
      expect(p.speed.replace('-', ' to ')).toBe(speed);
      expect(p.sure).toBe(sure === 'B' ? 'usual' : 'guess');
    });
  });

  test('is whole', () => {
    expect(new Set(pairs.map((p) => p.hint))).toEqual(new Set(pairHints));
    for (const p of pairs)
      for (const [least, most] of [p.bobbinGf, p.topGf, p.needle, p.stitchesPerInch])
        expect(least).toBeLessThanOrEqual(most);
    for (const p of pairs) expect(p.topGf[0]).toBeGreaterThan(p.bobbinGf[1]); // the top pulls more than the bobbin, always
  });

  const first = (top: Sized, bobbin?: Sized) => tradeStarts(top, bobbin)[0];
  const poly60 = { number: '60', fibre: 'polyester' };

  test.each([
    [{ number: '40', fibre: 'shiny polyester' }, poly60, 'everyday', true],
    [{ number: '50', fibre: 'cotton' }, poly60, 'case-last', true],
    [{ number: '50', fibre: 'Cotton' }, { number: '50', fibre: 'cotton' }, 'to-begin', true],
    [{ number: 'x', fibre: 'metallic' }, poly60, 'fewest-bends', true],
    [{ number: '40', fibre: 'polyester' }, poly60, 'everyday', false],
    [{ number: '50', fibre: 'polyester' }, poly60, 'forgiving', false],
    [{ number: '40', fibre: 'cotton' }, { number: '50', fibre: 'cotton' }, 'fuzz-in-holes', true],
    [{ number: '60', fibre: 'polyester' }, { number: 'fine', fibre: 'clear' }, 'clear-bobbin', true],
    [{ number: 'fine', fibre: 'clear' }, { number: 'fine', fibre: 'clear' }, 'clear-bobbin', true],
    [{ number: 'fine', fibre: 'clear' }, poly60, 'clear-top', true],
  ])('%j over %j: %s', (top, bobbin, hint, exact) => {
    const got = first(top, bobbin);
    expect(got?.pair.hint).toBe(hint);
    expect(got?.exact).toBe(exact);
  });

  test('has nothing for what it does not name', () => {
    expect(tradeStarts({ number: '40', fibre: 'hemp' }, poly60)).toEqual([]);
    expect(tradeStarts({ number: '50/2', fibre: 'cotton' }, poly60)).toEqual([]);
    expect(tradeStarts({ number: '100', fibre: 'polyester' }, { number: 'fine', fibre: 'clear' })).toEqual([]); // clear or a 60 goes over clear
    expect(tradeStarts(undefined, undefined)).toEqual([]);
  });
});
