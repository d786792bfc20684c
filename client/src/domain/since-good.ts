/**
 * What has happened to a machine since it was last said to be good, and the look that comes first because of it: "nothing
 * changed" is seldom true. Common practice, no published source.
 */
import { ledger } from './change';
import type { FindingId } from './knowledge/findings';
import type { Ctx } from './task/context';

/** Facts with one tap, and fields of the bench that were written. */
export const sinceEvents = [
  'new-bobbin',
  'new-cone',
  'new-needle',
  'cleaned',
  'struck',
  'jam',
  'knock',
  'heat',
  'runs-by-itself',
  'dropped',
] as const;
export const sinceFields = [
  'topThread',
  'bobbinThread',
  'bobbinKind',
  'bobbinCase',
  'needle',
  'quilt',
  'batting',
  'backing',
] as const;
export type SinceWhat = (typeof sinceEvents)[number] | (typeof sinceFields)[number];

export type Since = {
  readonly items: readonly { readonly what: SinceWhat; readonly at: number }[]; // the newest of each, newest first
  readonly changes: number; // of this machine's top and of the case that is in
};
export type SinceGood = Since & { readonly goodAt: number }; // ms since 1970 UTC

/** Undefined when it never was said to be good. */
export function sinceGood(ctx: Ctx): SinceGood | undefined {
  const goodAt = ctx.events.findLast((e) => e.type === 'good')?.at;
  return goodAt === undefined ? undefined : { goodAt, ...sinceThen(ctx, goodAt) };
}

/** What was written down after a moment. */
export function sinceThen(ctx: Ctx, then: number): Since {
  const happened = sinceEvents.map((what) => ({ what, at: ctx.events.findLast((e) => e.type === what)?.at ?? 0 }));
  const written = sinceFields.map((what) => ({ what, at: ctx.benchAt?.[what] ?? 0 }));
  const screws = [`top:${ctx.machine}`, ...(ctx.bench.bobbinCase ? [`bobbin:${ctx.bench.bobbinCase}`] : [])];
  const moved = screws.flatMap((screw) =>
    ledger(ctx.changes, screw).lines.filter(
      ({ record: r, struck, joinedTo }) =>
        r.at > then && !struck && joinedTo === undefined && ['move', 'back', 'dial'].includes(r.type),
    ),
  );
  return {
    items: [...happened, ...written].filter((i) => i.at > then).sort((a, b) => b.at - a.at),
    changes: moved.length,
  };
}

/** The look that each asks for; what is not here is a stop of its own, or shows in the drop test. */
const looks: { readonly [what in SinceWhat]?: FindingId } = {
  'new-bobbin': 'bobbin_look',
  'new-cone': 'supply_look',
  bobbinKind: 'bobbin_look',
  'new-needle': 'needle_look',
  needle: 'needle_look',
  cleaned: 'case_seat',
  bobbinCase: 'case_seat',
  topThread: 'threading_walk',
  quilt: 'push_up',
  backing: 'push_up',
  batting: 'batting_side',
};

/** Looks for what is new since it was good, the newest first, each once; none that was looked at after it came. */
export function looksSince(
  since: SinceGood | undefined,
  told: readonly { readonly finding: string; readonly at: number }[] = [],
): readonly FindingId[] {
  const all = (since?.items ?? []).flatMap(({ what, at }) => {
    const look = looks[what];
    return look === undefined || told.some((f) => f.finding === look && f.at > at) ? [] : [look];
  });
  return [...new Set(all)];
}
