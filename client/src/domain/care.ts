/**
 * Care of a machine and its bobbin cases: what is due by running hours, bobbins, quilts or days. The plan is common practice
 * of the trade, no published source; the manual's figures and kinds of oil come first, so every interval can be changed.
 */
import type { CareId } from './knowledge/care-ids';
import type { Ctx, Kept } from './task/context';

export type CareUnit = 'bobbins' | 'hours' | 'quilts' | 'days';
export type Every = { readonly unit: CareUnit; readonly due: number; readonly overdue?: number };
export type CareCaution =
  | 'off'
  | 'brush'
  | 'manual-oil'
  | 'release'
  | 'same-fill'
  | 'sharp'
  | 'turned'
  | 'dry-rails'
  | 'covers'
  | 'label'
  | 'warranty'
  | 'no-run'
  | 'lift'
  | 'old-oil';

export type CareItem = {
  readonly id: CareId;
  readonly of: 'machine' | 'case';
  readonly by: 'operator' | 'technician';
  readonly every: readonly Every[]; // at most two; any of them makes it due
  /** Due after this, until done: another top thread, a strike or jam, a month without a stitch. */
  readonly after?: 'top-thread' | 'struck' | 'rest';
  readonly body?: 'frame';
  /** What else says that it was done: a one-tap fact, a reading, or a step gone through. */
  readonly doneBy?: { readonly event?: string; readonly reading?: string; readonly step?: string };
  readonly cautions: readonly CareCaution[];
};

const bobbins = (due: number, overdue: number): Every => ({ unit: 'bobbins', due, overdue });
const hours = (due: number, overdue: number): Every => ({ unit: 'hours', due, overdue });

// biome-ignore format: a table
export const carePlan: readonly CareItem[] = [
  { id: 'hook', of: 'machine', by: 'operator', every: [bobbins(1, 2)], doneBy: { event: 'cleaned' }, cautions: ['off', 'brush'] },
  { id: 'oil', of: 'machine', by: 'operator', every: [bobbins(2, 3)], cautions: ['manual-oil'] },
  { id: 'card', of: 'case', by: 'operator', every: [bobbins(2, 3)], cautions: ['off'] },
  { id: 'path', of: 'machine', by: 'operator', every: [], after: 'top-thread', doneBy: { reading: 'pull' }, cautions: ['release'] },
  { id: 'day-start', of: 'machine', by: 'operator', every: [{ unit: 'days', due: 1 }], doneBy: { reading: 'drop' }, cautions: ['same-fill'] },
  { id: 'needle', of: 'machine', by: 'operator', every: [hours(8, 10), { unit: 'quilts', due: 2, overdue: 3 }], after: 'struck', doneBy: { event: 'new-needle' }, cautions: ['off', 'sharp', 'turned'] },
  { id: 'rails', of: 'machine', by: 'operator', every: [{ unit: 'quilts', due: 1, overdue: 2 }], body: 'frame', cautions: ['off', 'dry-rails'] },
  { id: 'deep', of: 'machine', by: 'operator', every: [hours(20, 25)], cautions: ['off', 'covers'] },
  { id: 'case-check', of: 'case', by: 'operator', every: [hours(40, 60)], cautions: ['label'] },
  { id: 'service', of: 'machine', by: 'technician', every: [hours(100, 200), { unit: 'days', due: 365, overdue: 400 }], cautions: ['warranty'] },
  { id: 'struck', of: 'machine', by: 'operator', every: [], after: 'struck', doneBy: { step: 'checked' }, cautions: ['no-run', 'sharp'] },
  { id: 'moved', of: 'machine', by: 'operator', every: [], cautions: ['lift'] },
  { id: 'rest', of: 'machine', by: 'operator', every: [], after: 'rest', cautions: ['old-oil', 'off'] },
  { id: 'day-end', of: 'machine', by: 'operator', every: [], cautions: ['off'] },
];

/** What the person set for one item of one machine or case: its first and its second interval, or not at all. */
export type CareChoice = { readonly every?: number; readonly also?: number; readonly off?: boolean };
/** Something that was done. `item` may be one that this version does not know. */
export type CareDone = {
  readonly item: string;
  readonly bobbinCase?: string;
  readonly who?: 'operator' | 'technician';
  readonly text?: string;
};

