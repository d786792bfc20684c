/**
 * Where to start with a new mix of materials: this studio's own recipes, the nearest first, with what differs and the turns
 * to make from now; without history the trade's table. A start, not a setting. Weights and bounds are our choice.
 */
import { type Pair, pairs } from './knowledge/pairs';
import { needleSize } from './needle';
import type { Ctx } from './task/context';
import { bobbinScrew, topScrew } from './task/ledger';
import { position } from './task/screws';
import { type Sized, stepsFiner, texOf, toTex } from './thread';

/** A setting that worked, as far as it was written down; threads by id. */
export type Recipe = {
  readonly id: string;
  readonly at: number; // ms UTC
  readonly name?: string;
  readonly machine?: string;
  readonly bobbinCase?: string;
  readonly topThread?: string;
  readonly bobbinThread?: string;
  readonly batting?: string;
  readonly needle?: string;
  readonly dropTenthsIn?: number;
  readonly topMinutesFromFlush?: number;
  readonly topDialTenths?: number;
  readonly bobbinMinutesHint?: number;
};

/** What is about to be sewn. */
export type Mix = Omit<Recipe, 'id' | 'at' | 'name'>;

/** What a recipe has in common with the mix, seen from the recipe's side to the mix: "bobbin one step finer". */
export type Difference =
  | { readonly part: 'machine' | 'bobbinCase' | 'batting'; readonly how: 'same' | 'other' | 'not-said' }
  | { readonly part: 'needle'; readonly how: 'same' | 'other' | 'bigger' | 'smaller' | 'not-said' }
  | {
      readonly part: 'topThread' | 'bobbinThread';
      /** 'alike': same size and fibre, another cone or colour. 'other': a size is not known. */
      readonly how: 'same' | 'alike' | 'steps' | 'other' | 'not-said';
      readonly finer?: number; // steps that the mix's thread is finer, minus for thicker
      readonly otherFibre?: boolean;
    };

export type Near = {
  readonly recipe: Recipe;
  readonly distance: number;
  readonly failed: boolean; // it did not work the last time
  readonly differences: readonly Difference[];
};

/** Farther than this a recipe says nothing of the mix: two steps on both threads and another batting still do. */
const farthest = 6;
/** A step between two sizes on sale is about a quarter in mass: 50 to 40. */
const stepShare = Math.log(50 / 40);
const costs = {
  otherFibre: 1,
  unknown: 2,
  otherCone: 0.25,
  batting: 1,
  needlePerSize: 0.5,
  otherNeedle: 0.5,
  notSaid: 0.25,
  otherPoint: 0.25,
} as const;

/**
 * The studio's recipes near to a mix: same machine and same bobbin case first, those that failed the last time last, then
 * by distance, then the newest. `worked` has the last word on each recipe.
 */
export function nearest(
  mix: Mix,
  recipes: readonly Recipe[],
  threads: ReadonlyMap<string, Sized>,
  worked: ReadonlyMap<string, boolean>,
): readonly Near[] {
  const rank = (n: Near) => [
    n.recipe.machine === mix.machine ? 0 : 1,
    n.recipe.machine === mix.machine && n.recipe.bobbinCase !== undefined && n.recipe.bobbinCase === mix.bobbinCase
      ? 0
      : 1,
    n.failed ? 1 : 0,
    n.distance,
    -n.recipe.at,
  ];
  return recipes
    .map((recipe) => near(mix, recipe, threads, worked.get(recipe.id) === false))
    .filter((n) => n.distance <= farthest)
    .sort((a, b) => {
      const [x, y] = [rank(a), rank(b)];
      const at = x.findIndex((v, i) => v !== y[i]);
      return at < 0 ? 0 : (x[at] ?? 0) - (y[at] ?? 0);
    });
}

