/**
 * A head as physics: a thread path of posts and discs above, a spring on a screw below, and the cloth that holds the lock where
 * the two pulls leave it. Pulls in cN, depths in sandwiches (0 top face, 1 back face), knobs in clock-minutes from where this
 * machine balances with this pair of threads.
 *
 * The lock is made below and drawn up against the cloth, whose hold grows with the way: depth falls in a straight line with
 * the pull of the top over `ratio` less the pull of the bobbin. Pulls at the stitch are taken as those at the needle.
 */
import { afterDiscs, afterPost, cNOf } from '../tension-physics';
import { between, type Random } from './random';
import { type Drawn, draw, dropBandMm } from './ranges';
import { strengthOf, type TopThread } from './threads';

/** All that sewing and testing read. Faults change it; nothing else knows which fault is there. */
export type Physics = {
  readonly cone: number;
  readonly mu: number;
  readonly wrapBefore: number; // deg, all holes
  readonly wrapAfter: number;
  readonly discForce: number; // at the place of balance
  readonly discPerMinute: number;
  readonly inDiscs: number; // 1 between the discs … 0 beside them
  readonly taken: number; // share of the pull that the take-up gives the stitch
  readonly ratio: number;
  readonly cloth: number;
  readonly bobbin: number; // running pull at the screw's place of balance, full bobbin
  readonly screwPerMinute: number;
  readonly staticOverRunning: number;
  readonly stop: number;
  /** Uneven pulls, as shares: a slow wander, a beat once a turn of the bobbin (period in stitches), and from drop to drop. */
  readonly topWander: number;
  readonly bobbinWander: number;
  readonly bobbinBeat: number;
  readonly bobbinBeatStitches: number;
  readonly dropSpread: number;
  /**
   * Chances a stitch at working speed: slack in the top, whipped off the cone or left at the stitch; a snag of the top; slack of
   * the bobbin; no loop caught; a fray through. What is thrown (whip, bobbin, a curve) goes with the square of the speed; the
   * rest is made at each stitch, hardly less at half speed.
   */
  readonly whip: number;
  readonly topSlack: number;
  readonly topSnag: number;
  readonly bobbinSlack: number;
  readonly skip: number;
  readonly fray: number;
  readonly flex: number;
  readonly flexToward: number; // deg
  readonly curve: number;
  readonly chord: number; // how far a long stitch cuts a curve, at any speed
  readonly speed: number; // 1 this person's working speed
  readonly stitchScatter: number;
  readonly lineScatter: number;
  readonly lengthRegulated: number;
  readonly lengthManual: number;
  readonly lengthSet: number; // 1 suits the work
  readonly lengthDrag: number; // more of it along the drag's own direction
  /** How far off the middle of the hole a lock is seen: a hole wider than the thread shows it sooner. */
  readonly hole: number;
  readonly lockShift: number; // dense cloth keeps the lock from rising
  readonly startSlack: number; // stitches at the start with the top slack
  readonly strength: number; // of the top thread, cN
  readonly nearEnd: number; // what the pull of the bobbin is multiplied by in its last yards
  readonly fresh: number; // and in its first
};

export type Fault = { readonly cause: string; readonly much: number }; // 0 hardly … 1 badly

export type Virtual = {
  readonly seed: number;
  readonly drawn: Drawn;
  readonly thread: TopThread;
  readonly base: Physics; // sound
  readonly faults: readonly Fault[];
  readonly top: number; // clock-minutes from balance, + is tighter
  readonly bobbin: number;
  readonly fill: number; // 1 full … 0 empty
};

/** A sound machine with these threads, standing at its balance. */
export function soundMachine(seed: number, r: Random, thread: TopThread): Virtual {
  const drawn = draw(r);
  const mu = between(r, ...thread.mu);
  const middle = (dropBandMm.from + dropBandMm.to) / 2;
  const fill = between(r, 0.35, 0.95);
  // It was set by dropping the case with the bobbin as it usually is: as full as now.
  const bobbin = cNOf(massAt(drawn, fill)) * (1 + drawn.shake / middle);
  const wanted = bobbin * drawn.ratio; // pull of the top at balance
  const holes = [3, 2, 1, 0].find((n) => discsFor(wanted, drawn, mu, n * drawn.wrapAtHole) > 0) ?? 0; // of a thread that drags, some are left out
  const wrapBefore = holes * drawn.wrapAtHole;
  const discForce = Math.max(5, discsFor(wanted, drawn, mu, wrapBefore));
  const base: Physics = {
    cone: drawn.cone,
    mu,
    wrapBefore,
    wrapAfter: drawn.wrapAfter,
    discForce,
    discPerMinute: (discForce * drawn.springPerTurn) / 60,
    inDiscs: 1,
    taken: 1,
    ratio: drawn.ratio,
    cloth: drawn.cloth,
    bobbin,
    screwPerMinute: drawn.screwPerMinute,
    staticOverRunning: drawn.staticOverRunning,
    stop: drawn.stop,
    topWander: 0.01,
    bobbinWander: 0.01,
    bobbinBeat: 0,
    bobbinBeatStitches: 30,
    dropSpread: 0.01,
    whip: 0.0005 * (1 + 4 * thread.slick),
    topSlack: 0,
    topSnag: 0,
    bobbinSlack: 0.0005,
    skip: 0.0002,
    fray: 0,
    flex: drawn.flex,
    flexToward: drawn.flexToward,
    curve: drawn.curve,
    chord: 0,
    speed: 1,
    stitchScatter: drawn.stitchScatter,
    lineScatter: drawn.lineScatter,
    lengthRegulated: drawn.lengthScatter,
    lengthManual: drawn.lengthScatter * 1.6,
    lengthSet: 1,
    lengthDrag: 0,
    hole: 0,
    lockShift: 0,
    startSlack: 0,
    // A thread that is sewn with here holds three times the pull at balance.
    strength: Math.max(strengthOf(thread), 3 * wanted),
    nearEnd: 1.03,
    fresh: 1,
  };
  return { seed, drawn, thread, base, faults: [], top: 0, bobbin: 0, fill };
}

/** Case and bobbin in g, thread used up or not. */
export const massAt = (d: Drawn, fill: number) => d.caseMass - (1 - fill) * d.bobbinThread;

/** The force on the discs that gives this pull at the needle. */
function discsFor(wanted: number, d: Drawn, mu: number, wrapBefore: number): number {
  return (wanted / afterPost(1, mu, d.wrapAfter) - afterPost(d.cone, mu, wrapBefore)) / (2 * mu);
}

/** Pull of the top at the needle: holes, discs, posts. A spring let off entirely presses no more; the posts still drag. */
export function topPull(p: Physics, knob: number): number {
  const force = Math.max(0, p.discForce + p.discPerMinute * knob) * p.inDiscs;
  return afterPost(afterDiscs(afterPost(p.cone, p.mu, p.wrapBefore), p.mu, force), p.mu, p.wrapAfter);
}

/** Running pull of the bobbin. A nearly empty one turns on a smaller radius. */
export function bobbinPull(p: Physics, screw: number, fill: number): number {
  const spring = Math.max(0.05, 1 + p.screwPerMinute * screw);
  const level = fill < 0.12 ? p.nearEnd : fill > 0.9 ? p.fresh : 1;
  return p.bobbin * spring * level;
}

/** Depth of the lock that these two pulls lead to, before flex, curve and scatter. */
export function lockDepth(p: Physics, top: number, bobbin: number): number {
  return 0.5 + p.lockShift - ((p.taken * top) / p.ratio - bobbin) / p.cloth;
}
