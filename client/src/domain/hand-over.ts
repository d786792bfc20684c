/**
 * One machine handed from one person to another: a verdict by whoever gives it, and what whoever takes it must know. What
 * goes on the page is common practice between operators, no published source.
 */
import { ledger } from './change';
import { type Since, sinceThen } from './since-good';
import type { Change, Ctx, Event, Finding, Kept, Quilt, Sample } from './task/context';
import { bobbinScrew, topScrew } from './task/ledger';
import type { Draft } from './task/task';
import { standing } from './task/way-in';

export const verdicts = ['good', 'watch', 'stop'] as const;
export type Verdict = (typeof verdicts)[number];

export type Said = {
  readonly verdict: Verdict;
  readonly at: number;
  readonly by: string;
  readonly reason?: string;
  readonly given?: string; // the hand-over that said it; without one the machine is marked
};

/** Something that was done or looked at, to see what the trouble is. */
export type Tried =
  | { readonly of: 'change'; readonly record: Kept<Change> }
  | { readonly of: 'look'; readonly record: Kept<Finding> }
  | { readonly of: 'act'; readonly record: Kept<Event>; readonly act: string };

export type HandOver = {
  readonly said?: Said;
  readonly taken?: { readonly at: number; readonly by: string };
  readonly since?: Since; // what was written after it was said
  readonly quilt?: Kept<Quilt>;
  readonly row?: string;
  readonly tight?: { readonly state: string; readonly at: number };
  readonly good?: Kept<Event>;
  readonly sample?: Kept<Sample>;
  readonly open?: { readonly at: number; readonly by: string; readonly round: number }; // a balancing without an end
  readonly tried: readonly Tried[]; // oldest first
  readonly happened: readonly Kept<Event>[]; // what may have hurt something, oldest first
};

const dayMs = 24 * 3600 * 1000;
/** What was tried is of use while it was about this trouble: since it was last good, and never longer than this (our choice). */
const longestMs = 30 * dayMs;
/** What may have hurt the machine stays of use to a technician (our choice). */
const hurtMs = 365 * dayMs;
const hurts: readonly string[] = [
  ...['struck', 'jam', 'knock', 'heat', 'runs-by-itself', 'dropped', 'do-not-run', 'lifted'],
];

/** One-tap facts that are acts. */
const acts: readonly string[] = ['new-needle', 'new-cone', 'cleaned'];

export function handOver(ctx: Ctx): HandOver {
  const said = saidOf(ctx);
  const given = ctx.events.findLast((e) => e.type === 'handed-over');
  const taken = said?.given ? ctx.events.findLast((e) => e.type === 'taken' && e.of === said.given) : undefined;
  const good = ctx.events.findLast((e) => e.type === 'good');
  const quilt = ctx.quilts.find((q) => q.id === ctx.bench.quilt);
  const sample = ctx.samples.at(-1);
  const pushed = ctx.findings.findLast((f) => f.finding === 'push_up');
  const told = given?.tight && given.at >= (pushed?.at ?? 0) ? { state: given.tight, at: given.at } : undefined;
  const tight = told ?? (pushed && { state: pushed.state, at: pushed.at });
  const open = ctx.balancings.findLast((b) => b.ended === undefined);
  const round = Math.max(
    1,
    ...[...ctx.samples, ...ctx.findings].map((r) => (r.balancing === open?.id ? (r.round ?? 1) : 1)),
  );
  return {
    ...(said ? { said } : {}),
    ...(taken ? { taken: { at: taken.at, by: taken.by } } : {}),
    ...(said?.given ? { since: sinceThen(ctx, said.at) } : {}),
    ...(quilt ? { quilt } : {}),
    ...(given?.row && given.quilt === quilt?.id ? { row: given.row } : {}),
    ...(tight ? { tight } : {}),
    ...(good ? { good } : {}),
    ...(sample ? { sample } : {}),
    ...(open ? { open: { at: open.at, by: open.by, round } } : {}),
    tried: triedSince(ctx, Math.max(good?.at ?? 0, ctx.now - longestMs)),
    happened: ctx.events.filter((e) => hurts.includes(e.type) && e.at > ctx.now - hurtMs),
  };
}

