/** What a balancing knows, worked out once for the rules of the next step. */

import { ledger } from '../change';
import { tooAlike } from '../colour';
import type { Work } from '../tolerance';
import type { Ctx, Kept, Sample } from './context';
import { type DropState, dropState } from './drop-verdict';
import { bobbinScrew, topScrew } from './ledger';

export type Facts = {
  readonly ctx: Ctx;
  readonly round: number;
  readonly startedAt: number;
  readonly state: (finding: string) => string | undefined; // the last word on a finding in this balancing
  readonly seen: (finding: string) => string | undefined; // and in this round: what was seen before may be gone
  readonly stands: (finding: string) => string | undefined; // the same, of a pull only while its screw stands as it did
  readonly toldAt: (finding: string) => number; // when it was last told, or 0
  readonly done: (action: string) => boolean;
  readonly doneAt: (action: string) => number; // when it was last done, or 0
  readonly skipped: (what: string) => boolean;
  readonly samples: readonly Kept<Sample>[]; // oldest first
  readonly now: readonly Kept<Sample>[]; // of this round
  readonly topMoves: readonly number[]; // + is tighter; clock-minutes, or tenths of a dial
  readonly bobbinMoves: readonly number[];
  readonly bobbinMovedAt: number; // when the case screw last moved; a drop test from before says nothing any more
  readonly drops: readonly DropTold[]; // tests of this balancing, oldest first
  /** The one screw turned since all was last good and before this balancing. */
  readonly changed?: 'top' | 'bobbin';
  readonly work?: Work;
  readonly matched: boolean; // the two threads look alike
  readonly midQuilt: boolean; // this quilt was good before
};
export type DropTold = {
  readonly at: number;
  readonly state: DropState | undefined;
  readonly bobbinCase?: string;
  readonly far: boolean; // each ran down by itself, or none moved
};

export function factsOf(
  ctx: Ctx,
  place: { readonly balancing: string; readonly round: number },
  skipped: readonly string[],
): Facts {
  const own = <T extends { readonly balancing?: string }>(rows: readonly T[]) =>
    rows.filter((r) => r.balancing === place.balancing);
  const [samples, findings, events] = [own(ctx.samples), own(ctx.findings), own(ctx.events)];
  const startedAt = ctx.balancings.find((b) => b.id === place.balancing)?.at ?? ctx.now;
  const top = moves(ctx, topScrew(ctx.machine));
  const bobbin = ctx.bench.bobbinCase === undefined ? [] : moves(ctx, bobbinScrew(ctx.bench.bobbinCase));
  const minutes = (all: readonly Move[]) => all.filter((m) => m.balancing === place.balancing).map((m) => m.minutes);
  const doneAt = (action: string) =>
    Math.max(
      0,
      ...events
        .filter((e) => e.step === action || (action === 'new_needle' && e.type === 'new-needle'))
        .map((e) => e.at),
    );
  const colour = (id: string | undefined) => ctx.threads.find((t) => t.id === id)?.colour;
  const [one, other] = [colour(ctx.bench.topThread), colour(ctx.bench.bobbinThread)];
  const { quilt } = ctx.bench;
  // What a pull was says nothing any more once its own screw has moved.
  const [topMovedAt, bobbinMovedAt] = [top.at(-1)?.at ?? -1, bobbin.at(-1)?.at ?? -1];
  const movedAt: { readonly [finding: string]: number } = {
    ...{ pull_top: Math.max(topMovedAt, neutralAt(ctx)) },
    ...{ drop_test: bobbinMovedAt, finger_pad: bobbinMovedAt, gauge_bobbin: bobbinMovedAt },
  };
  return {
    ctx,
    round: place.round,
    startedAt,
    state: (finding) => findings.findLast((x) => x.finding === finding)?.state,
    stands: (finding) => {
      const last = findings.findLast((x) => x.finding === finding);
      return last && last.at > (movedAt[finding] ?? -1) ? last.state : undefined;
    },
    toldAt: (finding) => findings.findLast((x) => x.finding === finding)?.at ?? 0,
    seen: (finding) => findings.findLast((x) => x.finding === finding && x.round === place.round)?.state,
    done: (action) => events.some((e) => e.step === action || (action === 'new_needle' && e.type === 'new-needle')),
    doneAt,
    skipped: (what) => skipped.includes(what),
    samples,
    now: samples.filter((x) => x.round === place.round),
    topMoves: minutes(top),
    bobbinMoves: minutes(bobbin),
    bobbinMovedAt: bobbin.at(-1)?.at ?? 0,
    drops: ctx.readings
      .filter((r) => (r.type === 'drop' || r.type === 'finger') && r.balancing !== undefined && r.at >= startedAt)
      .map((r) => ({
        at: r.at,
        state: dropState(ctx, r),
        bobbinCase: r.bobbinCase,
        far: (r.drops ?? []).every((d) => d.answer === 'falls' || d.answer === 'nothing'),
      })),
    changed: changedBefore(ctx, startedAt, top, bobbin),
    work: ctx.quilts.find((q) => q.id === quilt)?.work,
    matched: one !== undefined && other !== undefined && tooAlike(one, other),
    midQuilt:
      quilt !== undefined &&
      ctx.balancings.some((b) => b.id !== place.balancing && b.quilt === quilt && b.ended === 'good-enough'),
  };
}