/** 20 to 30 running minutes a bobbin at medium speed: common practice, rough; half or double with stitch and pace. */
export const usualMinutesPerBobbin = 25;
const dayMs = 24 * 3600 * 1000;
/** A long rest: a month and over. */
const restMs = 30 * dayMs;
/** Overdue follows due at this distance where only one figure was set (our choice). */
const overdueShare = 1.25;

/**
 * Running hours between two moments. Where the machine's own counter was typed in, its figures; before, between and after
 * them, and where it went back, new bobbins at so many minutes each.
 */
export function runningHours(events: Ctx['events'], minutesPerBobbin: number, from: number, to: number): number {
  const bobbinHours = (a: number, b: number) =>
    (events.filter((e) => e.type === 'new-bobbin' && e.at > a && e.at <= b).length * minutesPerBobbin) / 60;
  const counters = events.filter((e) => e.type === 'counter' && e.hoursTenths !== undefined && e.at <= to);
  const read = (e: Ctx['events'][number]) => (e.hoursTenths ?? 0) / 10;
  const last = counters.at(-1);
  if (!last || last.at <= from) return bobbinHours(from, to);
  const first = counters.findLast((e) => e.at <= from) ?? counters[0] ?? last;
  const counted = read(last) - read(first);
  if (counted < 0) return bobbinHours(from, to);
  const before = first.at <= from ? -bobbinHours(first.at, from) : bobbinHours(from, first.at);
  return Math.max(0, counted + before) + bobbinHours(last.at, to);
}

export type CareState = {
  readonly item: CareItem;
  readonly of: string; // the machine, or the bobbin case
  readonly state: 'fine' | 'due' | 'overdue' | 'off' | 'when'; // when: only a person knows
  readonly doneAt?: number;
  readonly why?: 'top-thread' | 'struck' | 'rest'; // what made it due, where no count did
  /** Each interval with what has been used of it. */
  readonly used: readonly (Every & { readonly n: number })[];
};

export type CareInput = {
  readonly ctx: Ctx;
  readonly done: readonly Kept<CareDone>[]; // of this machine, oldest first
  /** By machine or case, by item. */
  readonly choices: { readonly [of: string]: { readonly [item: string]: CareChoice } };
};

/** How everything stands with this machine and the bobbin case that is in it, in the plan's order. */
export function careNow(input: CareInput): readonly CareState[] {
  const { ctx } = input;
  const body = ctx.machines.find((m) => m.id === ctx.machine)?.body;
  return carePlan
    .filter((item) => item.body === undefined || body === undefined || item.body === body)
    .flatMap((item) => {
      const of = item.of === 'machine' ? ctx.machine : ctx.bench.bobbinCase;
      return of === undefined ? [] : [stateOf(item, of, input)];
    });
}

const ranks = ['struck', 'overdue', 'due'] as const;

/** What is due: first what may hurt the machine or its quilt after a strike or jam, then the overdue. */
export function dueNow(states: readonly CareState[]): readonly CareState[] {
  const rank = (s: CareState) => (s.why === 'struck' && s.state !== 'off' ? s.why : s.state);
  return ranks.flatMap((r) => states.filter((s) => rank(s) === r));
}

function stateOf(item: CareItem, of: string, { ctx, done, choices }: CareInput): CareState {
  const choice = choices[of]?.[item.id];
  const isCase = item.of === 'case';
  const own = done.filter((d) => d.item === item.id && (!isCase || d.bobbinCase === of));
  const here = ctx.machines.find((m) => m.id === ctx.machine);
  const made = (isCase ? ctx.bobbinCases.find((c) => c.id === of)?.at : here?.at) ?? 0;
  const doneAt = latest([
    own.at(-1)?.at,
    ctx.events.findLast((e) => e.type === item.doneBy?.event)?.at,
    ctx.events.findLast((e) => e.step !== undefined && e.step === item.doneBy?.step)?.at,
    ctx.readings.findLast((r) => r.type === item.doneBy?.reading && !r.interrupted)?.at,
    item.id === 'needle' ? ctx.bench.needleSince : undefined,
  ]);
  const since = doneAt ?? made;
  const events = isCase ? ctx.events.filter((e) => e.type !== 'new-bobbin' || e.bobbinCase === of) : ctx.events;
  const used = everyOf(item, choice).map((every) => ({ ...every, n: usedOf(every.unit, events, ctx, since, isCase) }));
  const why = after(item, ctx, since);
  const late = used.some((u) => u.overdue !== undefined && u.n >= u.overdue);
  const due = why !== undefined || used.some((u) => u.n >= u.due);
  const state = choice?.off
    ? 'off'
    : item.every.length === 0 && item.after === undefined
      ? 'when'
      : late
        ? 'overdue'
        : due
          ? 'due'
          : 'fine';
  return { item, of, state, used, ...(doneAt === undefined ? {} : { doneAt }), ...(why ? { why } : {}) };
}

