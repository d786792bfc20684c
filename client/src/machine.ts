/** What is read of a machine at a time: enough for a year's ledger of one screw, never everything. */
import { bobbinScrew, topScrew } from './domain/task/ledger';
import { find, list, type Rows, shown, withRows } from './read';
import { stopsOf } from './store/parent';
import type { Look } from './store/records';

/** How many records of each kind, the newest. */
const newest = {
  ...{ change: 500, reading: 120, careDone: 100, event: 300 },
  ...{ sample: 60, finding: 200, balancing: 40, quilt: 100 },
} as const;
const small = ['studio', 'machine', 'bobbinCase', 'thread', 'bench', 'carePlan'] as const;

/**
 * `kinds` are read whole besides. A `first` look leaves out what Frame shows only after it stands: other bobbin cases than
 * the one that is in, what was sewn and found, and care. Half as many records on a phone with three cases.
 */
export async function readMachine(at: Look, machine: string, kinds: Iterable<string>, first = false): Promise<Rows> {
  const whole = await Promise.all([...new Set([...small, ...kinds])].map((k) => at.all(k)));
  const rows = withRows(new Map(), whole.flat());
  const all = list(rows, 'bobbinCase').map((c) => c.id);
  const here = all.filter((id) => id === shown(find(rows, 'bench', machine), 'bobbinCase'));
  const cases = first && here.length > 0 ? here : all; // with none in, the last word is of any of them
  const ofEach = first ? (['reading'] as const) : (['reading', 'careDone'] as const);
  const ofMachine = first
    ? (['event', 'quilt'] as const)
    : (['event', 'quilt', 'sample', 'finding', 'balancing'] as const);
  const parts = await Promise.all([
    ...[topScrew(machine), ...cases.map(bobbinScrew)].map((p) => at.under('change', p, newest.change)),
    ...[machine, ...cases].flatMap((p) => ofEach.map((k) => at.under(k, p, newest[k]))),
    ...ofMachine.map((k) => at.under(k, machine, newest[k])),
    at.under('event', stopsOf(machine), newest.event),
  ]);
  return withRows(rows, parts.flat());
}