function near(mix: Mix, recipe: Recipe, threads: ReadonlyMap<string, Sized>, failed: boolean): Near {
  const top = threadApart('topThread', recipe.topThread, mix.topThread, threads);
  const bobbin = threadApart('bobbinThread', recipe.bobbinThread, mix.bobbinThread, threads);
  const needle = needleApart(recipe.needle, mix.needle);
  const batting = alike(recipe.batting, mix.batting);
  const distance =
    top.cost +
    bobbin.cost +
    needle.cost +
    (batting === 'other' ? costs.batting : batting === 'not-said' ? costs.notSaid : 0);
  return {
    recipe,
    distance,
    failed,
    differences: [
      { part: 'machine', how: alike(recipe.machine, mix.machine) },
      { part: 'bobbinCase', how: alike(recipe.bobbinCase, mix.bobbinCase) },
      top.difference,
      bobbin.difference,
      { part: 'batting', how: batting },
      needle.difference,
    ],
  };
}

const plainly = (words: string | undefined) => (words ?? '').trim().toLowerCase();

function alike(a: string | undefined, b: string | undefined): 'same' | 'other' | 'not-said' {
  if (!plainly(a) || !plainly(b)) return 'not-said';
  return plainly(a) === plainly(b) ? 'same' : 'other';
}

type Apart = { readonly cost: number; readonly difference: Difference };

function threadApart(
  part: 'topThread' | 'bobbinThread',
  was: string | undefined,
  now: string | undefined,
  threads: ReadonlyMap<string, Sized>,
): Apart {
  if (was !== undefined && was === now) return { cost: 0, difference: { part, how: 'same' } };
  const [a, b] = [threads.get(was ?? ''), threads.get(now ?? '')];
  if (!a || !b) return { cost: costs.unknown, difference: { part, how: 'not-said' } };
  const otherFibre = alike(a.fibre, b.fibre) !== 'same';
  const fibreCost = otherFibre ? costs.otherFibre : 0;
  const [ta, tb] = [texOf(a), texOf(b)];
  if (!ta || !tb) {
    const same = alike(a.number, b.number) === 'same';
    const how = same && !otherFibre ? 'alike' : 'other';
    return {
      cost: fibreCost + (same ? costs.otherCone : costs.unknown),
      difference: { part, how, ...(otherFibre ? { otherFibre } : {}) },
    };
  }
  const finer = stepsFiner(ta.tex, tb.tex);
  const cost = Math.abs(Math.log(ta.tex / tb.tex)) / stepShare + fibreCost + costs.otherCone;
  if (finer === 0 && !otherFibre) return { cost, difference: { part, how: 'alike' } };
  return { cost, difference: { part, how: 'steps', finer, ...(otherFibre ? { otherFibre } : {}) } };
}

function needleApart(was: string | undefined, now: string | undefined): Apart {
  const part = 'needle';
  const said = alike(was, now);
  if (said !== 'other') return { cost: said === 'same' ? 0 : costs.notSaid, difference: { part, how: said } };
  const [a, b] = [needleSize(was ?? ''), needleSize(now ?? '')];
  if (!a || !b) return { cost: costs.otherNeedle, difference: { part, how: 'other' } };
  if (a.metric === b.metric) return { cost: costs.otherPoint, difference: { part, how: 'other' } }; // another point
  const how = b.metric > a.metric ? 'bigger' : 'smaller';
  return { cost: (costs.needlePerSize * Math.abs(a.metric - b.metric)) / 10, difference: { part, how } };
}

/** What it takes to stand where a recipe stood. */
export type FromNow = {
  /** 'neutral-first': where the knob stands is not known. */
  readonly top?: { readonly minutes: number } | { readonly dialTenths: number } | 'neutral-first';
  readonly topWanted?: number; // clock-minutes from flush
  readonly dropTenthsIn?: number;
  readonly caseMinutes?: number; // a hint only: the drop says when it is right
  readonly topOf?: 'not-kept' | 'another'; // why nothing is said of the top: its place was not known then, or is another machine's
};

/**
 * The turns from now to a recipe. A knob's place is its own machine's and a screw's its own case's: of another machine
 * or case there is nothing to copy but the drop.
 */
