/**
 * What cured it: worked out from what a balancing wrote, kept with it when it ends, and counted per machine. Common practice:
 * the last thing that was mended or turned before both faces were good is taken for the cure.
 */

import type { ActId, CauseId } from './knowledge/faults/tables';
import type { FindingId } from './knowledge/findings';
import type { Ctx } from './task/context';
import { isBobbin } from './task/ledger';

/** A look that mends by being done, or whose finding was mended, by what it found. */
const byFinding: { readonly [f in FindingId]?: { readonly [state: string]: CauseId } } = {
  card_spring: { lint: 'lint_bobbin_spring' },
  floss_discs: { debris: 'lint_discs', unseated: 'not_in_discs' },
  threading_walk: { missed_guide: 'path_misthread', missed_lever: 'missed_takeup' },
  lever_look: { still: 'missed_takeup' },
  rethread_top: { cured: 'path_misthread' },
  bobbin_way: { wrong: 'bobbin_backwards' },
  case_seat: { loose: 'case_not_seated' },
  supply_look: { off_centre: 'spool_snag', no_net: 'thread_whip', net_tight: 'net_too_tight' },
  bobbin_look: { spongy: 'bobbin_wound_bad', overfull: 'bobbin_overfilled', damaged: 'bobbin_damaged' },
  swap_bobbin: { cured: 'bobbin_wound_bad' },
  swap_needle: { cured: 'needle_worn', better: 'needle_worn' },
  swap_spool: { cured: 'bad_thread' },
  tails: { cured: 'start_tails' },
  slow_down: { better: 'speed_too_fast' },
  loosen_rollers: { better: 'sandwich_too_tight' },
};
/** An act, by the cause that it is for. */
const byAct: { readonly [a in ActId]?: CauseId } = {
  new_needle: 'needle_worn',
  needle_up: 'needle_too_small',
  needle_down: 'needle_too_large',
  clean_oil_hook: 'lint_hook',
  swap_bobbin: 'bobbin_wound_bad',
  swap_case: 'case_worn',
  net_and_centre: 'thread_whip',
  net_off: 'net_too_tight',
  known_thread: 'bad_thread',
  loosen_rollers: 'sandwich_too_tight',
  take_up_slack: 'sandwich_too_loose',
  foot_adjust: 'foot_height',
  check_spring_set: 'check_spring_bad',
  anti_backlash: 'backlash',
  rethread_bobbin: 'bobbin_not_in_spring',
  rethread_top: 'path_misthread',
  turn_batting: 'batting_issue',
  suit_cloth: 'backing_dense',
  clean_rails: 'carriage_drag',
  clean_regulator: 'regulator_fault',
  patch_care: 'adhesive_or_pile',
  match_hands: 'manual_mode_mismatch',
  shorter_stitch: 'stitch_too_long',
  hold_up: 'quilt_drag',
  renew_eyelet: 'eyelet_rough',
};

/** Undefined where nothing bad was sewn in it, or nothing was done after that. */
export function cureOf(ctx: Ctx, balancing: string): CauseId | undefined {
  const own = <T extends { readonly balancing?: string }>(rows: readonly T[]) =>
    rows.filter((r) => r.balancing === balancing);
  const bad = own(ctx.samples).findLast((s) => s.rays.some((r) => r.score !== 0 || (r.marks ?? []).length > 0));
  if (!bad) return undefined;
  const since = <T extends { readonly at: number }>(rows: readonly T[]) => rows.filter((r) => r.at > bad.at);
  const struck = new Set(ctx.changes.map((c) => c.strikes));
  const cures = [
    ...since(own(ctx.findings)).map((f) => ({ at: f.at, cause: lookUp(byFinding, f.finding)?.[f.state] })),
    ...since(own(ctx.events)).map((e) => ({
      at: e.at,
      cause: lookUp(byAct, e.type === 'new-needle' ? 'new_needle' : e.type === 'step' ? (e.step ?? '') : ''),
    })),
    ...since(own(ctx.changes))
      .filter((c) => c.type === 'move' && c.minutes !== undefined && !struck.has(c.id))
      .map((c) => ({ at: c.at, cause: turned(c.screw, c.minutes ?? 0) })),
  ];
  return cures.filter((c) => c.cause !== undefined).sort((a, b) => b.at - a.at)[0]?.cause;
}

/** Turned looser it had been too tight. */
function turned(screw: string, minutes: number): CauseId {
  if (isBobbin(screw)) return minutes < 0 ? 'bobbin_too_tight' : 'bobbin_too_loose';
  return minutes < 0 ? 'top_too_tight' : 'top_too_loose';
}

const lookUp = <V>(table: { readonly [key: string]: V | undefined }, key: string): V | undefined =>
  Object.hasOwn(table, key) ? table[key] : undefined;

const yearMs = 365 * 24 * 3_600_000;

/** What cured this machine most often in the past year, settings left aside; undefined under two times. */
export function oftenCured(ctx: Ctx): { readonly cause: string; readonly times: number } | undefined {
  const times = new Map<string, number>();
  for (const b of ctx.balancings) {
    if (b.cured === undefined || b.at < ctx.now - yearMs || /^(top|bobbin|both)_too_/.test(b.cured)) continue;
    times.set(b.cured, (times.get(b.cured) ?? 0) + 1);
  }
  const [most] = [...times].sort((a, b) => b[1] - a[1]);
  return most && most[1] > 1 ? { cause: most[0], times: most[1] } : undefined;
}
