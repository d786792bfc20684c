/** What a balancing knows, put before the fault model: the situation, and its steps as advice. */
import { diagnose, type Findings, type Suspicion } from '../diagnosis';
import { looksSince, sinceGood } from '../since-good';
import { bestAct, byPromise, nextSteps, type Situation, type Step } from '../troubleshoot';
import { type Forbidden, forbidden } from '../troubleshoot-rules';
import { benchFindings, onsetOf } from './bench-findings';
import type { Ctx, Kept, Sample } from './context';
import { gates, mending, remedies, statesOf } from './gates';
import { isBobbin } from './ledger';
import { type Facts, factsOf, marked, rounds, scoreOf } from './next-facts';
import type { Advice } from './next-step';

/** What is reckoned for the same facts is reckoned once. */
function once<T>(reckon: (f: Facts) => T): (f: Facts) => T {
  const known = new WeakMap<Facts, { readonly is: T }>();
  return (f) => {
    const is = known.get(f) ?? { is: reckon(f) };
    known.set(f, is);
    return is.is;
  };
}

export const situationOf = once((f: Facts): Situation => {
  const dropped = f.drops.at(-1)?.state;
  const told = [...new Set(f.ctx.findings.filter((x) => x.at >= f.startedAt).map((x) => x.finding))];
  const own = told.flatMap((finding) => {
    // What was seen may be gone since; what was tested or looked at stands until it is told anew.
    const state = isSeen(finding) ? f.seen(finding) : f.stands(finding);
    return state === undefined ? [] : [[finding, state]];
  });
  const found: Findings = {
    ...benchFindings(f.ctx),
    ...(f.now.length > 0 ? linesTold(f) : {}),
    ...(dropped && f.drops.some((d) => d.at > f.bobbinMovedAt) ? { drop_test: dropped } : {}),
    ...knobTold(f),
    ...Object.fromEntries(own),
  };
  return {
    found,
    onset: onsetOf(f.ctx),
    tried: [...new Set([...[...appActs].filter((a) => f.done(a)), ...mendedByLooking(f)])],
    notNow: [...(f.skipped('drop') ? ['drop_test'] : []), ...(f.skipped('feel') ? ['pull_top'] : [])],
    noStitches: f.midQuilt && f.now.length === 0,
  };
});

/** A look that mends by being done was in vain where lines were sewn since and are no better; what it found stands no more. */
const mendedByLooking = (f: Facts): readonly string[] =>
  [...mending].flatMap((look) => {
    const state = f.state(look);
    const sewn = f.now.some((s) => s.at > f.toldAt(look));
    return state === undefined || state === statesOf(look)?.[0] || !sewn
      ? []
      : [look === 'threading_walk' ? 'rethread_top' : look];
  });

/** Why the trade's rules do not allow this turn with what was found. A test that was put off can't come first. */
export function turnForbidden(
  f: Facts,
  a: { readonly screw: string; readonly minutes: number; readonly why: string },
): Forbidden | undefined {
  const s = situationOf(f);
  const can = (look: string) => f.skipped(look);
  const act = `${isBobbin(a.screw) ? 'bobbin' : 'top'}_${a.minutes > 0 ? 'tighter' : 'looser'}`;
  const notNow = [...(s.notNow ?? []), ...['card_spring', 'floss_discs', 'threading_walk'].filter(can)];
  const no = forbidden(act, { found: s.found, tried: s.tried ?? [], notNow });
  const own = no && a.why in saidByRule && saidByRule[a.why]?.includes(no);
  return own && (no !== 'bobbin-first' || f.skipped('drop')) ? undefined : no;
}
/**
 * Where the trade's rule of two plausible sides says otherwise: the screw that was just changed (a), a top at its end (i), and
 * what is strained, lifts or neither while the drop can't be made (f, g, h).
 */
const saidByRule: { readonly [why: string]: readonly Forbidden[] } = {
  'just-changed': ['in-band', 'bobbin-first'],
  'top-at-end': ['in-band', 'bobbin-first'],
  'loosen-winner': ['bobbin-first'],
  'tighten-loser': ['bobbin-first', 'both-out'],
  'loosen-first': ['bobbin-first'],
};

/** Acts that the app can ask for, and writes down as done. */
const appActs: ReadonlySet<string> = new Set([
  ...remedies.map(([, , act]) => act),
  ...['known_thread', 'swap_case', 'patch_care', 'shorter_stitch', 'match_hands', 'hold_up', 'renew_eyelet'],
  ...['rethread_top', 'rethread_bobbin', 'seat_case', 'room_air', 'rewind_bobbin', 'replace_guide', 'hold_tails'],
]);

