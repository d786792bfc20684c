/** Rows of the store as the values that screens and tasks read. Pure. */
import type { CareDone, CareInput } from './domain/care';
import type { Station, Visit } from './domain/class-board';
import type { Recipe } from './domain/recipe';
import { usable } from './domain/records';
import type { Ctx, Gaps, Kept } from './domain/task/context';
import { bobbinScrew, topScrew } from './domain/task/ledger';
import type { Draft, Row } from './store/store';
import { hidden } from './sync/merge';
import type { Json } from './sync/ops';

export type { Draft, Row } from './store/store';
export { type Json, limits, measure, newId } from './sync/ops';

/** The kind of a draft that is typed into a form and is no record yet: kept until the form is used. */
export const formKind = 'form';

/** Texts that are kept as they are typed and become no record: of the form for a code, and of what no server took. */
export const joinText = {
  code: { kind: formKind, id: 'join', field: 'code' },
  name: { kind: formKind, id: 'join', field: 'name' },
} as const;
export const needText = (key: number) => ({ kind: formKind, id: `need-${key}`, field: 'text' }) as const;

export type Rows = ReadonlyMap<string, ReadonlyMap<string, Row>>;
export type Plain = { readonly [field: string]: Json };

/** The value shown first in a field, if there is one. */
export function shown(row: Row | undefined, field: string): Json | undefined {
  return row?.fields[field]?.live.find((v) => v.value !== undefined)?.value as Json | undefined;
}

/** Every field's first value. */
export function plain(row: Row): Plain {
  const out: { [field: string]: Json } = {};
  for (const field of Object.keys(row.fields)) {
    const value = shown(row, field);
    if (value !== undefined) out[field] = value;
  }
  return out;
}

/** One of several values that stand side by side in a field, with every dot that holds it. */
export type Version = {
  readonly value: Json;
  readonly dots: readonly string[];
  readonly by: string;
  readonly at: number;
};

/**
 * The different values of a field, newest first. The same value twice is one: an answer that was lost just before the
 * phone turned to another server leaves one write under two names.
 */
export function versions(row: Row, field: string): Version[] {
  const found = new Map<string, Version>();
  for (const { value, dot, by, at } of row.fields[field]?.live ?? []) {
    if (value === undefined) continue;
    const spelled = JSON.stringify(value);
    const same = found.get(spelled) ?? { value, dots: [], by, at: at[0] };
    found.set(spelled, { ...same, dots: [...same.dots, dot] });
  }
  return [...found.values()];
}

/** Fields that hold different values: written on two phones, for a person to pick or join. */
export function bothKept(row: Row): string[] {
  return Object.keys(row.fields).filter((f) => f !== 'removed' && versions(row, f).length > 1);
}

/** Who wrote it first. */
export function writerOf(row: Row): string {
  const all = Object.values(row.fields).flatMap((f) => f.live);
  return all.reduce<(typeof all)[number] | undefined>((a, b) => (a && a.at[0] <= b.at[0] ? a : b), undefined)?.by ?? '';
}

/** What is worked out of a row is worked out once: rows never change, others take their place. */
function once<K extends object, V>(work: (of: K) => V): (of: K) => V {
  const done = new WeakMap<K, { readonly value: V }>();
  return (of) => {
    const before = done.get(of);
    if (before) return before.value;
    const value = work(of);
    done.set(of, { value });
    return value;
  };
}

export const isHidden = once((row: Row): boolean => hidden({ kind: row.kind, id: row.id, fields: row.fields }));

/** What hides a record: it names every value that is seen now, so that a later one brings the record back. */
export function removal(row: Row): Draft {
  const others = Object.entries(row.fields).filter(([field]) => field !== 'removed');
  const seen = others.flatMap(([, f]) => f.live.map((v) => v.dot));
  return { kind: row.kind, id: row.id, set: { removed: { seen } } };
}

