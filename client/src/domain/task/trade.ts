/**
 * What the tasks ask of the trade's rules, in one place. Everything is worked out from the records in the context; answers
 * are plain JSON, because a task keeps the one it showed.
 */

import { tooAlike } from '../colour';

export { curedOtherwise } from './put-back';

import type { Ctx, Json, Kept, Reading } from './context';
import { bobbinScrew, topScrew } from './ledger';

export type DropVerdict = {
  readonly state: string;
  readonly act: 'on' | 'checks' | 'turn' | 'case';
  readonly minutes?: number; // for turn, + is tighter
  readonly bobbinCase?: string; // for case
  readonly why: string; // key of the sentence
};

/** Tiles as the fault model's states of `drop_test`; three that disagree are jerky, which is no setting. */
function stateOf(r: Kept<Reading>): 'neutral' | 'barely' | 'falls' | 'jerky' | undefined {
  const one = (a: string | undefined) =>
    a === 'right' || a === 'tips'
      ? 'neutral'
      : a === 'creeps'
        ? 'jerky'
        : a === 'falls' || a === 'far' || a === 'flat'
          ? 'falls'
          : 'barely';
  if (r.type === 'finger') return one(r.answer);
  const said = (r.drops ?? []).filter((d) => !d.out && !d.hidden && d.answer).map((d) => one(d.answer));
  return said.length === 0 ? undefined : said.every((x) => x === said[0]) ? said[0] : 'jerky';
}

export function dropVerdict(ctx: Ctx, reading: string, asked = false): DropVerdict {
  const r = ctx.readings.find((x) => x.id === reading);
  const state = r && stateOf(r);
  if (!r || !state || state === 'neutral') return { state: state ?? 'neutral', act: 'on', why: 'in-band' };
  const tests = ctx.readings.filter(
    (x) => x.id !== reading && (x.type === 'drop' || x.type === 'finger') && x.at <= r.at,
  );
  const good = tests.findLast((x) => x.bobbinCase === r.bobbinCase && stateOf(x) === 'neutral');
  const minutes = state === 'falls' ? 5 : -5;
  if (good && good.thread !== r.thread) {
    const other = tests.findLast(
      (x) =>
        x.bobbinCase !== undefined &&
        x.bobbinCase !== r.bobbinCase &&
        x.thread === r.thread &&
        stateOf(x) === 'neutral',
    );
    return other
      ? { state, act: 'case', minutes, bobbinCase: other.bobbinCase, why: 'other-case' }
      : { state, act: state === 'jerky' ? 'checks' : 'turn', minutes, why: 'new-thread' };
  }
  const since = good?.at ?? 0;
  const turned = ctx.changes.some(
    (c) => c.screw === bobbinScrew(r.bobbinCase ?? '') && c.minutes !== undefined && c.at >= since,
  );
  const checked = asked || ctx.findings.some((f) => f.finding === 'bobbin_look' && f.at >= since);
  if ((state === 'jerky' || (good && !turned)) && !checked)
    return { state, act: 'checks', minutes, why: state === 'jerky' ? 'disagree' : 'nobody-turned' };
  return { state, act: state === 'jerky' ? 'checks' : 'turn', minutes, why: 'out' };
}

export function dropsAlike(ctx: Ctx, reading: string): boolean {
  return dropVerdict(ctx, reading).act === 'on';
}

export function position(ctx: Ctx, screw: string): 'lost' | { readonly known: number } {
  const struck = new Set(ctx.changes.map((c) => c.strikes));
  let at: 'lost' | { known: number } = 'lost';
  for (const c of ctx.changes.filter((x) => x.screw === screw && !struck.has(x.id))) {
    if (c.type === 'lost') at = 'lost';
    else if (c.type === 'neutral') at = { known: 0 };
    else if (at !== 'lost' && c.minutes !== undefined) at = { known: at.known + c.minutes };
  }
  return at;
}

export type PointBack = { readonly change: string; readonly minutes: number };
export function pointsBack(ctx: Ctx, screw: string): readonly PointBack[] {
  const own = ctx.changes.filter((c) => c.screw === screw && c.type === 'move');
  let sum = 0;
  return own
    .toReversed()
    .map((c) => {
      const point = { change: c.id, minutes: sum };
      sum -= c.minutes ?? 0;
      return point;
    })
    .filter((p) => p.minutes !== 0)
    .slice(0, 8);
}

export function markOff(ctx: Ctx, screw: string, mark: number): number | undefined {
  const of = screw === topScrew(ctx.machine) ? undefined : screw.slice('bobbin:'.length);
  const last = ctx.readings.findLast((r) => r.type === 'pen' && r.bobbinCase === of);
  if (last?.clockMinute === undefined) return undefined;
  const moved = ctx.changes
    .filter((c) => c.screw === screw && c.at >= last.at)
    .reduce((sum, c) => sum + (c.minutes ?? 0), 0);
  return ((mark - last.clockMinute - moved + 30 + 600) % 60) - 30;
}

export function tooAlikeNow(ctx: Ctx): boolean {
  const colour = (id: string | undefined) => ctx.threads.find((t) => t.id === id)?.colour;
  const [a, b] = [colour(ctx.bench.topThread), colour(ctx.bench.bobbinThread)];
  return a !== undefined && b !== undefined && tooAlike(a, b);
}

export function recipeName(ctx: Ctx): string {
  return ctx.quilts.find((q) => q.id === ctx.bench.quilt)?.name ?? '';
}
export function recipeNow(ctx: Ctx): { readonly [field: string]: Json } {
  return { machine: ctx.machine, bobbinCase: ctx.bench.bobbinCase ?? bobbinScrew('') };
}
