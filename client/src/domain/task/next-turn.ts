/** Turning as a next step: which screw, how far, and a new neutral first where its count is broken. */
import { ledger, stepMinutes } from '../change';
import { type Pulls, type WhichWhy, whichScrew } from '../which-screw';
import { bobbinScrew, topScrew } from './ledger';
import { type Facts, marked, scoreNow } from './next-facts';

export type TurnAdvice =
  | { readonly do: 'turn'; readonly screw: string; readonly minutes: number; readonly why: string }
  | { readonly do: 'neutral'; readonly screw: string; readonly why: string };

/** Top moves in clock-minutes when the fault is loops or a wire, not dots: common practice, no published source. */
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
  const pull = f.state('pull_top');
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

/** Undefined where nothing pulls harder; `recheck` where a test and the stitch disagree, and which. */
export function turning(f: Facts): TurnAdvice | { readonly recheck: 'feel-disagrees' | 'drop-disagrees' } | undefined {
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

/** The top, for the score as it is. Half of a normal move when the last one went too far. */
function topBy(f: Facts, why: WhichWhy | 'both-out'): TurnAdvice | undefined {
  const score = scoreNow(f);
  if (score === 0) return undefined;
  const last = f.topMoves.at(-1);
  const over = last !== undefined && Math.sign(last) === -Math.sign(score);
  const size = over ? stepMinutes.top.small : Math.abs(score) === 2 ? farOff : stepMinutes.top.normal;
  const plain = why === 'bobbin-proven' || why === 'feel-off' || why === 'loosen-first' || why === 'both-out';
  return turn(f, topScrew(f.ctx.machine), Math.sign(score) * size, plain ? face(score) : why);
}
const face = (score: number) => (score > 0 ? 'top-on-back' : 'bobbin-on-top');

function bobbinBy(f: Facts, sign: 1 | -1, why: WhichWhy): TurnAdvice | undefined {
  const { bobbinCase } = f.ctx.bench;
  if (bobbinCase === undefined) return topBy(f, why);
  const last = f.bobbinMoves.at(-1);
  const size = last !== undefined && Math.sign(last) === -sign ? stepMinutes.bobbin.small : stepMinutes.bobbin.normal;
  return turn(f, bobbinScrew(bobbinCase), sign * size, why);
}

/** A move, or first a new neutral where the count was lost: a place is only as good as its last neutral. */
export function turn(f: Facts, screw: string, minutes: number, why: string): TurnAdvice {
  const at = ledger(f.ctx.changes, screw).position;
  const broken = at.state === 'lost' && at.why !== 'no-neutral';
  return broken && !f.skipped('neutral') ? { do: 'neutral', screw, why: at.why } : { do: 'turn', screw, minutes, why };
}