/** Brings it back: a value written anew in place of itself, so that nothing is decided between two. */
export function bringBack(row: Row): Draft {
  const fields = Object.keys(row.fields).filter((f) => f !== 'removed' && f !== 'zone'); // zone tells when it was made
  const field = fields.find((f) => shown(row, f) !== undefined) ?? 'zone';
  const over = row.fields[field]?.live.find((v) => v.value !== undefined)?.dot;
  return {
    kind: row.kind,
    id: row.id,
    set: { [field]: shown(row, field) ?? 0 },
    over: { [field]: over ? [over] : [] },
  };
}

/** What takes a write back, a moment after it: a record that it made is removed, a field has the value it had, or none. */
export function backTo(before: Rows, now: Rows, { kind, id, set }: Draft): Draft[] {
  const made = find(now, kind, id);
  const was = find(before, kind, id);
  if (!was) return made ? [removal(made)] : [];
  return [{ kind, id, set: Object.fromEntries(Object.keys(set).map((f) => [f, shown(was, f) ?? null])) }];
}

const oldestFirst = once((kind: ReadonlyMap<string, Row>): readonly Row[] =>
  [...kind.values()].filter((r) => !isHidden(r)).sort((a, b) => a.t - b.t || (a.id < b.id ? -1 : 1)),
);

/** Things written since the last copy, or days since it, after which a phone that shares with nobody says so (our choice). */
const copyAfterThings = 20;
const copyAfterMs = 14 * 24 * 3600 * 1000;

/** Whether it is time for a copy. Where none was saved yet, days count from the first machine. */
export function copyDue(
  s: {
    readonly copies: number;
    readonly copiedAt: number;
    readonly joined: boolean;
    readonly machines: readonly { at: number }[];
  },
  now: number,
): boolean {
  if (s.joined || s.copies === 0) return false;
  const since = s.copiedAt || Math.min(...s.machines.map((m) => m.at), now);
  return s.copies >= copyAfterThings || now - since > copyAfterMs;
}

/** "Not now" to the home screen holds this long (30 days: our choice). */
const homeAfterMs = 30 * 24 * 3600 * 1000;

/** Things written before the home screen is spoken of: more than a name (our choice). */
const homeAfterThings = 5;

/** Whether to say why the home screen is a better place: once there is something to keep, where there is a way to it. */
export const homeDue = (
  s: { readonly copies: number; readonly way: unknown; readonly installed: boolean; readonly notNowAt: number },
  now: number,
): boolean => s.way !== undefined && !s.installed && s.copies >= homeAfterThings && now - s.notNowAt > homeAfterMs;

/** The rows of a kind that are not removed, oldest first. */
export function list(rows: Rows, kind: string): Row[] {
  const all = rows.get(kind);
  return all ? [...oldestFirst(all)] : [];
}

export const find = (rows: Rows, kind: string, id: string): Row | undefined => rows.get(kind)?.get(id);

/** A row as tasks read it; undefined where it says nothing. What can't be used is shown, but nothing is worked out from it. */
const keptOf = once((row: Row): unknown => {
  const { fields, whole } = usable(row.kind, plain(row));
  return whole ? { ...fields, id: row.id, at: row.t, by: writerOf(row) } : undefined;
});

/** Of one kind, by whose they are. */
const keptLists = once((_kind: ReadonlyMap<string, Row>) => new Map<string, readonly unknown[]>());

/** The rows of a kind that `keep` keeps, as tasks read them. `whose` says in a word what `keep` goes by. */
function kept<T>(rows: Rows, kind: string, whose = '', keep: (row: Row) => boolean = () => true): readonly Kept<T>[] {
  const all = rows.get(kind);
  if (!all) return [];
  const lists = keptLists(all);
  const before = lists.get(whose);
  if (before) return before as readonly Kept<T>[];
  const now = oldestFirst(all)
    .filter(keep)
    .map(keptOf)
    .filter((k) => k !== undefined);
  lists.set(whose, now);
  return now as readonly unknown[] as readonly Kept<T>[];
}

