/** What can be written down outside a task with one tap: facts of this machine, and taking a change back. */
import type { NoWayBack, TakeBack } from '../change';
import type { Ctx } from './context';
import { takeBack } from './ledger';
import type { Draft } from './task';
import { writer } from './writer';

export const facts = ['good', 'new-bobbin', 'new-cone', 'new-needle', 'cleaned'] as const;
export type Fact = (typeof facts)[number];

/** The same fact again within this time is the same tap, not a second fact (4 s: our choice). */
export const sameTapMs = 4_000;

/**
 * One tap, no form. "Good now" says that both faces were looked at, with the bobbin case that is in. Nothing for a tap that
 * only repeats the last one: it stands written already.
 */
export function fact(type: Fact, ctx: Ctx): readonly Draft[] {
  const w = writer(ctx);
  const { bobbinCase, quilt, bobbinThread } = ctx.bench;
  const last = ctx.events.at(-1);
  if (last?.type === type && last.bobbinCase === bobbinCase && Math.abs(ctx.now - last.at) < sameTapMs) return [];
  const used = type === 'new-bobbin' ? { quilt, thread: bobbinThread } : {}; // for the count of the next quilt like it
  w.put('event', { machine: ctx.machine, type, bobbinCase, ...used });
  if (type === 'new-needle') w.put('bench', { needleSince: ctx.now }, ctx.machine);
  return w.drafts;
}

/** "I turned it back" and "I wrote it wrong" of any change in the ledger, for good; or why there is nothing to write. */
export function undo(how: TakeBack, change: string, ctx: Ctx): readonly Draft[] | NoWayBack {
  const w = writer(ctx);
  return takeBack(how, change, w) ?? w.drafts;
}
