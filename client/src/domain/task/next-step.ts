/**
 * What to do next in a balancing. The rules of the trade (common practice, no published source) say what comes into question:
 * safety, then mend what was found, then gates before knobs, bobbin before top, small moves one at a time, neutral when
 * turning goes in circles, a technician or "good enough" as answers of their own. Of the looks and acts that a rule names,
 * the fault model says which promises most for its minutes; and what is plainly likelier than a setting goes before a knob.
 */
import { stepMinutes } from '../change';
import { looksSince, sinceGood } from '../since-good';
import { passes } from '../tolerance';
import { unsafe } from '../troubleshoot-rules';
import { benchFindings } from './bench-findings';
import type { Ctx } from './context';
import { withoutGain } from './drop-verdict';
import { gates, mending, remedies, statesOf } from './gates';
import { bobbinScrew, topScrew } from './ledger';
import { type Facts, factsOf, marked, rounds, scoreNow, scoreOf, untold } from './next-facts';
import { type TurnAdvice, turn, turning, turningByFeel } from './next-turn';
import type { Happening } from './stop-checks';
import { likelier, ordered, suspected, suspects, turnForbidden } from './suspects';

/** Causes that an advice is about, the most likely first, and how much of what was found fits the first of them. */
export type About = { readonly about?: readonly string[]; readonly fits?: number; readonly of?: number };
export type Advice = About &
  (
    | TurnAdvice
    | {
        readonly do: 'check';
        readonly finding: string;
        readonly states: readonly string[];
        readonly mends: boolean;
        readonly why: string;
      }
    | { readonly do: 'act'; readonly action: string; readonly event?: string; readonly why: string }
    | { readonly do: 'drop' | 'feel' | 'sew' | 'star' | 'see' | 'technician' | 'good'; readonly why: string }
    | { readonly do: 'stop'; readonly happened: Happening; readonly why: string }
  );

/** This long, and this many rounds, without a gain: somebody else's eyes. */
const longMs = 45 * 60_000;
const manyRounds = 4;

type Rule = (f: Facts) => Advice | undefined;

export function nextStep(
  ctx: Ctx,
  place: { readonly balancing: string; readonly round: number },
  skipped: readonly string[],
): Advice {
  return firstOf(factsOf(ctx, place, skipped));
}

function firstOf(facts: Facts): Advice {
  for (const rule of rules) {
    const advice = rule(facts);
    if (advice) return advice.do === 'turn' ? permitted(facts, advice) : advice;
  }
  return suspected(facts)[0] ?? { do: 'see', why: 'nothing-more' };
}

/** The advice, and up to two others that stand beside it: never a second knob. */
export function nextThree(
  ctx: Ctx,
  place: { readonly balancing: string; readonly round: number },
  skipped: readonly string[],
): readonly Advice[] {
  const facts = factsOf(ctx, place, skipped);
  const first = firstOf(facts);
  if (first.do === 'stop') return [first];
  if (first.do === 'good' && scoreNow(facts) === 0) return [first]; // nothing is wrong: nothing to look for
  const others = apart([first, ...suspected(facts).filter((a) => a.do !== 'technician')]).slice(1);
  if (first.do === 'turn' && first.why === 'by-feel') others.unshift({ do: 'sew', why: 'not-sewn' });
  const beside = others.slice(0, 2).map((a): Advice => (a.why === 'likely' ? { ...a, why: 'mends' } : a));
  return [first, ...beside];
}
/** Each thing to do once. To look whether it helps and to do it are one and the same to the hands. */
export const apart = (all: readonly Advice[]): Advice[] =>
  all.filter((a, i) => all.findIndex((b) => nameOf(b) === nameOf(a)) === i);
const nameOf = (a: Advice) => ('finding' in a ? a.finding : 'action' in a ? a.action : a.do);

/** What the fault model suspects now, for "why" and "why not". */
export const suspectsNow = (ctx: Ctx, place: { readonly balancing: string; readonly round: number }) =>
  suspects(factsOf(ctx, place, []));

/** Good one way and not another. Lines that are all off to one side are a setting, however much they differ. */
function differ(f: Facts): boolean {
  const signs = new Set(f.now.flatMap((x) => x.rays.map((r) => Math.sign(r.score))));
  return signs.size > 1;
}

function check(f: Facts, finding: string, why: string): Advice | undefined {
  const states = statesOf(finding);
  if (!states || f.state(finding) !== undefined || f.done(finding) || f.skipped(finding)) return undefined;
  return { do: 'check', finding, states, mends: mending.has(finding), why };
}
function act(f: Facts, action: string, why: string): Advice | undefined {
  if (f.done(action) || f.skipped(action)) return undefined;
  return action === 'new_needle' ? { do: 'act', action, event: 'new-needle', why } : { do: 'act', action, why };
}
const first = <T>(list: readonly T[], find: (x: T) => Advice | undefined): Advice | undefined => {
  for (const x of list) {
    const advice = find(x);
    if (advice) return advice;
  }
  return undefined;
};

