/** Where a screw stands, as the tasks ask it of the ledger. */
import { type ChangeRecord, ledger, positionAt, wayBack } from '../change';
import type { Ctx } from './context';
import { isBobbin } from './ledger';

export type Position = { readonly known: number } | 'lost'; // clock-minutes from the last neutral, + is tighter

export function position(ctx: Ctx, screw: string): Position {
  const at = positionAt(ctx.changes, screw, Number.POSITIVE_INFINITY);
  return at.state === 'known' ? { known: at.minutes } : 'lost';
}

/** The records that count: neither struck, nor the second telling of one change. */
const counted = (ctx: Ctx, screw: string): readonly ChangeRecord[] =>
  ledger(ctx.changes, screw)
    .lines.filter((l) => !l.struck && l.joinedTo === undefined)
    .map((l) => l.record);

/** `at`: ms UTC when it came to stand there. `good`: there it stood when both faces were last good. */
export type PointBack = {
  readonly change: string;
  readonly minutes: number;
  readonly at: number;
  readonly good?: true;
};
const pointsShown = 8;
const places: ReadonlySet<string> = new Set(['move', 'back', 'neutral']);

/** Earlier points, newest first, each with the move that leads back there; none that only a lost count leads to. */
export function pointsBack(ctx: Ctx, screw: string): readonly PointBack[] {
  const all = counted(ctx, screw).filter((r) => places.has(r.type));
  const goodAt = lastGood(ctx, screw);
  const good = goodAt === undefined ? undefined : all.findLast((r) => r.at <= goodAt)?.id;
  return all
    .slice(-pointsShown - 1)
    .toReversed()
    .flatMap((r) => {
      const back = wayBack(ctx.changes, screw, r.id);
      const point = { change: r.id, minutes: back.way === 'turn' ? back.minutes : 0, at: r.at };
      return point.minutes === 0 ? [] : [r.id === good ? { ...point, good: true as const } : point];
    })
    .slice(0, pointsShown);
}

/** When all was last good with this screw: the top always, a bobbin case when it was the one in the machine. */
function lastGood(ctx: Ctx, screw: string): number | undefined {
  const bobbinCase = isBobbin(screw) ? screw.slice('bobbin:'.length) : undefined;
  return ctx.events.findLast((e) => e.type === 'good' && (!bobbinCase || e.bobbinCase === bobbinCase))?.at;
}

/** How far a pen mark at this clock minute is from where the count puts it, −29 … 30, + is tighter; undefined with nothing to compare. */
export function markOff(ctx: Ctx, screw: string, mark: number): number | undefined {
  const bobbinCase = isBobbin(screw) ? screw.slice('bobbin:'.length) : undefined;
  const last = ctx.readings.findLast((r) => r.type === 'pen' && r.bobbinCase === bobbinCase);
  if (last?.clockMinute === undefined) return undefined;
  const way = bobbinCase
    ? ctx.bobbinCases.find((c) => c.id === bobbinCase)?.tightens
    : ctx.machines.find((m) => m.id === ctx.machine)?.topTightens;
  const moved = counted(ctx, screw)
    .filter((c) => c.at >= last.at)
    .reduce((sum, c) => sum + (c.minutes ?? 0), 0);
  const turned = (mark - last.clockMinute) * (way === 'counter' ? -1 : 1);
  const off = (((turned - moved) % 60) + 60) % 60;
  return off > 30 ? off - 60 : off;
}
