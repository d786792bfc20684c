/** Sewn lines of a virtual machine, stitch by stitch, and what a person makes of them. */
import { physicsOf } from './faults';
import { bobbinPull, lockDepth, type Physics, topPull, type Virtual } from './machine';
import { chance, type Random } from './random';
import { eye } from './ranges';

export type Mode = 'regulated' | 'manual';
export type Where = number | 'circle-left' | 'circle-right'; // degrees, 0 away, clockwise
export type Speed = 0.5 | 1;

export type SewnLine = {
  readonly where: Where;
  readonly depths: readonly number[]; // of each lock, NaN where none was made
  readonly lengths: readonly number[]; // 1 as set
  readonly broke: 'top' | undefined;
};

const stitches = 60; // about six inches

export function sewLine(v: Virtual, where: Where, r: Random, mode: Mode = 'regulated', speed: Speed = 1): SewnLine {
  const p = physicsOf(v);
  const pace = speed * p.speed;
  const mean = depthAt(p, v, where, pace) + p.lineScatter * r.normal();
  const swing = { top: topPull(p, v.top) / p.ratio / p.cloth, bobbin: bobbinPull(p, v.bobbin, v.fill) / p.cloth };
  // A lock that little pulls on floats: twice as slack, twice as loose.
  const slack = (2 * p.bobbin) / p.cloth / Math.max(0.1, p.taken * swing.top + swing.bobbin);
  const scatter = p.stitchScatter * Math.max(1, slack * slack);
  const slackDeep = 1.1 + 0.6 * r.next();
  let [wanderTop, wanderBobbin] = [r.normal(), r.normal()];
  let broke: 'top' | undefined;
  let tight = 0;
  const phase = r.next() * 2 * Math.PI;
  const depths: number[] = [];
  const lengths: number[] = [];
  const snaps = 0.012 * Math.max(0, (peak * topPull(p, v.top)) / p.strength - 0.6);
  for (let i = 0; i < stitches && !broke; i++) {
    wanderTop = 0.92 * wanderTop + 0.39 * r.normal();
    wanderBobbin = 0.92 * wanderBobbin + 0.39 * r.normal();
    const beat = p.bobbinBeat * Math.sin((2 * Math.PI * i) / p.bobbinBeatStitches + phase);
    const pulls =
      swing.bobbin * (p.bobbinWander * wanderBobbin + beat) -
      swing.top * p.topWander * wanderTop +
      scatter * r.normal();
    // A snag lets go after some stitches.
    tight = chance(r, p.topSnag) ? snagStitches : tight - 1;
    depths.push(oneLock(p, i, mean + pulls - (tight > 0 ? snagDraws : 0), pace, slackDeep, r));
    lengths.push(Math.max(0.1, p.lengthSet + lengthScatter(p, mode, where) * r.normal()));
    if (chance(r, p.fray * steady(pace) + snaps + p.topSnag * snagSnaps)) broke = 'top';
  }
  return { where, depths, lengths, broke };
}

/** How often at this pace what every stitch makes anew. Our estimate, as are the next two. */
const steady = (pace: number) => 0.75 + 0.25 * pace;
/** The take-up's jerk over the running pull; a thread begins to snap near two thirds of what it holds. */
const peak = 1.6;
/** A snag draws the lock up by so much for so many stitches, and so often snaps the thread. */
const snagDraws = 0.38;
const snagStitches = 8;
const snagSnaps = 0.03;

function oneLock(p: Physics, i: number, depth: number, pace: number, slack: number, r: Random): number {
  if (i < p.startSlack) return slack;
  if (chance(r, p.skip * steady(pace))) return Number.NaN;
  if (chance(r, p.whip * pace * pace + p.topSlack * steady(pace))) return slack;
  if (chance(r, p.bobbinSlack * pace * pace)) return 1 - slack;
  return depth;
}

function lengthScatter(p: Physics, mode: Mode, where: Where): number {
  const own = mode === 'manual' ? p.lengthManual : p.lengthRegulated;
  const along = typeof where === 'number' ? Math.abs(Math.cos(((where - p.flexToward) * Math.PI) / 180)) : 0.5;
  return own + p.lengthDrag * along;
}

/** A needle bent away from the hook is met late; bent toward it, half as much is seen of it. */
function bend(p: Physics, where: number): number {
  const along = Math.cos(((where - p.flexToward) * Math.PI) / 180);
  return p.flex * (along > 0 ? along : along / 2);
}

/** Where the lock lies in a direction without any scatter. A curve throws with the square of the speed. */
export function depthAt(p: Physics, v: Virtual, where: Where, pace = 1): number {
  const middle = lockDepth(p, topPull(p, v.top), bobbinPull(p, v.bobbin, v.fill));
  return typeof where === 'number' ? middle + bend(p, where) * steady(pace) : middle + p.curve * pace * pace + p.chord;
}

/** Whether the machine truly sews what this work asks, all directions of the star, scatter left out. */
export function isGood(v: Virtual, dots: boolean, wheres: readonly Where[]): boolean {
  const p = physicsOf(v);
  const limit = 0.5 - (dots ? eye.pulled : eye.dots);
  return wheres.every((w) => Math.abs(depthAt(p, v, w) - 0.5) <= limit - p.hole);
}

/** What yards of the quilt show in a direction, where a line of six inches may deceive: the word without scatter or blur. */
export function trueScore(v: Virtual, where: Where): -2 | -1 | 0 | 1 | 2 {
  const p = physicsOf(v);
  const off = depthAt(p, v, where) - 0.5;
  const size = Math.abs(off);
  if (size <= 0.5 - eye.dots - p.hole) return 0;
  const far = size > 0.5 - eye.pulled;
  return off < 0 ? (far ? -2 : -1) : far ? 2 : 1;
}

/** What a line shows on each face, as shares of its stitches. */
export type Shown = {
  readonly top: { readonly dots: number; readonly pulled: number; readonly wire: number };
  readonly back: { readonly dots: number; readonly pulled: number; readonly wire: number; readonly big: number };
  readonly skipped: number;
};

/** `blur` moves this person's limits; holes wider than the thread show the lock sooner. */
export function shown(line: SewnLine, hole: number, blur = 0): Shown {
  const locks = line.depths.filter((d) => !Number.isNaN(d));
  const share = (test: (d: number) => boolean) => locks.filter(test).length / Math.max(1, locks.length);
  const off = (limit: number) => limit + hole + blur;
  return {
    top: {
      dots: share((d) => d < off(eye.dots)),
      pulled: share((d) => d < eye.pulled + blur),
      wire: share((d) => d < eye.wire + blur),
    },
    back: {
      dots: share((d) => d > 1 - off(eye.dots)),
      pulled: share((d) => d > 1 - eye.pulled - blur),
      wire: share((d) => d > 1 - eye.wire - blur),
      big: share((d) => d > 1.3 - blur),
    },
    skipped: 1 - locks.length / Math.max(1, line.depths.length),
  };
}

/** A face shows something when about a third of its stitches do; a single one is a thing of its own. */
export const shows = 0.3;