/** A mark "do not run" stands above whatever a hand-over said, until it is lifted. */
function saidOf(ctx: Ctx): Said | undefined {
  const stops = standing(ctx);
  const stop = ctx.events.findLast((e) => stops.includes(e.id));
  const given = ctx.events.findLast((e) => e.type === 'handed-over');
  const mark = stop && {
    verdict: 'stop' as const,
    at: stop.at,
    by: stop.by,
    ...(stop.reason ? { reason: stop.reason } : {}),
  };
  if (mark && given?.verdict !== 'stop') return mark;
  if (!given?.verdict) return undefined;
  if (given.verdict === 'stop' && !mark) return undefined; // lifted since: whoever lifted it says anew how it is
  const { verdict, at, by, reason } = given;
  return { verdict, at, by, given: given.id, ...(reason ? { reason } : {}) };
}

/** Turns that count, looks and acts after a moment, oldest first. */
function triedSince(ctx: Ctx, then: number): readonly Tried[] {
  const screws = [topScrew(ctx.machine), ...(ctx.bench.bobbinCase ? [bobbinScrew(ctx.bench.bobbinCase)] : [])];
  const all: readonly Tried[] = [
    ...screws.flatMap((screw) =>
      ledger(ctx.changes, screw)
        .lines.filter((l) => !l.struck && l.joinedTo === undefined)
        .flatMap(({ record }) =>
          ctx.changes.filter((c) => c.id === record.id && ['move', 'back', 'dial', 'neutral', 'lost'].includes(c.type)),
        )
        .map((record) => ({ of: 'change' as const, record })),
    ),
    ...ctx.findings.map((record) => ({ of: 'look' as const, record })),
    ...ctx.events.flatMap((record) => {
      const act = record.type === 'step' ? record.step : acts.includes(record.type) ? record.type : undefined;
      return act === undefined || act.includes(' ') ? [] : [{ of: 'act' as const, record, act }]; // cautions have two words
    }),
  ];
  return all.filter((t) => t.record.at > then).sort((a, b) => a.record.at - b.record.at);
}

/** Why a hand-over is not written: words are missing that the taker needs, or "do not run" must be lifted first. */
export type GiveFault = 'reason' | 'stands' | 'too-long';

export type Given = {
  readonly verdict: Verdict;
  readonly reason: string;
  readonly row: string;
  readonly tight: string;
};

/** As many as a record takes: the row is a short word, the reason a few sentences. */
export const giveLimits = { row: 40, reason: 1_000 } as const;

export function giveFault(given: Given, ctx: Ctx): GiveFault | undefined {
  if (given.verdict !== 'stop' && standing(ctx).length > 0) return 'stands';
  if (given.row.length > giveLimits.row || given.reason.length > giveLimits.reason) return 'too-long';
  return given.verdict !== 'good' && given.reason.trim() === '' ? 'reason' : undefined;
}

/** The records of a hand-over. "Do not run" marks the machine as well, so that it stands on every phone. `ids`: two fresh ones. */
export function give(given: Given, ctx: Ctx, ids: readonly [string, string]): readonly Draft[] {
  const { verdict, row, tight } = given;
  const reason = given.reason.trim();
  const common = { machine: ctx.machine, zone: ctx.zone, ...(reason ? { reason } : {}) };
  const set = {
    ...common,
    type: 'handed-over',
    verdict,
    ...(row.trim() ? { row: row.trim() } : {}),
    ...(tight ? { tight } : {}),
    ...(ctx.bench.quilt ? { quilt: ctx.bench.quilt } : {}),
  };
  const marks = verdict === 'stop' && standing(ctx).length === 0;
  return [
    ...(marks ? [{ kind: 'event', id: ids[1], set: { ...common, type: 'do-not-run' } }] : []),
    { kind: 'event', id: ids[0], set },
  ];
}

/** "I have it." */
export const take = (given: string, ctx: Ctx, id: string): readonly Draft[] => [
  { kind: 'event', id, set: { machine: ctx.machine, zone: ctx.zone, type: 'taken', of: given } },
];
