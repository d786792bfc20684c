import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import {
  type CareChoice,
  type CareDone,
  type CareItem,
  careNow,
  carePlan,
  dueNow,
  type Every,
  everyOf,
  needleHours,
  runningHours,
} from './care';
import { careIds } from './knowledge/care-ids';
import type { Ctx, Kept } from './task/context';
import { bobbinCase, filled, hex, machine, otherCase } from './task/world';

const hour = 3_600_000;
const day = 24 * hour;
const start = filled.now;
let n = 0;
const event = (type: string, at: number, more = {}) => ({
  id: hex(0x9000 + n++),
  at,
  by: '',
  type,
  bobbinCase,
  ...more,
});
const newBobbins = (count: number, from = start, more = {}) =>
  Array.from({ length: count }, (_, i) => event('new-bobbin', from + (i + 1) * 60_000, more));
const counter = (hours: number, at: number) => event('counter', at, { hoursTenths: hours * 10 });
const fresh = (more: Partial<Ctx>): Ctx => ({
  ...filled,
  now: start + hour,
  machines: filled.machines.map((m) => ({ ...m, at: start })),
  bobbinCases: filled.bobbinCases.map((c) => ({ ...c, at: start })),
  ...more,
});
type More = { done?: readonly Kept<CareDone>[]; choices?: { [of: string]: { [item: string]: CareChoice } } };
const states = (ctx: Ctx, { done = [], choices = {} }: More = {}) =>
  new Map(careNow({ ctx, done, choices }).map((s) => [s.item.id, s]));
const state = (ctx: Ctx, id: string, more?: More) => states(ctx, more).get(id as (typeof careIds)[number])?.state;
const did = (item: string, at: number, more = {}): Kept<CareDone> => ({
  id: hex(0xa000 + n++),
  at,
  by: '',
  item,
  ...more,
});

test('the plan names each thing once, and nothing is due on a machine that was named today', () => {
  expect(carePlan.map((i) => i.id)).toEqual(careIds);
  expect(dueNow(careNow({ ctx: fresh({}), done: [], choices: {} }))).toEqual([]);
});

const trade = readFileSync(new URL('../../../testdata/trade/care-plan.tsv', import.meta.url), 'utf8')
  .trimEnd()
  .split('\n')
  .filter((line) => !line.startsWith('#'))
  .slice(1)
  .map((line) => line.split('\t') as [item: string, every: string, after: string, by: string, cautions: string]);

test('the trade’s table names what the plan does', () => expect(trade.map(([item]) => item)).toEqual(careIds));

test.each(trade)('%s is due as the trade has it: %s', (id, every, after, by, cautions) => {
  const item = carePlan.find((i) => i.id === id) as CareItem;
  expect([item.after ?? '', item.by, item.cautions.join(', ')]).toEqual([after, by, cautions]);
  const spans = every === '' ? [] : every.split(', ');
  expect(item.every).toHaveLength(spans.length);
  spans.forEach((span, i) => {
    const { unit, due, overdue = Infinity } = item.every[i] as Every;
    const [, from, to = from, large, of] = /^(\d+)(?:-(\d+))? (large )?(\w+)$/.exec(span) ?? [];
    expect(unit).toBe(of);
    if (large) expect([Number(from), Number(to)]).toContain(due);
    else if (to === from) expect([due, overdue > due]).toEqual([Number(from), true]);
    else expect([due, overdue]).toEqual([Number(from), Number(to)]);
  });
});

describe('by bobbins', () => {
  test.each([
    [0, 'fine'],
    [1, 'due'],
    [2, 'overdue'],
  ])('after %i the hook is %s', (count, want) => {
    expect(state(fresh({ events: newBobbins(count) }), 'hook')).toBe(want);
  });

  test('one tap on "Cleaned" is enough', () => {
    const events = [...newBobbins(2), event('cleaned', start + 10 * 60_000), ...newBobbins(1, start + 20 * 60_000)];
    expect(state(fresh({ events }), 'hook')).toBe('due');
    expect(state(fresh({ events: events.slice(0, 3) }), 'hook')).toBe('fine');
  });

  test('a case counts its own bobbins and its own log', () => {
    const others = newBobbins(9, start, { bobbinCase: otherCase });
    expect(state(fresh({ events: others }), 'card')).toBe('fine');
    const own = newBobbins(3);
    expect(state(fresh({ events: [...others, ...own] }), 'card')).toBe('overdue');
    const done = (of: string) => [did('card', start + 30 * 60_000, { bobbinCase: of })];
    expect(state(fresh({ events: own }), 'card', { done: done(bobbinCase) })).toBe('fine');
    expect(state(fresh({ events: own }), 'card', { done: done(otherCase) })).toBe('overdue');
  });
});

