import { describe, expect, it } from 'vitest';
import { contextFor, copyDue, homeDue, list, type Row, type Rows, removal, withRows } from './read';
import { dotOf } from './sync/merge';

const machine = 'a'.repeat(32);
const replica = 'c'.repeat(32);
let n = 0;
const row = (kind: string, id: string, set: { [field: string]: unknown }, t = 1): Row => ({
  studio: 's',
  kind,
  id: id.repeat(32),
  parent: machine,
  t,
  fields: Object.fromEntries(
    Object.entries(set).map(([field, value]) => [
      field,
      { live: [{ dot: dotOf(replica, ++n), at: [t, 0] as const, by: '', value: value as never }], dead: [] },
    ]),
  ),
});
const ctxOf = (rows: Rows) =>
  contextFor(rows, machine, {
    ...{ now: 9, zone: 0, ids: [], acknowledged: [], gauge: false },
    gaps: { pickUpS: 1, holdS: 1, quietS: 1 },
  });

describe('what tasks are told', () => {
  const good = row('event', '1', { machine, type: 'good' }, 1);
  const jam = row('event', '2', { machine, type: 'jam' }, 2);
  const rows = withRows(new Map(), [good, jam]);

  it('is worked out anew only for what changed', () => {
    const before = ctxOf(rows).events;
    expect(before.map((e) => e.type)).toEqual(['good', 'jam']);
    const now = ctxOf(withRows(rows, [row('event', '2', { machine, type: 'knock' }, 2)])).events;
    expect(now.map((e) => e.type)).toEqual(['good', 'knock']);
    expect(now[0]).toBe(before[0]);
  });

  it('is of one machine and its cases, also after another was looked at', () => {
    const more = withRows(rows, [row('event', '3', { machine: 'b'.repeat(32), type: 'good' }, 3)]);
    const other = contextFor(more, 'b'.repeat(32), { ...ctxOf(more) });
    expect(ctxOf(more).events).toHaveLength(2);
    expect(other.events.map((e) => e.at)).toEqual([3]);
    const reading = row(
      'reading',
      '4',
      { machine: 'b'.repeat(32), type: 'drop', bobbinCase: '5'.repeat(32), drops: [{ answer: 'right' }] },
      4,
    );
    const before = withRows(more, [reading]);
    expect(ctxOf(before).readings).toEqual([]);
    const withCase = withRows(before, [row('bobbinCase', '5', { label: 'red dot' })]);
    expect(ctxOf(withCase).readings.map((r) => r.at)).toEqual([4]); // the drop goes with the case, on whichever machine
  });

  it('has a removed record no more, and its list is the caller’s own', () => {
    const mine = list(rows, 'event');
    mine.length = 0;
    expect(list(rows, 'event')).toHaveLength(2);
    const { set } = removal(jam);
    const gone = { ...jam, fields: { ...jam.fields, ...row('event', '2', set).fields } };
    expect(ctxOf(withRows(rows, [gone])).events.map((e) => e.type)).toEqual(['good']);
    expect(ctxOf(rows).events).toHaveLength(2);
  });
});

describe('what a phone says of itself', () => {
  const day = 24 * 3600 * 1000;
  const now = 1000 * day;
  const alone = { copies: 1, copiedAt: now - day, joined: false, machines: [{ at: now - 90 * day }] };
  it.each<[string, Partial<typeof alone>, boolean]>([
    ['nothing new', { copies: 0, copiedAt: 0 }, false],
    ['19 things, a day', { copies: 19 }, false],
    ['20 things, a day', { copies: 20 }, true],
    ['one thing, 14 days', { copiedAt: now - 14 * day }, false],
    ['one thing, a moment more', { copiedAt: now - 14 * day - 1 }, true],
    ['never copied, a new machine', { copiedAt: 0, machines: [{ at: now - day }] }, false],
    [
      'never copied, a machine of 15 days',
      { copiedAt: 0, machines: [{ at: now - day }, { at: now - 15 * day }] },
      true,
    ],
    ['shared with a studio', { copies: 41, joined: true }, false],
  ])('a copy is due: %s', (_what, more, due) => expect(copyDue({ ...alone, ...more }, now)).toBe(due));

  const tab = { copies: 5, way: 'offered', installed: false, notNowAt: 0 };
  it.each<[string, Partial<typeof tab> & { way?: undefined }, boolean]>([
    ['after five things written', {}, true],
    ['before them', { copies: 4 }, false],
    ['where the browser has no way', { way: undefined }, false],
    ['opened from there already', { installed: true }, false],
    ['29 days after "Not now"', { notNowAt: now - 29 * day }, false],
    ['31 days after "Not now"', { notNowAt: now - 31 * day }, true],
  ])('the home screen: %s', (_what, more, due) => expect(homeDue({ ...tab, ...more }, now)).toBe(due));
});
