/** What is suspected and why, what cured this machine before, and how far back to look. */
import { oftenCured } from '../domain/cures';
import type { Findings } from '../domain/diagnosis';
import type { Ctx, Suspect, TaskState } from '../domain/task';
import { adviceWhy } from './advice';
import { nameOfCause } from './causes';
import { actSay, checkSay } from './checks';
import { ago } from './shell';
import { sinceGood } from './task-screen';

export const text = {
  or: 'Or',
  fits: 'Fits',
  fitsNot: 'Does not fit',
  soFar: 'So far',
  nothing: 'Little is known yet. Every answer narrows it down.',
} as const;

const graded: { readonly [g in Suspect['grade']]: string } = {
  strong: 'Strong suspicion',
  possible: 'Possible',
  unlikely: 'Less likely',
};

/** "Strong suspicion, 4 of 5 fit". */
export const suspectFits = (x: Suspect): string =>
  x.of === 0 ? graded[x.grade] : `${graded[x.grade]}, ${x.fits} of ${x.of} fit`;
export const suspectName = (x: Suspect): string => sentence(nameOfCause(x.cause));

export type Reason = { readonly asked: string; readonly said?: string };

/** What speaks for a suspicion and what against it: each finding by its question and the answer given. */
export function suspectWhy(
  x: Suspect,
  found: Findings,
): { readonly why: readonly Reason[]; readonly whyNot: readonly Reason[] } {
  const told = (finding: string) => {
    const words = Object.hasOwn(checkSay, finding) ? checkSay[finding] : undefined;
    const state = words?.states[found[finding] ?? ''];
    return words && state ? [{ asked: words.say, said: state }] : [];
  };
  return { why: x.why.slice(0, most).flatMap(told), whyNot: x.whyNot.slice(0, most).flatMap(told) };
}
/** So many reasons are read at the frame. */
const most = 3;

/** "On this machine it was lint under the bobbin case spring 3 times in the past year." */
export function memory(ctx: Ctx): string | undefined {
  const often = oftenCured(ctx);
  return often && `On this machine it was ${nameOfCause(often.cause)} ${often.times} times in the past year.`;
}

/** Where a quilt that was good went wrong: between the last "Good now" and the needle. */
export function farBack(ctx: Ctx): { readonly say: string; readonly more?: string } {
  const since = sinceGood(ctx);
  const good = ctx.events.findLast((e) => e.type === 'good');
  if (!good) return { say: 'Look back along the quilt to where it is good.' };
  const bobbins = ctx.events.filter((e) => e.type === 'new-bobbin' && e.at > good.at).length;
  const sewn = bobbins === 0 ? 'in this bobbin' : bobbins === 1 ? 'one bobbin ago' : `${bobbins} bobbins ago`;
  return {
    say: `It was last good ${ago(good.at, ctx.now)}, ${sewn}.`,
    more: `Look from the needle back to there, both faces. Only what lies between may be bad.${since ? ` ${since}` : ''}`,
  };
}

/** What a look is for, where that is known. */
export const tellsApart = (about: unknown): string | undefined =>
  Array.isArray(about) && about.length > 0
    ? adviceWhy({ do: 'see', why: 'tells', about: about.map(String) })
    : undefined;

/** What was done on advice in this balancing, and why, oldest first. */
export function soFar(ctx: Ctx, balancing: string | undefined): readonly string[] {
  const own = <T extends { readonly balancing?: string; readonly why?: string }>(rows: readonly T[]) =>
    rows.filter((r) => r.balancing !== undefined && r.balancing === balancing && r.why !== undefined);
  const line = (
    at: number,
    round: number | undefined,
    what: string | undefined,
    why: string,
    about?: readonly string[],
  ) =>
    what === undefined ? [] : [{ at, say: `Round ${round ?? 1}: ${what} ${adviceWhy({ do: 'see', why, about })}` }];
  return [
    ...own(ctx.findings).flatMap((f) => line(f.at, f.round, checkSay[f.finding]?.say, f.why ?? '', f.about)),
    ...own(ctx.events).flatMap((e) => line(e.at, e.round, actSay[e.step ?? 'new_needle'], e.why ?? '', e.about)),
  ]
    .sort((a, b) => a.at - b.at)
    .map((l) => l.say);
}

/** The suspicions that a step keeps. */
export const suspectsOf = (s: TaskState): readonly Suspect[] =>
  Array.isArray(s.data.suspects) ? (s.data.suspects as unknown as readonly Suspect[]) : [];

const sentence = (words: string) => words.charAt(0).toUpperCase() + words.slice(1);
