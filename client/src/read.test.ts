import { describe, expect, it } from 'vitest';
import { contextFor, list, type Row, type Rows, removal, withRows } from './read';
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