/** What tasks are told about one machine. */
export function contextFor(
  rows: Rows,
  machine: string,
  more: {
    now: number;
    zone: number;
    ids: readonly string[];
    acknowledged: readonly string[];
    units?: Ctx['units'];
    gauge: boolean;
    gaps: Gaps;
  },
): Ctx {
  const here = (row: Row) => shown(row, 'machine') === machine;
  const bobbinCases = kept<Ctx['bobbinCases'][number]>(rows, 'bobbinCase');
  const screws = new Set([topScrew(machine), ...bobbinCases.map((c) => bobbinScrew(c.id))]);
  const cases = new Set(bobbinCases.map((c) => c.id));
  const mine = [machine, ...cases].join();
  const bench = find(rows, 'bench', machine);
  return {
    ...more,
    machine,
    machines: kept(rows, 'machine'),
    bench: bench && !isHidden(bench) ? (usable('bench', plain(bench)).fields as Ctx['bench']) : {},
    benchAt: Object.fromEntries(Object.entries(bench?.fields ?? {}).map(([f, v]) => [f, v.live[0]?.at[0] ?? 0])),
    bobbinCases,
    threads: kept(rows, 'thread'),
    quilts: kept(rows, 'quilt', mine, here),
    balancings: kept(rows, 'balancing', mine, here),
    changes: kept(rows, 'change', mine, (r) => screws.has(String(shown(r, 'screw')))),
    readings: kept(rows, 'reading', mine, (r) => here(r) || cases.has(String(shown(r, 'bobbinCase')))),
    findings: kept(rows, 'finding', mine, here),
    samples: kept(rows, 'sample', mine, here),
    events: kept(rows, 'event', mine, here),
  };
}

/** What the care of a machine is worked out from: its own log and that of every bobbin case, and the intervals that were set. */
export function careInput(rows: Rows, ctx: Ctx): CareInput {
  const ours = (row: Row) => shown(row, 'bobbinCase') !== undefined || shown(row, 'machine') === ctx.machine;
  const plans = list(rows, 'carePlan').map((row) => [row.id, usable('carePlan', plain(row)).fields]);
  return { ctx, done: kept<CareDone>(rows, 'careDone', ctx.machine, ours), choices: Object.fromEntries(plans) };
}

/** Every recipe that is read, and whether it worked the last time. */
export function recipesOf(rows: Rows): { recipes: readonly Recipe[]; worked: ReadonlyMap<string, boolean> } {
  const uses = kept<{ recipe: string; worked: boolean }>(rows, 'recipeUse');
  return { recipes: kept<Recipe>(rows, 'recipe'), worked: new Map(uses.map((u) => [u.recipe, u.worked])) };
}

/** The stations of a class and what was seen at them. */
export function classOf(rows: Rows, id: string): { stations: readonly Station[]; visits: readonly Visit[] } {
  const its = (row: Row) => shown(row, 'class') === id;
  return { stations: kept<Station>(rows, 'station', id, its), visits: kept<Visit>(rows, 'visit', id, its) };
}

/** Quilts and one-tap facts of every machine, as far as they are read. */
export function quiltsOf(rows: Rows): { quilts: Ctx['quilts']; events: Ctx['events'] } {
  return { quilts: kept(rows, 'quilt'), events: kept(rows, 'event') };
}

/** Rows with others put in their place. Kinds that did not change keep their map. */
export function withRows(rows: Rows, more: readonly Row[]): Rows {
  if (more.length === 0) return rows;
  const next = new Map(rows);
  const fresh = new Set<string>();
  for (const row of more) {
    if (!fresh.has(row.kind)) {
      next.set(row.kind, new Map(next.get(row.kind)));
      fresh.add(row.kind);
    }
    (next.get(row.kind) as Map<string, Row>).set(row.id, row);
  }
  return next;
}
