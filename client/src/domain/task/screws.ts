/** Where a screw stands by its ledger: a marker and the moves since, or lost. */
import type { Change, Ctx, Kept } from './context';
import { isBobbin } from './ledger';

export type Position = { readonly known: number } | 'lost'; // clock-minutes from the last neutral, + is tighter

type Entry = Kept<Change>;

/** The screw's records in the order they were written down, without those struck as wrong. */
function live(ctx: Ctx, screw: string): readonly Entry[] {
  const own = ctx.changes.filter((c) => c.screw === screw);
  const struck = new Set(own.filter((c) => c.type === 'strike').map((c) => c.strikes));
  return own.filter((c) => c.type !== 'strike' && !struck.has(c.id));
}

/** Everything that a record's writer had seen of this screw, itself included. */
function seenBy(ctx: Ctx, record: Entry): ReadonlySet<string> {
  const all = new Map(ctx.changes.filter((c) => c.screw === record.screw).map((c) => [c.id, c]));
  const seen = new Set<string>();
  const open = [record.id];
  for (let id = open.pop(); id !== undefined; id = open.pop()) {
    if (seen.has(id)) continue;
    seen.add(id);
    open.push(...(all.get(id)?.after ?? []));
  }
  return seen;
}

/**
 * A move counts when its writer had seen the marker. One written beside it on another phone makes the position lost: nobody can
 * know whether the screw stood at the marker before that move or after.
 */
export function position(ctx: Ctx, screw: string): Position {
  const entries = live(ctx, screw);
  const marker = entries.findLast((c) => c.type === 'neutral' || c.type === 'lost');
  if (marker?.type !== 'neutral') return 'lost';
  const before = seenBy(ctx, marker);
  let known = 0;
  for (const c of entries) {
    if (before.has(c.id)) continue;
    if (!seenBy(ctx, c).has(marker.id)) return 'lost';
    known += c.minutes ?? 0;
  }
  return { known };
}

export type PointBack = { readonly change: string; readonly minutes: number };
const pointsShown = 8;

/** Earlier points, newest first, each with the move that leads back there; none beyond a lost count. */
export function pointsBack(ctx: Ctx, screw: string): readonly PointBack[] {
  const points: PointBack[] = [];
  let minutes = 0;
  for (const c of live(ctx, screw).toReversed()) {
    if (c.type === 'lost') break;
    if (minutes !== 0) points.push({ change: c.id, minutes });
    if (c.type === 'neutral') break;
    minutes -= c.minutes ?? 0;
  }
  return points.slice(0, pointsShown);
}

/** How far a pen mark at this clock minute is from where the count puts it, −29 … 30, + is tighter; undefined with nothing to compare. */
export function markOff(ctx: Ctx, screw: string, mark: number): number | undefined {
  const bobbinCase = isBobbin(screw) ? screw.slice('bobbin:'.length) : undefined;
  const last = ctx.readings.findLast((r) => r.type === 'pen' && r.bobbinCase === bobbinCase);
  if (last?.clockMinute === undefined) return undefined;
  const way = bobbinCase
    ? ctx.bobbinCases.find((c) => c.id === bobbinCase)?.tightens
    : ctx.machines.find((m) => m.id === ctx.machine)?.topTightens;
  const moved = live(ctx, screw)
    .filter((c) => c.at >= last.at)
    .reduce((sum, c) => sum + (c.minutes ?? 0), 0);
  const turned = (mark - last.clockMinute) * (way === 'counter' ? -1 : 1);
  const off = (((turned - moved) % 60) + 60) % 60;
  return off > 30 ? off - 60 : off;
}