const seenKinds: ReadonlySet<string> = new Set([
  ...[
    'bobbin_on_top',
    'top_on_back',
    'both_sides',
    'pattern_time',
    'direction',
    'stitch_length',
    'skips',
    'top_breaks',
  ],
  ...['bobbin_breaks', 'broken_end', 'random_loops', 'eyelash', 'nest', 'firmness', 'holes', 'fibre', 'patch_only'],
]);
const isSeen = (finding: string) => seenKinds.has(finding);

/** The lines of this round as findings: which face, how badly, one way or all, one mode or both. */
function linesTold(f: Facts): Findings {
  const score = scoreOf(f.now);
  const size = Math.abs(score);
  const rays = f.now.flatMap((x) => x.rays);
  const signs = new Set(rays.map((r) => Math.sign(r.score)));
  const face = (shows: boolean, some: string, more: string) => (shows ? (size === 1 ? some : more) : 'none');
  const readable = !rays.every((r) => r.marks?.includes('cant-tell'));
  return {
    ...(readable
      ? {
          top_on_back: face(score > 0, 'dots', 'pulled_down'),
          bobbin_on_top: face(score < 0, 'dots', 'pulled_up'),
          direction: signs.size > 1 ? worstWay(rays) : 'all_same',
        }
      : {}),
    ...modeTold(f.now),
    ...(marked(f, 'both-faces') ? { both_sides: 'dots_both' } : {}),
    ...(marked(f, 'draws-in') ? { firmness: 'puckered' } : marked(f, 'lifts') ? { firmness: 'slack_both' } : {}),
  };
}

/** Directions are 0 away, clockwise seen from above. */
function worstWay(rays: Sample['rays']): string {
  const worst = rays.reduce((a, b) => (Math.abs(b.score) > Math.abs(a.score) ? b : a));
  if (typeof worst.direction !== 'number') return 'curves';
  const d = worst.direction;
  return d <= 45 || d >= 315 ? 'away' : d >= 135 && d <= 225 ? 'toward' : 'sideways';
}

function modeTold(now: readonly Kept<Sample>[]): Findings {
  const of = (mode: string) => now.filter((x) => x.mode === mode);
  const [regulated, manual] = [of('regulated'), of('manual')];
  if (regulated.length === 0 || manual.length === 0) return {};
  const [r, m] = [Math.abs(scoreOf(regulated)), Math.abs(scoreOf(manual))];
  return { mode_dep: r === m ? 'same' : r > m ? 'regulated_only' : 'manual_only' };
}

/**
 * A whole turn of the top and more, all one way, and the lines as before: the knob does nothing. Loops tell so only after three:
 * far off they look alike for as long.
 */
function knobTold(f: Facts): Findings {
  const scores = rounds(f);
  const sum = f.topMoves.reduce((a, b) => a + b, 0);
  const oneWay = f.topMoves.every((m) => Math.sign(m) === Math.sign(sum));
  if (Math.abs(sum) < (Math.abs(scores[0] ?? 0) === 2 ? 180 : 60) || !oneWay || scores.length < 2) return {};
  return scores.at(-1) === scores[0] && scores[0] !== 0 ? { top_knob_response: 'no_change' } : {};
}

/** Looks and acts in the order of what they promise per minute; equal ones stay as they stand. */
export const ordered = (f: Facts, steps: readonly string[]): readonly string[] =>
  steps.length < 2 ? steps : byPromise(situationOf(f), steps);

/** An act with this chance of a cure goes before a knob. Our choice: one in three. */
const plainlyLikelier = 1 / 3;

/** Before a knob is turned: an act that is plainly likelier to be the cure. */
export function likelier(f: Facts): Advice | undefined {
  const first = bestAct(situationOf(f));
  return first && (first.chance ?? 0) >= plainlyLikelier ? adviceOf(f, first)[0] : undefined;
}

/** The best steps that the app can ask for now, as advice. Knobs are left to the rules that know how far. */
export const suspected = once((f: Facts): readonly Advice[] =>
  nextSteps(situationOf(f)).steps.flatMap((s) => adviceOf(f, s)),
);

export type Suspect = Pick<Suspicion, 'cause' | 'grade' | 'fits' | 'of' | 'why' | 'whyNot'>;
export type Suspects = { readonly model: number; readonly suspects: readonly Suspect[] };

/** The likeliest three, in words and counts only. */
export function suspects(f: Facts): Suspects {
  const { found, onset, tried } = situationOf(f);
  const { model, suspicions } = diagnose(found, onset, tried, undefined, 3);
  return {
    model,
    suspects: suspicions.map(({ cause, grade, fits, of, why, whyNot }) => ({ cause, grade, fits, of, why, whyNot })),
  };
}

