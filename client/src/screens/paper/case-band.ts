/** The band of a bobbin case as it is printed, and a thread in words. */

import type { Ctx } from '../../domain/task';
import { type Band, bandOf } from '../../domain/task/drop-verdict';
import { text } from '../../text/frame';

type Case = Ctx['bobbinCases'][number];

/** The thread that a case's band is for: the one in the machine while the case is in it, else the one it is set for. */
export const threadOf = (ctx: Ctx, of: Case): string | undefined =>
  (of.id === ctx.bench.bobbinCase ? ctx.bench.bobbinThread : undefined) ?? of.setFor;

export const bandHere = (ctx: Ctx, of: Case): Band => bandOf(ctx, of.id, threadOf(ctx, of));

export function threadWords(ctx: Ctx, id: string | undefined): string {
  const t = ctx.threads.find((x) => x.id === id);
  return (t && text.threadName(t.number, t.fibre)) || text.notSaid;
}
