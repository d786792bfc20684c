/** The bench: what is set up now on one machine, and the few acts that change more than one field of it. */
import type { BobbinCase, Ctx, Kept, Reading } from './task/context';
import type { Draft } from './task/task';

export const caseOf = (ctx: Ctx): Kept<BobbinCase> | undefined =>
  ctx.bobbinCases.find((c) => c.id === ctx.bench.bobbinCase);

/** Bobbin cases that fit this machine. One that names no machine, or none that is here any more, fits all. */
export const fitting = (ctx: Ctx): readonly Kept<BobbinCase>[] =>
  ctx.bobbinCases.filter((c) => {
    const named = (c.fits ?? []).filter((id) => ctx.machines.some((m) => m.id === id));
    return named.length === 0 || named.includes(ctx.machine);
  });

/** Those to show for this machine: the ones that fit, and the one that is in it whatever it fits. */
export const casesHere = (ctx: Ctx): readonly Kept<BobbinCase>[] => {
  const fit = fitting(ctx);
  return ctx.bobbinCases.filter((c) => fit.includes(c) || c.id === ctx.bench.bobbinCase);
};

/** What makes a quilt's sandwich on the bench: the quilt with its top, batting and backing. */
const sandwich = ['quilt', 'batting', 'backing'] as const;

/** Nothing is said of the quilt that is set up, nor was anything done on it. */
const bare = (ctx: Ctx): boolean => {
  const { batting, backing, quilt } = ctx.bench;
  const used = ctx.balancings.some((b) => b.quilt === quilt) || ctx.events.some((e) => e.quilt === quilt);
  return !batting && !backing && !ctx.quilts.find((q) => q.id === quilt)?.name && (quilt === undefined || !used);
};

/** A new quilt is set up and still blank: its name and what it is made of are asked for, not another one. */
export const blankQuilt = (ctx: Ctx): boolean => ctx.quilts.some((q) => q.id === ctx.bench.quilt) && bare(ctx);

/**
 * A new quilt keeps machine, cases, threads and needle, and clears the sandwich. What was there is kept for "Same quilt
 * again", unless it was as empty as the new one. While one is blank there is no second.
 */
export function newQuilt(ctx: Ctx, id: string): readonly Draft[] {
  if (blankQuilt(ctx)) return [];
  const { bench } = ctx;
  const before = Object.fromEntries(sandwich.map((f) => [f, bench[f] ?? '']));
  return [
    { kind: 'quilt', id, set: { machine: ctx.machine, name: '', zone: ctx.zone } },
    {
      kind: 'bench',
      id: ctx.machine,
      set: { quilt: id, batting: '', backing: '', ...(bare(ctx) ? {} : { previous: before }) },
    },
  ];
}

/** Puts the sandwich back that a new quilt cleared; undefined where none was. */
export function sameQuilt(ctx: Ctx): readonly Draft[] | undefined {
  const { previous } = ctx.bench;
  if (!previous || sandwich.every((f) => !previous[f] || previous[f] === ctx.bench[f])) return undefined;
  return [{ kind: 'bench', id: ctx.machine, set: Object.fromEntries(sandwich.map((f) => [f, previous[f] ?? ''])) }];
}

/** A bobbin case that is new to the studio: it fits this machine, and is in it now. */
export const newCase = (ctx: Ctx, id: string, label: string): readonly Draft[] => [
  { kind: 'bobbinCase', id, set: { label: label.trim(), fits: [ctx.machine], zone: ctx.zone } },
  { kind: 'bench', id: ctx.machine, set: { bobbinCase: id } },
];

/** The last word on the bobbin: of the case that is in, or of any where none is said to be. */
export function lastReading(ctx: Ctx): Kept<Reading> | undefined {
  const own = caseOf(ctx)?.id;
  return ctx.readings.findLast(
    (r) => (r.type === 'drop' || r.type === 'finger') && (own === undefined || r.bobbinCase === own),
  );
}