/**
 * A look that pays with what was just named and with what the bench tells: no stitch, no task of its own, two minutes at
 * most. Of those that pay, one for what is new since it was good goes first.
 */
export function lookFor(
  ctx: Ctx,
  named: Findings,
): { readonly finding: string; readonly about: readonly string[] } | undefined {
  const pay = quickLooks({ found: { ...benchFindings(ctx), ...named }, onset: onsetOf(ctx) });
  const fresh = looksSince(sinceGood(ctx), ctx.findings);
  const look = pay.find((s) => fresh.some((f) => f === s.id)) ?? pay[0];
  return look && { finding: look.id, about: look.about };
}
const quickMinutes = 2;
const quickLooks = (s: Situation): readonly Step[] =>
  nextSteps({ ...s, notNow: [...(s.notNow ?? []), ...dropTests], noStitches: true }).steps.filter(
    (x) => x.kind === 'ask' && x.minutes <= quickMinutes && statesOf(x.id),
  );
const dropTests: readonly string[] = ['drop_test', 'finger_pad', 'gauge_bobbin'];

/**
 * What comes after a look outside a balancing: what mends what was found, else the next look or act, the one that leads to the
 * cure soonest. A setting is a balancing's, which proves the bobbin first.
 */
export type Onward =
  | { readonly do: 'check'; readonly finding: string; readonly about: readonly string[] }
  | { readonly do: 'act'; readonly action: string; readonly why: string; readonly about: readonly string[] }
  | { readonly do: 'technician'; readonly why: string }
  | { readonly do: 'balance' }
  | { readonly do: 'stop' };

export function onward(ctx: Ctx, found: Findings, tried: readonly string[], passed: readonly string[]): Onward {
  const now: Situation = { found: { ...benchFindings(ctx), ...found }, onset: onsetOf(ctx), tried, notNow: passed };
  const { steps } = nextSteps(now);
  if (steps[0]?.why === 'unsafe') return { do: 'stop' };
  const mend = remedies.find(([finding, state, act]) => found[finding] === state && !tried.includes(act));
  if (mend && mend[2] !== 'technician') return { do: 'act', action: mend[2], why: mend[0], about: [] };
  if (mend || steps[0]?.id === 'technician') return { do: 'technician', why: mend ? 'technician' : 'used-up' };
  const told = [...passed, ...Object.keys(found)];
  const look = quickLooks(now).find((s) => !told.includes(s.id));
  if (look) return { do: 'check', finding: look.id, about: look.about };
  const gated = gates.flatMap(([finding, states, looks]) =>
    states.includes(found[finding] ?? '')
      ? looks.map((l) => ({ id: l.replace('!', ''), why: finding, about: [] }))
      : [],
  );
  for (const { id, why, about } of [...gated, ...steps]) {
    if (dropTests.includes(id)) return { do: 'balance' };
    // An act that a look stands for is asked as the look.
    if (statesOf(id) && !told.includes(id)) return { do: 'check', finding: id, about };
    if (appActs.has(id) && !statesOf(id) && !tried.includes(id)) return { do: 'act', action: id, why, about };
  }
  return { do: 'balance' };
}

/** What is known at a step of a balancing, as findings: what the reasons name. */
export const foundNow = (ctx: Ctx, place: { readonly balancing: string; readonly round: number }): Findings =>
  situationOf(factsOf(ctx, place, [])).found;

function adviceOf(f: Facts, s: Step): readonly Advice[] {
  const { why, about } = s;
  if (f.skipped(s.id)) return [];
  if (dropTests.includes(s.id)) return f.skipped('drop') ? [] : [{ do: 'drop', why, about }];
  if (s.id === 'pull_top') return f.skipped('feel') ? [] : [{ do: 'feel', why, about }];
  if (s.id === 'technician') return f.skipped('technician') ? [] : [{ do: 'technician', why }];
  if (s.id === 'accept_it') return f.skipped('accept') ? [] : [{ do: 'good', why: 'accept' }];
  // An act that a look stands for is asked as the look.
  const states = statesOf(s.id);
  if (states)
    return f.state(s.id) === undefined
      ? [{ do: 'check', finding: s.id, states, mends: mending.has(s.id), why, about }]
      : [];
  if (!appActs.has(s.id) || f.done(s.id)) return [];
  return [{ do: 'act', action: s.id, ...(s.id === 'new_needle' ? { event: 'new-needle' } : {}), why, about }];
}
