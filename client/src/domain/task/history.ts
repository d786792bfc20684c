/** What the two plots show: the drops of a bobbin case over time, and the rounds of a balancing by where the knob stood. */
import { ledger } from '../change';
import type { Ctx, Fill } from './context';
import { type Band, bandOf } from './drop-verdict';
import { topPast } from './knob-past';
import { bobbinScrew } from './ledger';
import { factsOf } from './next-facts';

/** What happened to a bobbin case, oldest first. Lengths are tenths of an inch; of a test the middle one and its ends. */
export type Past =
  | {
      readonly was: 'drops';
      readonly at: number;
      readonly low: number;
      readonly middle: number;
      readonly high: number;
      readonly fill?: Fill;
    }
  | { readonly was: 'turned'; readonly at: number; readonly minutes: number }
  | { readonly was: 'new-count'; readonly at: number } // neutral, or a count that was lost
  | { readonly was: 'good'; readonly at: number };

/** As many things as a phone has room for side by side (our choice). */
const most = 12;

/** Undefined with fewer than two drops whose length was told: one alone is no course. */
export function dropCourse(
  ctx: Ctx,
  bobbinCase: string,
): { readonly past: readonly Past[]; readonly band: Band } | undefined {
  const drops = ctx.readings.flatMap((r): readonly Past[] => {
    if (r.type !== 'drop' || r.bobbinCase !== bobbinCase || r.interrupted) return [];
    const told = (r.drops ?? [])
      .flatMap((d) => (d.out || d.hidden || d.tenthsIn === undefined ? [] : [d.tenthsIn]))
      .sort((a, b) => a - b);
    const [low, middle, high] = [told[0], told[Math.floor(told.length / 2)], told.at(-1)];
    if (low === undefined || middle === undefined || high === undefined) return [];
    return [{ was: 'drops', at: r.at, low, middle, high, ...(r.fill ? { fill: r.fill } : {}) }];
  });
  if (drops.length < 2) return undefined;
  const turns = ledger(ctx.changes, bobbinScrew(bobbinCase)).lines.flatMap(({ record, struck, joinedTo }): Past[] => {
    const { at, type, minutes } = record;
    if (struck || joinedTo !== undefined) return [];
    if (type === 'neutral' || type === 'lost') return [{ was: 'new-count', at }];
    return minutes === undefined ? [] : [{ was: 'turned', at, minutes }];
  });
  const goods = ctx.events.flatMap((e): Past[] =>
    e.type === 'good' && e.bobbinCase === bobbinCase ? [{ was: 'good', at: e.at }] : [],
  );
  const past = [...drops, ...turns, ...goods].sort((a, b) => a.at - b.at).slice(-most);
  return { past, band: bandOf(ctx, bobbinCase, ctx.bench.bobbinThread) };
}

/** A round of a balancing: where the top knob stood, in clock-minutes from the first round (+ is tighter), and its mean score. */
export type RoundAt = { readonly place: number; readonly score: number };
export type RoundCourse = {
  readonly rounds: readonly RoundAt[];
  readonly here: number;
  /** Sides seen to be bad: bobbin colour on top from here on tighter, top colour on the back from here on looser. */
  readonly tooTight?: number;
  readonly tooLoose?: number;
  /** The rounds contradict one another: no side is known. */
  readonly disagree: boolean;
};

/** A mean score from here on names a side: half of the mildest word that a line can be given. */
const plain = 0.5;

/** The rounds that the next turn is reckoned from; undefined for a knob with numbers, and before anything was sewn. */
export function roundCourse(
  ctx: Ctx,
  place: { readonly balancing: string; readonly round: number },
): RoundCourse | undefined {
  const past = topPast(factsOf(ctx, place, []));
  const first = past?.rounds[0];
  if (!past || !first) return undefined;
  const rounds = past.rounds.map((r) => ({
    place: r.place - first.place,
    score: r.scores.reduce((sum, s) => sum + s, 0) / r.scores.length,
  }));
  const tight = Math.min(...rounds.flatMap((r) => (r.score <= -plain ? [r.place] : [])));
  const loose = Math.max(...rounds.flatMap((r) => (r.score >= plain ? [r.place] : [])));
  const disagree = loose >= tight;
  return {
    rounds,
    here: past.here - first.place,
    ...(Number.isFinite(tight) && !disagree ? { tooTight: tight } : {}),
    ...(Number.isFinite(loose) && !disagree ? { tooLoose: loose } : {}),
    disagree,
  };
}
