/** Readings, turns and recipes as tables for any program: every record that is not removed, oldest first. */
import { type Cell, csv } from './domain/csv';
import { type Fields, usable } from './domain/records';
import { find, list, plain, type Row, type Rows, shown, withRows, writerOf } from './read';
import type { Store } from './store/store';
import { headings, type TableName } from './text/tables';

const kindOf: { readonly [table in TableName]: string } = { readings: 'reading', turns: 'change', recipes: 'recipe' };
const named = ['machine', 'bobbinCase', 'thread', 'person', 'recipeUse'];

/** One table as the text of a file. */
export async function tableText(store: Store, table: TableName): Promise<string> {
  const kinds = [kindOf[table], ...named];
  const rows = withRows(new Map(), (await Promise.all(kinds.map((k) => store.all(k)))).flat());
  return csv(headings[table], list(rows, kindOf[table]).map(tables[table](rows)));
}

/** What can be used of a record; a stranger's nonsense stays out of the table. */
const fieldsOf = (row: Row): Fields => usable(row.kind, plain(row)).fields;
const words = (value: unknown): string | undefined => (typeof value === 'string' && value !== '' ? value : undefined);
const figure = (value: unknown, per = 1): number | undefined => (typeof value === 'number' ? value / per : undefined);

const tables: { readonly [table in TableName]: (rows: Rows) => (row: Row) => Cell[] } = {
  readings: (rows) => (row) => {
    const r = fieldsOf(row);
    const drops = Array.isArray(r.drops) ? (r.drops as readonly Fields[]) : [];
    const used = drops.filter((d) => !d.out && !d.hidden);
    return [
      ...[time(row), name(rows, 'machine', r.machine), name(rows, 'bobbinCase', r.bobbinCase)],
      ...[name(rows, 'thread', r.thread), words(r.bobbinKind), words(r.fill), words(r.type)],
      used.map((d) => figure(d.tenthsIn, 10) ?? '').join('; '),
      used.map((d) => words(d.answer) ?? '').join('; '),
      drops.length - used.length || undefined,
      ...[words(r.answer), figure(r.clockMinute), figure(r.tenthsGf, 10), r.interrupted === true ? 'yes' : undefined],
      ...[by(row, rows), row.id],
    ];
  },
  turns: (rows) => {
    const struck = new Set(list(rows, 'change').map((c) => shown(c, 'strikes')));
    return (row) => {
      const r = fieldsOf(row);
      const [screw = '', id = ''] = String(r.screw ?? '').split(':');
      const machine = screw === 'top' ? id : r.machine;
      return [
        ...[
          time(row),
          screw,
          name(rows, 'machine', machine),
          screw === 'bobbin' ? name(rows, 'bobbinCase', id) : undefined,
        ],
        ...[
          words(r.type),
          figure(r.minutes),
          figure(r.dialTenths, 10),
          words(r.why),
          struck.has(row.id) ? 'yes' : undefined,
        ],
        ...[by(row, rows), row.id],
      ];
    };
  },
  recipes: (rows) => {
    const uses = new Map(
      list(rows, 'recipeUse').map((u) => [shown(u, 'recipe'), shown(u, 'worked') === true ? 'yes' : 'no']),
    );
    return (row) => {
      const r = fieldsOf(row);
      return [
        ...[words(r.name), time(row), name(rows, 'machine', r.machine), name(rows, 'bobbinCase', r.bobbinCase)],
        ...[
          name(rows, 'thread', r.topThread),
          name(rows, 'thread', r.bobbinThread),
          words(r.bobbinKind),
          words(r.fill),
        ],
        ...[figure(r.dropTenthsIn, 10), figure(r.topMinutesFromFlush), figure(r.topDialTenths, 10)],
        ...[figure(r.bobbinMinutesHint), words(r.needle), words(r.batting), words(r.backing)],
        ...[
          figure(r.stitchesPerInch),
          words(r.work),
          figure(r.score),
          uses.get(row.id),
          words(r.text),
          by(row, rows),
          row.id,
        ],
      ];
    };
  },
};

function name(rows: Rows, kind: string, id: unknown): string | undefined {
  const row = typeof id === 'string' ? find(rows, kind, id) : undefined;
  if (!row) return undefined;
  const r = plain(row);
  return words(r.label) ?? words(r.name) ?? ([words(r.number), words(r.fibre)].filter(Boolean).join(' ') || undefined);
}

const by = (row: Row, rows: Rows) => name(rows, 'person', writerOf(row));

/** "2026-05-01 11:30 +02:00": the time of the place where it was written. */
function time(row: Row): string {
  const zone = figure(shown(row, 'zone')) ?? 0;
  const local = new Date(row.t + zone * 60_000).toISOString();
  const two = (n: number) => String(n).padStart(2, '0');
  const off = Math.abs(zone);
  return `${local.slice(0, 10)} ${local.slice(11, 16)} ${zone < 0 ? '-' : '+'}${two(Math.floor(off / 60))}:${two(off % 60)}`;
}
