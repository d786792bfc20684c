/**
 * What to do next in a balancing, by the plain rules of the trade (common practice, no published source): safety, then mend
 * what was found, then gates before knobs, bobbin before top, small moves one at a time, neutral when turning goes in
 * circles, a technician or "good enough" as answers of their own. The first rule that speaks is the advice.
 */
import type { Ctx, Kept, Sample } from './context';
import { gates, mending, remedies, statesOf } from './gates';
import { topScrew } from './ledger';
import type { Happening } from './stop-checks';

export type Advice =
  | { readonly do: 'turn'; readonly screw: string; readonly minutes: number; readonly why: string }
  | { readonly do: 'neutral'; readonly screw: string; readonly why: string }
  | {
      readonly do: 'check';
      readonly finding: string;
      readonly states: readonly string[];
      readonly mends: boolean;
      readonly why: string;
    }
  | { readonly do: 'act'; readonly action: string; readonly event?: string; readonly why: string }
  | { readonly do: 'drop' | 'feel' | 'sew' | 'star' | 'see' | 'technician' | 'good'; readonly why: string }
  | { readonly do: 'stop'; readonly happened: Happening; readonly why: string };

/** Normal moves of the top in clock-minutes; 15 when near, 60 when far off. */
const near = 15;
const normal = 30;
const farOff = 60;
/** This long, and this many rounds, without a gain: somebody else's eyes. */
const longMs = 45 * 60_000;
const manyRounds = 4;

/** What this balancing knows, worked out once. */
type Facts = {
  readonly ctx: Ctx;
  readonly round: number;
  readonly state: (finding: string) => string | undefined; // the last word on a finding in this balancing
  readonly seen: (finding: string) => string | undefined; // and in this round: what was seen before may be gone
  readonly done: (action: string) => boolean;
  readonly skipped: (what: string) => boolean;
  readonly samples: readonly Kept<Sample>[]; // oldest first
  readonly now: readonly Kept<Sample>[]; // of this round
  readonly topMoves: readonly number[];
  readonly startedAt: number;
};
type Rule = (f: Facts) => Advice | undefined;

export function nextStep(
  ctx: Ctx,
  place: { readonly balancing: string; readonly round: number },
  skipped: readonly string[],
): Advice {
  const own = <T extends { readonly balancing?: string }>(rows: readonly T[]) =>
    rows.filter((r) => r.balancing === place.balancing);
  const struck = new Set(ctx.changes.map((c) => c.strikes));
  const samples = own(ctx.samples);
  const findings = own(ctx.findings);
  const facts: Facts = {
    ctx,
    round: place.round,
    state: (finding) => findings.findLast((x) => x.finding === finding)?.state,
    seen: (finding) => findings.findLast((x) => x.finding === finding && x.round === place.round)?.state,
    done: (action) =>
      own(ctx.events).some((e) => e.step === action || (action === 'new_needle' && e.type === 'new-needle')),
    skipped: (what) => skipped.includes(what),
    samples,
    now: samples.filter((x) => x.round === place.round),
    topMoves: own(ctx.changes)
      .filter((c) => c.screw === topScrew(ctx.machine) && c.minutes !== undefined && !struck.has(c.id))
      .map((c) => c.minutes ?? 0),
    startedAt: ctx.balancings.find((b) => b.id === place.balancing)?.at ?? ctx.now,
  };
  for (const rule of rules) {
    const advice = rule(facts);
    if (advice) return advice;
  }
  return { do: 'see', why: 'nothing-more' };
}

/** Score of a round: −2 … +2, the worst ray with the sign of the sum; 0 where the rays pull both ways alike. */
function scoreOf(samples: readonly Kept<Sample>[]): number {
  const rays = samples.flatMap((x) => x.rays);
  const sum = rays.reduce((n, r) => n + r.score, 0);
  return Math.sign(sum) * Math.max(0, ...rays.map((r) => Math.abs(r.score)));
}
/** The score of this round, by the lines or, where none were sewn, by what was named. */
function scoreNow(f: Facts): number {
  if (f.now.length > 0) return scoreOf(f.now);
  const strength = (finding: string) => ({ none: 0, dots: 1 })[f.seen(finding) ?? 'none'] ?? 2;
  return strength('top_on_back') - strength('bobbin_on_top');
}
const marked = (f: Facts, mark: string) => f.now.some((x) => x.rays.some((r) => r.marks?.includes(mark)));
const untold = (f: Facts) => f.now.every((x) => x.rays.every((r) => r.marks?.includes('cant-tell')));
/** Good one way and not another. Lines that are all off to one side are a setting, however much they differ. */
function differ(f: Facts): boolean {
  const signs = new Set(f.now.flatMap((x) => x.rays.map((r) => Math.sign(r.score))));
  return signs.size > 1;
}