/** The plan's intervals, with those that the person set in their place. */
export function everyOf(item: CareItem, choice: CareChoice | undefined): readonly Every[] {
  return item.every.map((every, i) => {
    const due = i === 0 ? choice?.every : choice?.also;
    if (due === undefined) return every;
    const { unit, overdue } = every;
    return { unit, due, ...(overdue === undefined ? {} : { overdue: Math.max(due + 1, due * overdueShare) }) };
  });
}

function usedOf(unit: CareUnit, events: Ctx['events'], ctx: Ctx, since: number, isCase: boolean): number {
  switch (unit) {
    case 'bobbins':
      return events.filter((e) => e.type === 'new-bobbin' && e.at > since).length;
    case 'hours': {
      const minutes = ctx.machines.find((m) => m.id === ctx.machine)?.minutesPerBobbin ?? usualMinutesPerBobbin;
      // A counter runs for all the cases of a machine: a case's hours are its own bobbins.
      return runningHours(isCase ? events.filter((e) => e.type !== 'counter') : events, minutes, since, ctx.now);
    }
    case 'quilts':
      return ctx.quilts.filter((q) => q.at > since && sewnOn(ctx, q)).length;
    case 'days':
      return dayOf(ctx.now, ctx.zone) - dayOf(since, ctx.zone);
  }
}

/**
 * A quilt that is only set up has worn nothing (our choice): it counts from its first bobbin, its first lines or the first time it
 * was marked good. What names no quilt is of the one that was set up last before it.
 */
function sewnOn(ctx: Ctx, quilt: Ctx['quilts'][number]): boolean {
  const next = Math.min(...ctx.quilts.filter((q) => q.at > quilt.at).map((q) => q.at));
  const its = (x: { readonly at: number; readonly quilt?: string; readonly balancing?: string }) => {
    const named = x.quilt ?? ctx.balancings.find((b) => b.id === x.balancing)?.quilt;
    return named === undefined ? x.at >= quilt.at && x.at < next : named === quilt.id;
  };
  return ctx.events.some((e) => (e.type === 'new-bobbin' || e.type === 'good') && its(e)) || ctx.samples.some(its);
}

/** Days by the phone's calendar now. */
const dayOf = (ms: number, zone: number) => Math.floor((ms + zone * 60_000) / dayMs);

function after(item: CareItem, ctx: Ctx, since: number): CareState['why'] {
  switch (item.after) {
    case 'top-thread':
      return (ctx.benchAt?.topThread ?? 0) > since || ctx.events.some((e) => e.type === 'new-cone' && e.at > since)
        ? 'top-thread'
        : undefined;
    case 'struck':
      return ctx.events.some((e) => (e.type === 'struck' || e.type === 'jam') && e.at > since) ? 'struck' : undefined;
    case 'rest': {
      const stitched = ctx.events.findLast((e) => e.type !== 'handed-over' && e.type !== 'taken'); // words only
      const last = latest([stitched?.at, ctx.readings.at(-1)?.at, ctx.samples.at(-1)?.at, since]);
      return last !== undefined && ctx.now - last >= restMs ? 'rest' : undefined;
    }
    default:
      return undefined;
  }
}

const latest = (times: readonly (number | undefined)[]): number | undefined => {
  const known = times.filter((t) => t !== undefined);
  return known.length === 0 ? undefined : Math.max(...known);
};

/** The hours of the needle that is in, since the day it went in. */
export function needleHours(ctx: Ctx): { readonly since: number; readonly hours: number } | undefined {
  const since = latest([ctx.bench.needleSince, ctx.events.findLast((e) => e.type === 'new-needle')?.at]);
  if (since === undefined) return undefined;
  const minutes = ctx.machines.find((m) => m.id === ctx.machine)?.minutesPerBobbin ?? usualMinutesPerBobbin;
  return { since, hours: runningHours(ctx.events, minutes, since, ctx.now) };
}