export function fromNow(recipe: Recipe, ctx: Ctx): FromNow {
  const { topMinutesFromFlush: wanted, topDialTenths: dial, bobbinMinutesHint: hint, dropTenthsIn } = recipe;
  const own = recipe.machine === ctx.machine;
  const at = position(ctx, topScrew(ctx.machine));
  const sameCase = recipe.bobbinCase !== undefined && recipe.bobbinCase === ctx.bench.bobbinCase;
  const stands = sameCase ? position(ctx, bobbinScrew(recipe.bobbinCase)) : 'lost';
  const top =
    !own || (wanted === undefined && dial === undefined)
      ? undefined
      : wanted === undefined
        ? { dialTenths: dial as number }
        : at === 'lost'
          ? ('neutral-first' as const)
          : { minutes: wanted - at.known };
  return {
    ...(top === undefined ? { topOf: own ? ('not-kept' as const) : ('another' as const) } : { top }),
    ...(own && wanted !== undefined ? { topWanted: wanted } : {}),
    ...(dropTenthsIn === undefined ? {} : { dropTenthsIn }),
    ...(hint === undefined || stands === 'lost' ? {} : { caseMinutes: hint - stands.known }),
  };
}

/** The recipe that was started from, while no lines were sewn and nobody said "Good now" since. */
export function pendingStart(ctx: Ctx): string | undefined {
  const at = ctx.benchAt?.startedFrom ?? 0;
  const good = ctx.events.findLast((e) => e.type === 'good')?.at ?? 0;
  return at > Math.max(ctx.samples.at(-1)?.at ?? 0, good) ? ctx.bench.startedFrom : undefined;
}

export type TradeStart = { readonly pair: Pair; readonly exact: boolean };

/** A row is shown when its top thread is at most a step away and its bobbin thread two; shiny polyester stands in for plain. */
const reach = { top: 1, bobbin: 2 } as const;

/**
 * The rows of the trade's table for a pair of threads, the closest first; `exact` when the row names this very pair. Empty
 * where the top thread's stuff is not in the table or its size is not known.
 */
export function tradeStarts(top: Sized | undefined, bobbin: Sized | undefined): readonly TradeStart[] {
  const [topFibre, bobbinFibre] = [plainly(top?.fibre), plainly(bobbin?.fibre)];
  const [topTex, bobbinTex] = [texOf(top)?.tex, texOf(bobbin)?.tex];
  return pairs
    .flatMap((pair) => {
      const { wt, fibres } = pair.top;
      const stuff = fibres.includes(topFibre)
        ? 0
        : fibres.includes('shiny polyester') && topFibre === 'polyester'
          ? 1
          : undefined;
      const clearBelow = pair.bobbin.fibres?.[0] === 'clear';
      if (stuff === undefined || clearBelow !== (bobbinFibre === 'clear')) return [];
      const anySize = wt === undefined || topFibre === 'clear'; // its number says nothing of its size
      const topOff = anySize ? 0 : topTex === undefined ? Infinity : Math.abs(stepsFiner(topTex, toTex(wt, 'wt')));
      const bobbinOff = clearBelow
        ? 0
        : bobbinTex === undefined
          ? reach.bobbin
          : stepsOutside(bobbinTex, pair.bobbin.wt);
      if (topOff > reach.top || bobbinOff > reach.bobbin) return [];
      const stuffBelow = pair.bobbin.fibres && !pair.bobbin.fibres.includes(bobbinFibre) ? 1 : 0;
      const off = stuff + 2 * topOff + bobbinOff + stuffBelow; // the top thread says more
      return [{ pair, exact: off === 0, off }];
    })
    .sort((a, b) => a.off - b.off)
    .map(({ pair, exact }) => ({ pair, exact }));
}

/** Steps from a size to a span of weight numbers; 0 inside. */
function stepsOutside(tex: number, [thickest, finest]: readonly [number, number]): number {
  const [above, below] = [stepsFiner(tex, toTex(thickest, 'wt')), stepsFiner(tex, toTex(finest, 'wt'))];
  return above > 0 ? above : below < 0 ? -below : 0;
}