function check(f: Facts, finding: string, why: string): Advice | undefined {
  const states = statesOf(finding);
  if (!states || f.state(finding) !== undefined || f.skipped(finding)) return undefined;
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

const safety: Rule = (f) => {
  if (f.done('checked')) return undefined; // gone through since, step by step
  if (f.state('case_seat') === 'loose' || f.state('noise') === 'tick' || f.state('hand_turn') === 'binds')
    return { do: 'stop', happened: 'knock', why: 'unsafe' };
  if (f.state('command_check') === 'no') return { do: 'stop', happened: 'runs-by-itself', why: 'unsafe' };
  return f.state('nest') === 'any' ? { do: 'stop', happened: 'jam', why: 'unsafe' } : undefined;
};

const mendWhatWasFound: Rule = (f) =>
  first(remedies, ([finding, state, action]) => {
    if (f.state(finding) !== state) return undefined;
    return action === 'technician'
      ? f.skipped('technician')
        ? undefined
        : { do: 'technician', why: finding }
      : act(f, action, finding);
  });

const bobbinFirst: Rule = (f) => {
  const tested = f.ctx.readings.some(
    (r) => r.balancing !== undefined && (r.type === 'drop' || r.type === 'finger') && r.at >= f.startedAt,
  );
  return tested || f.skipped('drop') ? undefined : { do: 'drop', why: 'bobbin-first' };
};

const sewToSee: Rule = (f) => (f.now.length > 0 || f.skipped('sew') ? undefined : { do: 'sew', why: 'not-sewn' });

/** Seen things that no knob sets right, each with its looks in the order of their cost. */
const gatesBeforeKnobs: Rule = (f) =>
  first(gates, ([finding, states, looks]) => {
    const state = f.seen(finding);
    return state !== undefined && states.includes(state)
      ? first(looks, (look) => (look.startsWith('!') ? act(f, look.slice(1), finding) : check(f, look, finding)))
      : undefined;
  });

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
    first(looks, (l) => (l.startsWith('!') ? act(f, l.slice(1), 'differ') : check(f, l, 'differ'))) ??
    (f.skipped('technician') ? { do: 'good', why: 'accept' } : { do: 'technician', why: 'differ' })
  );
};

const feelOfTheStitch: Rule = (f) => {
  if (f.now.length === 0) return undefined;
  const firmness = f.seen('firmness');
  if (marked(f, 'both-faces'))
    return first(['needle_size', 'push_up', 'batting_side'], (l) => check(f, l, 'both-faces'));
  if (marked(f, 'draws-in') || firmness === 'puckered') return turn(f, -normal, 'draws-in');
  if (marked(f, 'lifts') || firmness === 'slack_both') return turn(f, normal, 'lifts');
  if (!untold(f)) return undefined;
  if (firmness === 'slack_back' || f.seen('top_on_back') === 'pulled_down') return turn(f, normal, 'top-on-back');
  if (firmness === 'slack_top' || f.seen('bobbin_on_top') === 'pulled_up') return turn(f, -normal, 'bobbin-on-top');
  return firmness === 'snug' ? { do: 'good', why: 'snug' } : { do: 'see', why: 'cant-tell' };
};

const goodEnough: Rule = (f) =>
  f.now.length > 0 && scoreOf(f.now) === 0 && !untold(f) ? { do: 'good', why: 'balanced' } : undefined;

/** Before any knob, once a balancing: lint, path, and the top's feel. */
const oncePerBalancing: Rule = (f) =>
  scoreNow(f) === 0
    ? undefined
    : (check(f, 'card_spring', 'before-knobs') ??
      check(f, 'threading_walk', 'before-knobs') ??
      (f.state('pull_top') === undefined && !f.skipped('feel') ? { do: 'feel', why: 'before-knobs' } : undefined) ??
      (f.state('pull_top') === 'light' && scoreNow(f) > 0 ? check(f, 'floss_discs', 'pull_top') : undefined) ??
      (f.state('pull_top') === 'jerky' ? check(f, 'supply_look', 'pull_top') : undefined));

/** Three moves without a gain, or a fault that changes face and back again: the setting is not the trouble. */
const goingInCircles: Rule = (f) => {
  const scores = rounds(f);
  const lastThree = f.topMoves.slice(-3);
  const noGain =
    lastThree.length === 3 && scores.length > 3 && Math.abs(scores.at(-1) ?? 0) >= Math.abs(scores.at(-4) ?? 0);
  const flips = scores.filter((s, i) => i > 0 && s !== 0 && Math.sign(s) === -Math.sign(scores[i - 1] ?? 0)).length;
  if (!noGain && flips < 2) return undefined;
  const neutral = f.ctx.changes.some(
    (c) => c.screw === topScrew(f.ctx.machine) && c.type === 'neutral' && c.at >= f.startedAt,
  );
  return (
    first(['check_spring', 'hook_look'], (l) => check(f, l, 'circles')) ??
    act(f, 'new_needle', 'circles') ??
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

/** Bobbin proven, so the top moves: it is quick and comes back. Half of the last move when that one went too far. */
const turnTheTop: Rule = (f) => {
  const score = scoreNow(f);
  if (score === 0) return undefined;
  const last = f.topMoves.at(-1);
  const over = last !== undefined && Math.sign(last) === -Math.sign(score);
  const size = over ? near : Math.abs(score) === 2 ? farOff : normal;
  return turn(f, Math.sign(score) * size, score > 0 ? 'top-on-back' : 'bobbin-on-top');
};

const turn = (f: Facts, minutes: number, why: string): Advice => ({
  do: 'turn',
  screw: topScrew(f.ctx.machine),
  minutes,
  why,
});

/** Scores of the rounds so far, oldest first. */
function rounds(f: Facts): readonly number[] {
  return [...new Set(f.samples.map((x) => x.round ?? 0))].map((r) =>
    scoreOf(f.samples.filter((x) => (x.round ?? 0) === r)),
  );
}

const rules: readonly Rule[] = [
  safety,
  mendWhatWasFound,
  bobbinFirst,
  sewToSee,
  gatesBeforeKnobs,
  oneDirection,
  feelOfTheStitch,
  goodEnough,
  oncePerBalancing,
  longWithoutGain,
  goingInCircles,
  turnTheTop,
];