describe('by hours', () => {
  test('25 minutes a bobbin until corrected', () => {
    expect(runningHours(newBobbins(12), 25, start, start + day)).toBe(5);
    const needle = (minutesPerBobbin?: number) =>
      state(
        fresh({
          events: newBobbins(16),
          machines: filled.machines.map((m) => ({ ...m, at: start, minutesPerBobbin })),
        }),
        'needle',
      );
    expect(needle()).toBe('fine'); // 6 h 40
    expect(needle(30)).toBe('due'); // 8 h
    expect(needle(40)).toBe('overdue'); // 10 h 40
  });

  test.each([
    [
      'between two readings the counter alone',
      [counter(100, start), ...newBobbins(40), counter(103, start + 2 * hour)],
      3,
    ],
    [
      'after the last one bobbins again',
      [counter(100, start), counter(103, start + hour), ...newBobbins(12, start + 2 * hour)],
      8,
    ],
    [
      'before the first one bobbins',
      [...newBobbins(12, start), counter(100, start + hour), counter(103, start + 2 * hour)],
      8,
    ],
    [
      'a reading from before, less what ran by then',
      [counter(100, start - day), ...newBobbins(12, start - hour), counter(106, start + hour)],
      1,
    ],
    [
      'a counter that went back is another counter',
      [counter(900, start), ...newBobbins(12), counter(2, start + hour)],
      5,
    ],
    ['never below none', [counter(100, start - day), ...newBobbins(24, start - hour), counter(101, start + hour)], 0],
  ])('%s', (_, events, want) => {
    expect(runningHours(events, 25, start, start + day)).toBeCloseTo(want, 9);
  });

  test('the needle that is in has its hours and its day', () => {
    expect(needleHours(fresh({}))).toBeUndefined();
    const events = [...newBobbins(5), event('new-needle', start + 30 * 60_000), ...newBobbins(12, start + 40 * 60_000)];
    expect(needleHours(fresh({ events }))).toEqual({ since: start + 30 * 60_000, hours: 5 });
    expect(needleHours(fresh({ events, bench: { ...filled.bench, needleSince: start } }))?.since).toBe(
      start + 30 * 60_000,
    );
  });
});

