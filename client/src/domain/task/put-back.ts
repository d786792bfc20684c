/**
 * After the cure, undo what was turned on the way: if a needle, lint or the path was it, the screws were not. Common practice.
 */
import type { Change, Ctx } from './context';

/** Findings that are mended by the looking itself, and the states that mean something was mended. */
const mended = new Map(
  Object.entries({
    card_spring: ['lint'],
    floss_discs: ['debris', 'unseated'],
    threading_walk: ['missed_guide', 'missed_lever'],
    bobbin_way: ['wrong'],
    case_seat: ['loose'],
    supply_look: ['off_centre', 'no_net', 'net_tight'],
    bobbin_look: ['spongy', 'overfull', 'damaged'],
    rethread_top: ['cured'],
    swap_needle: ['better', 'cured'],
    swap_bobbin: ['cured'],
    swap_spool: ['cured'],
    tails: ['cured'],
    slow_down: ['better'],
    loosen_rollers: ['better'],
  }),
);
const cures = ['new-needle', 'new-bobbin', 'cleaned', 'step'];

/** A turn, or for a dial the number that it had. */
export type PutBack = { readonly screw: string } & ({ readonly minutes: number } | { readonly dial: number });

/** The move that puts a screw back where it stood before this balancing, or undefined where a screw was the cure, or none was turned. */
export function curedOtherwise(ctx: Ctx, balancing: string): PutBack | undefined {
  const own = <T extends { readonly balancing?: string }>(rows: readonly T[]) =>
    rows.filter((r) => r.balancing === balancing);
  const sewn = own(ctx.samples);
  const first = sewn[0];
  const cure = Math.max(
    ...own(ctx.events)
      .filter((e) => cures.includes(e.type))
      .map((e) => e.at),
    ...own(ctx.findings)
      .filter((f) => mended.get(f.finding)?.includes(f.state))
      .map((f) => f.at),
  );
  // Something mended before the first lines were sewn cured nothing that a screw was turned for.
  if (!first || cure <= first.at) return undefined;
  const struck = new Set(ctx.changes.map((c) => c.strikes));
  const stand = ctx.changes.filter((c) => !struck.has(c.id));
  const moves = own(stand).filter((c) => c.minutes !== undefined || c.dialTenths !== undefined);
  if (moves.some((c) => c.at > cure && c.why !== putBack)) return undefined;
  for (const screw of new Set(moves.map((c) => c.screw))) {
    const dial = dialBefore(stand, moves, screw);
    if (dial !== undefined) return { screw, dial };
    const minutes = moves.filter((c) => c.screw === screw).reduce((sum, c) => sum - (c.minutes ?? 0), 0);
    if (minutes !== 0) return { screw, minutes };
  }
  return undefined;
}

/** The number a dial had before the first of these, where it has another one now. */
function dialBefore(all: readonly Change[], moves: readonly Change[], screw: string): number | undefined {
  const read = (c: Change) => c.screw === screw && c.dialTenths !== undefined;
  const first = moves.find(read);
  const before = first && all.slice(0, all.indexOf(first)).findLast(read)?.dialTenths;
  return before === moves.findLast(read)?.dialTenths ? undefined : before;
}

/** Why a change was made that puts a screw back. */
export const putBack = 'put back';
