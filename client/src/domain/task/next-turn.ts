/** Turning as a next step: which screw, how far, and a new neutral first where its count is broken. */
import { ledger, stepMinutes } from '../change';
import { howFar, type Sure } from '../how-far';
import { type Pulls, type WhichWhy, whichScrew } from '../which-screw';
import { onsetOf } from './bench-findings';
import { dropsOf, topPast } from './knob-past';
import { bobbinScrew, topScrew } from './ledger';
import { type Facts, marked, scoreNow } from './next-facts';

export type TurnAdvice =
  | {
      readonly do: 'turn';
      readonly screw: string;
      readonly minutes: number;
      readonly why: string;
      readonly sure?: Sure; // that it will be enough
    }
  | { readonly do: 'neutral'; readonly screw: string; readonly why: string };

/** Rounds that do not go with a knob that works, or that leave it no step. */
export type Odd = 'no-effect' | 'wrong-way' | 'no-step';
export type Turning =
  | TurnAdvice
  | { readonly do: 'sew'; readonly why: Odd } // once more, before anything is turned
  | { readonly recheck: 'feel-disagrees' | 'drop-disagrees' | Odd };

/** Of a dial, whose numbers are no minutes: more when the fault is loops or a wire, not dots. Common practice, no published source. */
const farOff = 60;
/** Where a top knob's useful range ends, counted from flush: five turns. Our choice, no source; a nut has about that much post. */
const topRange = 300;

const seenBreaks = [
  ['top_breaks', 'some'],
  ['top_breaks', 'often'],
  ['bobbin_breaks', 'some'],
  ['firmness', 'puckered'],
] as const;

/** What is known of the two threads' pulls; jerks of the top that nothing was found for are left out. */
export function pullsOf(f: Facts): Pulls {
  const firmness = f.seen('firmness') ?? '';
  const pull = f.stands('pull_top');
  const top = ledger(f.ctx.changes, topScrew(f.ctx.machine)).position;
  const at = top.state === 'known' ? top.minutes : 0;
  const last = f.drops.at(-1);
  const stands = last !== undefined && last.bobbinCase === f.ctx.bench.bobbinCase && last.at > f.bobbinMovedAt;
  return {
    score: scoreNow(f),
    drop: stands ? last.state : undefined,
    pull: pull === 'as_usual' || pull === 'stiff' || pull === 'light' ? pull : undefined,
    changed: f.changed,
    strained: marked(f, 'draws-in') || seenBreaks.some(([finding, state]) => f.seen(finding) === state),
    lifts: marked(f, 'lifts') || firmness.startsWith('slack'),
    topEnd: at >= topRange ? 'tight' : at <= -topRange ? 'loose' : undefined,
  };
}

/**
 * Before anything is sewn: the top by its pull alone, while that is plainly off. Only where a setting comes into question: with
 * something changed, the bobbin in its band, and nothing named that speaks of the other side. Common practice, no published
 * source; on the virtual machine it saves a sample.
 */
export function turningByFeel(f: Facts): TurnAdvice | undefined {
  const { score, drop, pull, topEnd } = pullsOf(f);
  if (pull !== 'stiff' && pull !== 'light') return undefined;
  const sign = pull === 'light' ? 1 : -1;
  if (f.samples.length > 0 || f.midQuilt || drop !== 'neutral' || score * sign < 0) return undefined;
  if (onsetOf(f.ctx) === 'wrong' && f.changed !== 'top') return undefined; // nobody touched it: it is the path
  const past = topPast(f);
  if (!past || topEnd === (sign > 0 ? 'tight' : 'loose')) return undefined;
  const { minutes } = howFar(past);
  return minutes * sign > 0 ? turn(f, topScrew(f.ctx.machine), minutes, 'by-feel') : undefined;
}

/** Undefined where nothing pulls harder; `recheck` where a test, the stitch or earlier rounds disagree, and which. */
export function turning(f: Facts): Turning | undefined {
  const which = whichScrew(pullsOf(f));
  if (!which) return undefined;
  if ('recheck' in which) return { recheck: which.why };
  if ('neutral' in which) {
    const { bobbinCase } = f.ctx.bench;
    const screw = bobbinCase === undefined ? topScrew(f.ctx.machine) : bobbinScrew(bobbinCase);
    return f.skipped('neutral') ? topBy(f, which.why) : { do: 'neutral', screw, why: which.why };
  }
  return which.turn === 'bobbin' ? bobbinBy(f, which.way === 'tighter' ? 1 : -1, which.why) : topBy(f, which.why);
}

/** The top, as far as the rounds say. */
function topBy(f: Facts, why: WhichWhy | 'both-out'): Turning | undefined {
  const score = scoreNow(f);
  if (score === 0) return undefined;
  const screw = topScrew(f.ctx.machine);
  const plain = why === 'bobbin-proven' || why === 'feel-off' || why === 'loosen-first' || why === 'both-out';
  const reason = plain ? (score > 0 ? 'top-on-back' : 'bobbin-on-top') : why;
  const past = topPast(f);
  if (!past) return turn(f, screw, byNumber(f, score), reason);
  const { minutes, sure, doubt } = howFar(past);
  const odd = doubt?.why ?? (minutes === 0 ? 'no-step' : undefined);
  if (!odd) return turn(f, screw, minutes, reason, sure);
  const again = past.rounds.filter((r) => r.place === past.here).length > 1;
  return again || f.skipped('sew') ? { recheck: odd } : { do: 'sew', why: odd };
}

/** Half of a normal move when the last one went too far. */
function byNumber(f: Facts, score: number): number {
  const last = f.topMoves.at(-1);
  const over = last !== undefined && Math.sign(last) === -Math.sign(score);
  return Math.sign(score) * (over ? stepMinutes.top.small : Math.abs(score) === 2 ? farOff : stepMinutes.top.normal);
}

/** The case screw: by its drops where they are out, else a normal step, a small one when the last went too far. */
function bobbinBy(f: Facts, sign: 1 | -1, why: WhichWhy): Turning | undefined {
  const { bobbinCase } = f.ctx.bench;
  if (bobbinCase === undefined) return topBy(f, why);
  const last = f.bobbinMoves.at(-1);
  const over = last !== undefined && Math.sign(last) === -sign;
  const most = over ? stepMinutes.bobbin.small : stepMinutes.bobbin.normal;
  const minutes = why === 'drop-out' ? howFar(dropsOf(f, bobbinCase)).minutes : sign * most;
  if (minutes === 0) return { recheck: 'no-step' };
  return turn(f, bobbinScrew(bobbinCase), sign * Math.min(most, Math.abs(minutes)), why);
}

/** A move, or first a new neutral where the count was lost: a place is only as good as its last neutral. */
export function turn(f: Facts, screw: string, minutes: number, why: string, sure?: Sure): TurnAdvice {
  const at = ledger(f.ctx.changes, screw).position;
  const broken = at.state === 'lost' && at.why !== 'no-neutral';
  return broken && !f.skipped('neutral')
    ? { do: 'neutral', screw, why: at.why }
    : { do: 'turn', screw, minutes, why, ...(sure ? { sure } : {}) };
}
