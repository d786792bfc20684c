/** The whole setting as it stands: what a recipe keeps. The bobbin side is a drop length; its screw minutes are a hint. */
import { sinceFields, sinceThen } from '../since-good';
import type { Ctx } from './context';
import { bobbinScrew, topScrew } from './ledger';
import { position } from './screws';
import type { Fields } from './task';

export function recipeNow(ctx: Ctx): Fields {
  const { bobbinCase, topThread, bobbinThread, bobbinKind, needle, batting, backing } = ctx.bench;
  const test = ctx.readings.findLast((r) => r.type === 'drop' && r.bobbinCase === bobbinCase && !r.interrupted);
  const top = position(ctx, topScrew(ctx.machine));
  const bobbin = bobbinCase === undefined ? 'lost' : position(ctx, bobbinScrew(bobbinCase));
  const turns = (ctx.machines.find((m) => m.id === ctx.machine)?.topKnob ?? 'turns') === 'turns';
  const dial = ctx.changes.findLast((c) => c.screw === topScrew(ctx.machine) && c.type === 'dial');
  return {
    machine: ctx.machine,
    bobbinCase,
    topThread,
    bobbinThread,
    bobbinKind,
    fill: test?.fill,
    dropTenthsIn: middleLength(test?.drops ?? []),
    topMinutesFromFlush: turns && top !== 'lost' ? top.known : undefined,
    topDialTenths: turns ? undefined : dial?.dialTenths,
    bobbinMinutesHint: bobbin === 'lost' ? undefined : bobbin.known,
    needle,
    batting,
    backing,
    score: scoreNow(ctx),
  };
}

/** What the last lines showed, in the middle, where they were sewn with all that is set up now and somebody could tell. */
function scoreNow(ctx: Ctx): number | undefined {
  const sample = ctx.samples.at(-1);
  if (!sample) return undefined;
  const { changes, items } = sinceThen(ctx, sample.at);
  if (changes > 0 || items.some(({ what }) => (sinceFields as readonly string[]).includes(what))) return undefined;
  const told = sample.rays.filter((r) => !r.marks?.includes('cant-tell')).map((r) => r.score);
  if (told.length === 0) return undefined;
  const mean = told.reduce((sum, s) => sum + s, 0) / told.length;
  return Math.sign(mean) * Math.round(Math.abs(mean)) + 0; // alike to both sides, and no -0
}

/** The middle one of the lengths that count, in tenths of an inch. */
function middleLength(
  drops: readonly { readonly tenthsIn?: number; readonly out?: boolean; readonly hidden?: boolean }[],
) {
  const lengths = drops
    .filter((d) => !d.out && !d.hidden && d.tenthsIn !== undefined)
    .map((d) => d.tenthsIn ?? 0)
    .sort((a, b) => a - b);
  return lengths[Math.floor((lengths.length - 1) / 2)];
}

/** A name to start from: the quilt's, else the two threads as printed; where neither is known a person finds one. */
export function recipeName(ctx: Ctx): string {
  const quilt = ctx.quilts.find((q) => q.id === ctx.bench.quilt)?.name;
  const thread = (id: string | undefined) => ctx.threads.find((t) => t.id === id)?.number;
  const pair = [thread(ctx.bench.topThread), thread(ctx.bench.bobbinThread)].filter((n) => n !== undefined);
  return quilt || pair.join(' / ');
}