/** What was found unsafe and not gone through since, step by step. */
const safety: Rule = (f) => {
  const found = unsafe.find(
    ([finding, states]) => states.includes(f.state(finding) ?? '') && f.toldAt(finding) > f.doneAt('checked'),
  );
  return found && { do: 'stop', happened: happenedBy(f, found[0]), why: 'unsafe' };
};
function happenedBy(f: Facts, finding: string): Happening {
  if (finding === 'nest') return 'jam';
  if (finding === 'warning' && f.state('warning') !== 'error') return 'heat';
  return finding === 'warning' || finding === 'command_check' ? 'runs-by-itself' : 'knock';
}

/** A turn that the trade's rules allow with what was found; else what comes before it, and no knob at all. */
function permitted(f: Facts, a: Advice & { readonly do: 'turn' }): Advice {
  const last = f.ctx.readings.findLast((r) => r.type === 'drop' && bobbinScrew(r.bobbinCase ?? '') === a.screw);
  if (last && withoutGain(f.ctx, last) !== undefined)
    return act(f, 'swap_case', 'circles') ?? { do: 'technician', why: 'circles' };
  const no = turnForbidden(f, a);
  if (!no) return a;
  const other =
    (no === 'lint-first' ? check(f, 'card_spring', 'before-knobs') : undefined) ??
    (no === 'bobbin-first' && !f.skipped('drop') ? ({ do: 'drop', why: 'bobbin-first' } as const) : undefined) ??
    (no === 'both-out' ? bothOut(f) : undefined) ??
    first(['floss_discs', 'threading_walk'], (l) => check(f, l, 'before-knobs')) ??
    suspected(f).find((x) => x.do === 'check' || x.do === 'act');
  if (other) return other;
  if (Math.abs(scoreNow(f)) === 1 && !f.skipped('accept')) return { do: 'good', why: 'accept' };
  return f.skipped('technician') ? { do: 'see', why: 'nothing-more' } : { do: 'technician', why: 'used-up' };
}

const mendWhatWasFound: Rule = (f) => {
  const found = remedies.filter(([finding, state]) => f.state(finding) === state);
  const technician = found.find(([, , action]) => action === 'technician');
  if (technician && !f.skipped('technician')) return { do: 'technician', why: technician[0] };
  const acts = found.filter(([, , action]) => action !== 'technician');
  return first(ordered(f, [...new Set(acts.map(([, , action]) => `!${action}`))]), (id) =>
    act(f, id.slice(1), acts.find(([, , action]) => `!${action}` === id)?.[0] ?? ''),
  );
};

const bobbinFirst: Rule = (f) => {
  const tested = f.drops.some((d) => d.at > f.bobbinMovedAt);
  return tested || f.skipped('drop') ? undefined : { do: 'drop', why: 'bobbin-first' };
};

/** Until three drops agree nothing else is worth doing. */
const unsteadyBobbin: Rule = (f) => {
  const last = f.drops.at(-1);
  if (last?.state !== 'jerky') return undefined;
  if (f.doneAt('swap_case') > last.at && !f.skipped('drop')) return { do: 'drop', why: 'bobbin-first' };
  const cases = new Set(f.drops.filter((d) => d.state === 'jerky').map((d) => d.bobbinCase));
  if (cases.size > 1) return f.skipped('technician') ? undefined : { do: 'technician', why: 'two-cases' };
  return (
    first(['card_spring', 'bobbin_look', 'swap_bobbin'], (l) => check(f, l, 'disagree')) ??
    act(f, 'swap_case', 'disagree')
  );
};

/** Some things are a technician's by themselves. */
const technicians: Rule = (f) => {
  if (f.skipped('technician')) return undefined;
  const lifted = f.ctx.events.findLast((e) => e.type === 'lifted')?.at ?? 0;
  const jams = f.ctx.events.filter((e) => e.type === 'jam' && e.at > Math.max(lifted, f.ctx.now - dayMs)).length;
  if (jams > 1) return { do: 'technician', why: 'two-jams' };
  const seated = f.state('floss_discs') === 'clean' || f.state('threading_walk') === 'right';
  return seated && f.state('top_knob_response') === 'no_change' ? { do: 'technician', why: 'knob-dead' } : undefined;
};
const dayMs = 24 * 3_600_000;

/** Looks and acts that take stitches to tell. */
const needsStitches: ReadonlySet<string> = new Set([
  ...['slow_down', 'tails', 'turn_sample', '!patch_care', '!shorter_stitch', '!match_hands'],
]);