describe('by days, quilts and what happened', () => {
  test('the day starts with a drop test, by the calendar of the phone', () => {
    const late = { ...fresh({}), now: start + 14 * hour }; // 9:00 UTC at +2 h; 14 hours later it is past midnight
    expect(state(late, 'day-start')).toBe('due');
    expect(state({ ...late, zone: 0 }, 'day-start')).toBe('fine');
    const readings = [{ id: hex(1), at: late.now - 60_000, by: '', type: 'drop' as const, bobbinCase }];
    expect(state({ ...late, readings }, 'day-start')).toBe('fine');
    expect(
      state({ ...late, readings: [{ ...readings[0], interrupted: true } as (typeof readings)[0]] }, 'day-start'),
    ).toBe('due');
    expect(state({ ...late, now: start + 40 * day }, 'day-start')).toBe('due'); // a holiday is not overdue
  });

  test('rails are of a frame, once a quilt', () => {
    const quilts = [{ id: hex(1), at: start + 1, by: '', name: 'Two' }];
    const events = [event('good', start + 2)];
    expect(state(fresh({ quilts, events }), 'rails')).toBe('due');
    expect(
      state(fresh({ quilts, machines: [{ id: machine, at: start, by: '', name: 'x', body: 'sit-down' }] }), 'rails'),
    ).toBeUndefined();
  });

  test('a quilt counts once something was sewn on it, not when it was set up', () => {
    const quilt = (id: number, at: number) => ({ id: hex(id), at: start + at, by: '', name: '' });
    const quilts = [quilt(1, 10), quilt(2, 20)];
    const used = (more: Partial<Ctx>) => states(fresh({ quilts, ...more })).get('rails')?.used[0]?.n;
    expect(used({})).toBe(0);
    expect([state(fresh({ quilts }), 'rails'), state(fresh({ quilts }), 'needle')]).toEqual(['fine', 'fine']);
    expect(used({ events: [event('cleaned', start + 15), event('new-needle', start + 25)] })).toBe(0);
    // A bobbin names its quilt, whenever it went in; lines do by their balancing; "Good now" by the time.
    expect(used({ events: [event('new-bobbin', start + 30, { quilt: hex(1) })] })).toBe(1);
    const balancings = [{ id: hex(3), at: start + 11, by: '', machine, quilt: hex(2) }];
    const sample = (at: number, balancing?: string) => ({
      ...{ id: hex(4), at: start + at, by: '', rays: [], allAlike: true },
      ...(balancing ? { balancing } : {}),
    });
    expect(used({ balancings, samples: [sample(12, hex(3))] })).toBe(1);
    expect(used({ samples: [sample(5)] })).toBe(0); // sewn on the quilt before these
    const events = [event('good', start + 12), event('good', start + 22)];
    expect(used({ events })).toBe(2);
    expect(state(fresh({ quilts, events }), 'rails')).toBe('overdue');
  });

  test('a year calls the technician', () => {
    expect(state({ ...fresh({}), now: start + 364 * day }, 'service')).toBe('fine');
    expect(state({ ...fresh({}), now: start + 366 * day }, 'service')).toBe('due');
    expect(state({ ...fresh({}), now: start + 401 * day }, 'service')).toBe('overdue');
  });

  test('another top thread, a strike, a long rest', () => {
    const benchAt = { topThread: start + 1 };
    expect(states(fresh({ benchAt })).get('path')?.why).toBe('top-thread');
    expect(state(fresh({ events: [event('new-cone', start + 1)] }), 'path')).toBe('due');
    const readings = [{ id: hex(1), at: start + 2, by: '', type: 'pull' as const }];
    expect(state(fresh({ benchAt, readings }), 'path')).toBe('fine');
    const struck = fresh({ events: [event('struck', start + 1)] });
    expect(state(struck, 'struck')).toBe('due');
    expect(state(struck, 'needle')).toBe('due');
    expect(state(struck, 'struck', { done: [did('struck', start + 2)] })).toBe('fine');
    const looked = { ...event('step', start + 2), step: 'checked' }; // the stop path, gone through to its end
    expect(state(fresh({ events: [event('struck', start + 1), looked] }), 'struck')).toBe('fine');
    expect(state(fresh({ events: [looked, event('struck', start + 3)] }), 'struck')).toBe('due');
    const month = { ...fresh({ events: [event('good', start + 1)] }), now: start + 31 * day };
    expect(state(month, 'rest')).toBe('due');
    expect(state({ ...month, now: start + 29 * day }, 'rest')).toBe('fine');
  });

  test('what only a person knows is never due', () => {
    const later = { ...fresh({}), now: start + 900 * day };
    expect([state(later, 'moved'), state(later, 'day-end')]).toEqual(['when', 'when']);
  });
});

test('an interval that was set stands in place of the plan’s, of its own machine only', () => {
  const ctx = fresh({ events: newBobbins(2) });
  expect(state(ctx, 'hook', { choices: { [machine]: { hook: { every: 3 } } } })).toBe('fine');
  expect(state(ctx, 'hook', { choices: { [hex(7)]: { hook: { every: 3 } } } })).toBe('overdue');
  expect(state(ctx, 'hook', { choices: { [machine]: { hook: { off: true } } } })).toBe('off');
  const service = carePlan.find((i) => i.id === 'service');
  expect(service && everyOf(service, { every: 80 })).toEqual([
    { unit: 'hours', due: 80, overdue: 100 },
    { unit: 'days', due: 365, overdue: 400 },
  ]);
  expect(service && everyOf(service, { also: 180 })).toEqual([
    { unit: 'hours', due: 100, overdue: 200 },
    { unit: 'days', due: 180, overdue: 225 },
  ]);
  const half = { ...fresh({}), now: start + 200 * day };
  expect(state(half, 'service')).toBe('fine');
  expect(state(half, 'service', { choices: { [machine]: { service: { also: 180 } } } })).toBe('due');
});

test('what a strike makes due goes first, then the overdue', () => {
  const ctx = fresh({ events: newBobbins(2) });
  expect(dueNow(careNow({ ctx, done: [], choices: {} })).map((s) => `${s.item.id} ${s.state}`)).toEqual([
    'hook overdue',
    'oil due',
    'card due',
  ]);
  const hit = { ...ctx, events: [...ctx.events, event('struck', start + 30 * 60_000)] };
  const off = { [machine]: { needle: { off: true } } };
  expect(dueNow(careNow({ ctx: hit, done: [], choices: {} })).map((s) => s.item.id)).toEqual([
    ...['needle', 'struck', 'hook', 'oil', 'card'],
  ]);
  expect(dueNow(careNow({ ctx: hit, done: [], choices: off }))[0]?.item.id).toBe('struck');
});