const neutralAt = (ctx: Ctx) =>
  ctx.changes.findLast((c) => c.screw === topScrew(ctx.machine) && c.type === 'neutral')?.at ?? -1;

export type Move = { readonly at: number; readonly minutes: number; readonly balancing?: string };

/** The moves of a screw that count, oldest first. Of a dial, the steps between its numbers, a higher one being tighter on nearly all. */
export function moves(ctx: Ctx, screw: string): readonly Move[] {
  const told = ledger(ctx.changes, screw).lines.filter((l) => !l.struck && l.joinedTo === undefined);
  const numbers = told.flatMap(({ record: r }) => (r.dialTenths === undefined ? [] : [{ ...r, tenths: r.dialTenths }]));
  const steps = numbers.map((r, i) => ({ ...r, minutes: r.tenths - (numbers[i - 1]?.tenths ?? r.tenths) }));
  const turned = told.flatMap(({ record: r }) => (r.minutes === undefined ? [] : [{ ...r, minutes: r.minutes }]));
  return [...turned, ...steps.filter((r) => r.minutes !== 0)].sort((a, b) => a.at - b.at);
}

function changedBefore(
  ctx: Ctx,
  startedAt: number,
  top: readonly Move[],
  bobbin: readonly Move[],
): 'top' | 'bobbin' | undefined {
  const good = ctx.events.findLast((e) => e.type === 'good' && e.at < startedAt)?.at;
  if (good === undefined) return undefined;
  const moved = (all: readonly Move[]) => all.some((m) => m.at > good && m.at < startedAt);
  return moved(top) === moved(bobbin) ? undefined : moved(top) ? 'top' : 'bobbin';
}

/** Score of a round: −2 … +2, the worst ray with the sign of the sum; 0 where the rays pull both ways alike. */
export function scoreOf(samples: readonly Kept<Sample>[]): number {
  const rays = samples.flatMap((x) => x.rays);
  const sum = rays.reduce((n, r) => n + r.score, 0);
  return Math.sign(sum) * Math.max(0, ...rays.map((r) => Math.abs(r.score)));
}

/** The score of this round, by the lines or, where none were sewn, by what was named. */
export function scoreNow(f: Facts): number {
  if (f.now.length > 0) return scoreOf(f.now);
  const strength = (finding: string) => ({ none: 0, dots: 1 })[f.seen(finding) ?? 'none'] ?? 2;
  return strength('top_on_back') - strength('bobbin_on_top');
}

export const marked = (f: Facts, mark: string) => f.now.some((x) => x.rays.some((r) => r.marks?.includes(mark)));
export const untold = (f: Facts) => f.now.every((x) => x.rays.every((r) => r.marks?.includes('cant-tell')));

/** Scores of the rounds so far, oldest first. */
export function rounds(f: Facts): readonly number[] {
  return [...new Set(f.samples.map((x) => x.round ?? 0))].map((r) =>
    scoreOf(f.samples.filter((x) => (x.round ?? 0) === r)),
  );
}