/** In the middle of a quilt that was good already, what was seen leads to looks that take no stitch first. */
const lookFirstInAQuilt: Rule = (f) =>
  f.midQuilt && f.now.length === 0 ? gate(f, (look) => !needsStitches.has(look)) : undefined;

/** The path was looked at, and no fault stands that no knob sets right: then a pull that is plainly off is set before it is sewn. */
const byFeel: Rule = (f) => {
  if (gates.some(([finding, states]) => states.includes(f.seen(finding) ?? ''))) return undefined;
  const advice = turningByFeel(f);
  if (!advice) return undefined;
  return (
    check(f, 'card_spring', 'before-knobs') ??
    check(f, 'threading_walk', 'before-knobs') ??
    (f.state('pull_top') === 'light' ? check(f, 'floss_discs', 'pull_top') : undefined) ??
    likelier(f) ??
    advice
  );
};

const sewToSee: Rule = (f) => (f.now.length > 0 || f.skipped('sew') ? undefined : { do: 'sew', why: 'not-sewn' });

/** Seen things that no knob sets right, each with its looks in the order of their cost. */
const gatesBeforeKnobs: Rule = (f) => gate(f, () => true);

function gate(f: Facts, may: (look: string) => boolean): Advice | undefined {
  const standing = gates.filter(([finding, states]) => states.includes(f.seen(finding) ?? ''));
  const looks = [...new Set(standing.flatMap(([, , all]) => all))].filter(may);
  return first(ordered(f, looks), (look) => {
    const why = standing.find(([, , all]) => all.includes(look))?.[0] ?? '';
    return look.startsWith('!') ? act(f, look.slice(1), why) : check(f, look, why);
  });
}

const oneDirection: Rule = (f) => {
  if (!differ(f)) return undefined;
  const star =
    f.now.some((x) => x.rays.length > 2) || f.skipped('star') ? undefined : ({ do: 'star', why: 'differ' } as const);
  const modes = new Set(f.now.map((x) => x.mode)).size > 1 && new Set(f.now.map((x) => scoreOf([x]))).size > 1;
  const looks = modes
    ? ['encoder_look', 'slow_down']
    : ['push_up', 'needle_look', '!new_needle', 'foot_gap', 'roll_check', 'turn_sample'];
  return (
    star ??
    first(ordered(f, looks), (l) => (l.startsWith('!') ? act(f, l.slice(1), 'differ') : check(f, l, 'differ'))) ??
    (f.skipped('technician') ? { do: 'good', why: 'accept' } : { do: 'technician', why: 'differ' })
  );
};

const feelOfTheStitch: Rule = (f) => {
  if (f.now.length === 0) return undefined;
  const firmness = f.seen('firmness');
  if (marked(f, 'both-faces'))
    return (
      first(ordered(f, ['needle_size', 'push_up', 'batting_side']), (l) => check(f, l, 'both-faces')) ??
      denseCloth(f) ??
      suspected(f).find((a) => a.do === 'check' || a.do === 'act') ??
      (f.skipped('accept') ? undefined : { do: 'good', why: 'accept' })
    );
  const { normal } = stepMinutes.top;
  const by = (minutes: number, why: string) => turn(f, topScrew(f.ctx.machine), minutes, why);
  if (scoreOf(f.now) === 0) {
    if (marked(f, 'draws-in') || firmness === 'puckered') return bothOut(f) ?? by(-normal, 'draws-in');
    if (marked(f, 'lifts') || firmness === 'slack_both') return bothOut(f) ?? by(normal, 'lifts');
  }
  if (!untold(f)) return undefined;
  if (firmness === 'slack_back' || f.seen('top_on_back') === 'pulled_down') return by(normal, 'top-on-back');
  if (firmness === 'slack_top' || f.seen('bobbin_on_top') === 'pulled_up') return by(-normal, 'bobbin-on-top');
  return firmness === 'snug' ? { do: 'good', why: 'snug' } : { do: 'see', why: 'cant-tell' };
};

/** Balanced on the face of it, but drawn or slack: where drop and feel are both out, both threads start again. */
const bothOut = (f: Facts): Advice | undefined => {
  const advice = turning(f);
  return advice && 'do' in advice && advice.do === 'neutral' ? advice : undefined;
};

const hidesNothing = [
  ['scrap_test', 'gone'],
  ['backing', 'dense'],
  ['batting_side', 'thin'],
  ['loft', 'thin'],
  ['thread_kind', 'heavy'],
] as const;

/** Dots that a dense backing, a thin batting or a fat thread can't hide: match the colours, agree on it, go on. */
function denseCloth(f: Facts): Advice | undefined {
  const bench = benchFindings(f.ctx);
  const told = (finding: string) => f.state(finding) ?? bench[finding];
  const cannotHide = hidesNothing.some(([finding, state]) => told(finding) === state);
  return cannotHide && !f.skipped('accept') ? { do: 'good', why: 'dense' } : undefined;
}

/** As good as this kind of work asks; unknown work asks for balance. */
const goodEnough: Rule = (f) => {
  if (f.now.length === 0 || untold(f)) return undefined;
  const said = f.work
    ? passes(
        f.work,
        f.now.flatMap((x) => x.rays),
        f.matched,
      )
    : undefined;
  if (said === 'sew-all' && !f.skipped('star')) return { do: 'star', why: 'all-directions' };
  if (scoreOf(f.now) === 0) return { do: 'good', why: 'balanced' };
  return said === 'passes' ? { do: 'good', why: 'tolerance' } : undefined;
};

/** Before any knob, once a balancing: what is new since it was good, lint, path, and the top's feel. */
const oncePerBalancing: Rule = (f) =>
  scoreNow(f) === 0
    ? undefined
    : (first(looksSince(sinceGood(f.ctx)), (look) => check(f, look, 'since-good')) ??
      check(f, 'card_spring', 'before-knobs') ??
      check(f, 'threading_walk', 'before-knobs') ??
      (f.state('pull_top') === undefined && !f.skipped('feel') ? { do: 'feel', why: 'before-knobs' } : undefined) ??
      (f.state('pull_top') === 'light' && scoreNow(f) > 0 ? check(f, 'floss_discs', 'pull_top') : undefined) ??
      (f.state('pull_top') === 'jerky' ? check(f, 'supply_look', 'pull_top') : undefined));

/**
 * Three moves without a gain, or a fault that changes face and back again: the setting is not the trouble. Moves that grow
 * smaller close in on it from both sides, and are no circle until they are as small as they come.
 */
const goingInCircles: Rule = (f) => {
  const scores = rounds(f);
  const [third, , last] = f.topMoves.slice(-3).map(Math.abs);
  const closing = third !== undefined && last !== undefined && last < third && last > stepMinutes.top.small;
  const noGain =
    last !== undefined && scores.length > 3 && Math.abs(scores.at(-1) ?? 0) >= Math.abs(scores.at(-4) ?? 0);
  const flips = scores.filter((s, i) => i > 0 && s !== 0 && Math.sign(s) === -Math.sign(scores[i - 1] ?? 0)).length;
  if (closing || (!noGain && flips < 2)) return undefined;
  const neutral = f.ctx.changes.some(
    (c) => c.screw === topScrew(f.ctx.machine) && c.type === 'neutral' && c.at >= f.startedAt,
  );
  return (
    first(ordered(f, ['check_spring', 'hook_look']), (l) => check(f, l, 'circles')) ??
    act(f, 'new_needle', 'circles') ??
    (Math.abs(scoreOf(f.now)) === 1 ? denseCloth(f) : undefined) ??
    (neutral || f.skipped('neutral') ? undefined : { do: 'neutral', screw: topScrew(f.ctx.machine), why: 'circles' }) ??
    act(f, 'known_thread', 'circles') ??
    (Math.abs(scoreOf(f.now)) === 1 && !f.skipped('accept') ? { do: 'good', why: 'accept' } : undefined) ??
    (f.skipped('technician') ? undefined : { do: 'technician', why: 'circles' })
  );
};

const longWithoutGain: Rule = (f) => {
  const scores = rounds(f);
  const worse = scores.length >= manyRounds && Math.abs(scores.at(-1) ?? 0) >= Math.abs(scores[0] ?? 0);
  return worse && f.ctx.now - f.startedAt > longMs && !f.skipped('technician')
    ? { do: 'technician', why: 'long' }
    : undefined;
};

const turnAScrew: Rule = (f) => {
  const advice = turning(f);
  if (!advice || 'do' in advice) return advice;
  const why = advice.recheck;
  const look = first(['floss_discs', 'hook_look', 'supply_look'], (l) => check(f, l, why));
  if (look) return look;
  const score = scoreNow(f);
  if (why !== 'no-step')
    return turn(f, topScrew(f.ctx.machine), Math.sign(score) * stepMinutes.top.normal, 'nothing-found');
  // No step is left between two places that are each on the wrong side: that is no setting.
  if (Math.abs(score) === 1 && !f.skipped('accept')) return { do: 'good', why: 'accept' };
  return f.skipped('technician') ? undefined : { do: 'technician', why: 'circles' };
};

const rules: readonly Rule[] = [
  safety,
  technicians,
  mendWhatWasFound,
  bobbinFirst,
  unsteadyBobbin,
  lookFirstInAQuilt,
  byFeel,
  sewToSee,
  gatesBeforeKnobs,
  oneDirection,
  feelOfTheStitch,
  goodEnough,
  oncePerBalancing,
  longWithoutGain,
  goingInCircles,
  likelier,
  turnAScrew,
];
