/**
 * What a person sees in a sewn star: the symptoms of the fault model worked out from stitches, not from its tables. Limits are
 * our own: a third of the stitches is "it shows", a lone one between good ones is "now and then".
 */
import { harmonicFit } from '../directions';
import { physicsOf } from './faults';
import { bobbinPull, lockDepth, topPull, type Virtual } from './machine';
import { chance, type Random } from './random';
import { eye } from './ranges';
import { type SewnLine, sewLine, shown, shows } from './sew';

export const star = [0, 45, 90, 135, 180, 225, 270, 315] as const;

/** The lines that answer everything: the star and a curve as it is sewn, the same slow, and in manual. */
export type Sewing = {
  readonly straight: readonly SewnLine[];
  readonly curve: SewnLine;
  readonly slow: readonly SewnLine[];
  readonly manual: readonly SewnLine[];
};

export function sewing(v: Virtual, r: Random): Sewing {
  return {
    straight: star.map((d) => sewLine(v, d, r)),
    curve: sewLine(v, 'circle-right', r),
    slow: [...cross.map((d) => sewLine(v, d, r, 'regulated', 0.5)), sewLine(v, 'circle-right', r, 'regulated', 0.5)],
    manual: [...cross.map((d) => sewLine(v, d, r, 'manual')), sewLine(v, 'circle-right', r, 'manual')],
  };
}

const cross: readonly (typeof star)[number][] = [0, 90, 180, 270];
/** The lines that were sewn slowly and in manual too: only the same shape can be compared. */
export const again = (s: Sewing): readonly SewnLine[] => [
  ...s.straight.filter((l) => cross.some((d) => d === l.where)),
  s.curve,
];

const mean = (xs: readonly number[]) => xs.reduce((n, x) => n + x, 0) / Math.max(1, xs.length);
const made = (line: SewnLine) => line.depths.filter((d) => !Number.isNaN(d));
const middle = (xs: readonly number[]) => [...xs].sort((a, b) => a - b)[Math.floor(xs.length / 2)] ?? 0.5;

/**
 * How bad lines look, 0 for nothing to see: what shows on a face, lone loops, skips and uneven lengths, and breaks. Of two ways
 * of sewing a break tells nothing: it comes when it comes.
 */
export function badness(lines: readonly SewnLine[], hole: number, breaks = true): number {
  return mean(
    lines.map((line) => {
      const s = shown(line, hole);
      const loops = loneLoops(line);
      return (
        s.top.dots +
        s.back.dots +
        8 * s.skipped +
        6 * (loops.back + loops.top) +
        (spread(line.lengths) > 0.16 ? 0.5 : 0) +
        (breaks && line.broke ? 0.7 : 0)
      );
    }),
  );
}
const spread = (xs: readonly number[]) => Math.sqrt(mean(xs.map((x) => (x - mean(xs)) ** 2)));

/** Single loops between good stitches, as shares. The first few of a line are starts. */
function loneLoops(line: SewnLine): { readonly back: number; readonly top: number } {
  const usual = middle(made(line));
  const later = made(line).slice(4);
  const share = (test: (d: number) => boolean) => later.filter(test).length / Math.max(1, later.length);
  return {
    back: usual < 0.9 ? share((d) => d > Math.max(1.05, usual + 0.45)) : 0,
    top: usual > 0.1 ? share((d) => d < Math.min(-0.05, usual - 0.45)) : 0,
  };
}

export type Symptoms = { readonly [finding: string]: string };

/** Every symptom that the physics reaches. */
export function symptomsOf(v: Virtual, s: Sewing, r: Random): Symptoms {
  const p = physicsOf(v);
  const all = [...s.straight, s.curve];
  const faces = s.straight.map((l) => shown(l, p.hole));
  const share = (f: (x: (typeof faces)[number]) => number) => mean(faces.map(f));
  const seen = (lines: readonly SewnLine[]) => badness(lines, p.hole, false);
  const straightBad = badness(s.straight, p.hole);
  const loops = { back: mean(all.map((l) => loneLoops(l).back)), top: mean(all.map((l) => loneLoops(l).top)) };
  const skipped = mean(all.map((l) => shown(l, 0).skipped));
  const broke = [...all, ...s.slow, ...s.manual].filter((l) => l.broke).length;
  const curve = shown(s.curve, p.hole);
  const [top, back] = [topFace(share), backFace(share, pullsOf(v).top < 0.6)];
  return {
    bobbin_on_top: top,
    top_on_back: back,
    both_sides:
      share((x) => x.top.pulled) > 0.15 && share((x) => x.back.pulled) > 0.15
        ? 'loops_both'
        : share((x) => x.top.dots) > 0.2 && share((x) => x.back.dots) > 0.2
          ? 'dots_both'
          : 'no',
    direction: direction(s, curve, straightBad),
    speed_dep:
      compared(seen(s.slow), seen(again(s)), 'slow', 'fast') ??
      compared(seen(s.slow.slice(-1)), seen([s.curve]), 'slow', 'fast') ??
      'no',
    mode_dep: compared(seen(s.manual), seen(again(s)), 'manual_only', 'regulated_only') ?? 'same',
    stitch_length:
      mean(s.straight.flatMap((l) => l.lengths)) > 1.2
        ? 'too_long'
        : Math.max(mean(s.straight.map((l) => spread(l.lengths))), mean(s.manual.map((l) => spread(l.lengths)))) > 0.16
          ? 'uneven'
          : 'even',
    skips: skipped < 0.004 ? 'none' : skipped < 0.04 ? 'some' : 'many',
    top_breaks: broke === 0 ? 'none' : broke < 3 ? 'some' : 'often',
    broken_end:
      broke === 0 ? 'no_break' : p.fray > 0 && chance(r, 0.85) ? 'frayed' : p.whip > 0.02 ? 'kinked' : 'clean',
    random_loops: loops.back > 0.008 && loops.back >= loops.top ? 'back' : loops.top > 0.008 ? 'top' : 'none',
    eyelash:
      curve.back.dots > Math.max(shows, share((x) => x.back.dots) + 0.25)
        ? 'back'
        : curve.top.dots > Math.max(shows, share((x) => x.top.dots) + 0.25)
          ? 'top'
          : 'none',
    nest:
      p.taken < 0.5 || p.bobbinWander > 0.35 ? (chance(r, 0.7) ? 'any' : 'none') : p.startSlack > 1 ? 'start' : 'none',
    firmness: firmness(v),
    bobbin_level: level(v),
    pattern_time: pattern(
      v,
      s,
      straightBad,
      loops.back + loops.top + skipped,
      [top, back].some((x) => laid.includes(x)),
      r,
    ),
  };
}

type Share = (f: (x: ReturnType<typeof shown>) => number) => number;
const topFace = (share: Share) =>
  share((x) => x.top.wire) >= shows
    ? 'flatline'
    : share((x) => x.top.pulled) >= shows
      ? 'pulled_up'
      : share((x) => x.top.dots) >= shows
        ? 'dots'
        : 'none';
/** Big loops hang where nothing pulls on the top; else what lies below is drawn to a wire. */
const backFace = (share: Share, slack: boolean) =>
  slack && share((x) => x.back.big) >= shows
    ? 'big_loops'
    : share((x) => x.back.wire) >= shows
      ? 'flatline'
      : share((x) => x.back.pulled) >= shows
        ? 'pulled_down'
        : share((x) => x.back.dots) >= shows
          ? 'dots'
          : 'none';

function direction(s: Sewing, curve: ReturnType<typeof shown>, straightBad: number): string {
  const off = s.straight.map((l) => [Number(l.where), middle(made(l)) - 0.5] as const);
  const fit = harmonicFit(off);
  const seen = (d: number) => Math.abs(d) > 0.5 - eye.dots;
  const some = off.filter(([, d]) => seen(d)).length;
  if (fit && fit.amplitude > 0.14 && some > 0 && some < off.length) {
    const [worst = 0] = [...off].sort((a, b) => Math.abs(b[1]) - Math.abs(a[1]))[0] ?? [];
    if (worst === 90 || worst === 270) return 'sideways';
    return worst < 90 || worst > 270 ? 'away' : 'toward';
  }
  const curved = Math.max(curve.back.dots, curve.top.dots);
  return curved > shows && straightBad < 0.25 ? 'curves' : 'all_same';
}

/** Which of two is clearly the worse; undefined: neither. */
function compared(one: number, other: number, oneName: string, otherName: string): string | undefined {
  if (one > 1.7 * other + 0.12) return oneName;
  return other > 1.7 * one + 0.12 ? otherName : undefined;
}

/** Pulls at the stitch, as shares of those of this machine at balance. */
function pullsOf(v: Virtual): { readonly top: number; readonly bobbin: number } {
  const p = physicsOf(v);
  return {
    top: (p.taken * topPull(p, v.top)) / p.ratio / v.base.bobbin,
    bobbin: bobbinPull(p, v.bobbin, v.fill) / v.base.bobbin,
  };
}

/** A pin lifts what little pulls on; a line is drawn in by two pulls that are together a third too strong. */
function firmness(v: Virtual): string {
  const p = physicsOf(v);
  const { top, bobbin } = pullsOf(v);
  if (top + bobbin > 2.6) return 'puckered';
  if (top < 0.75 && bobbin < 0.75) return 'slack_both';
  const depth = lockDepth(p, topPull(p, v.top), bobbinPull(p, v.bobbin, v.fill));
  if (depth > 1 && top < 0.75) return 'slack_back';
  return depth < 0 && bobbin < 0.75 ? 'slack_top' : 'snug';
}

function level(v: Virtual): string {
  const p = physicsOf(v);
  const at = (fill: number) => lockDepth(p, topPull(p, v.top), bobbinPull(p, v.bobbin, fill));
  if (Math.abs(at(0.05) - at(0.5)) > 0.3) return 'near_end';
  if (Math.abs(at(0.98) - at(0.5)) > 0.3) return 'full';
  return p.dropSpread > 0.1 && p.bobbinWander > 0.15 ? 'each_bobbin' : 'no';
}

const laid = ['flatline', 'big_loops'];

function pattern(v: Virtual, s: Sewing, straightBad: number, lone: number, straight: boolean, r: Random): string {
  const p = physicsOf(v);
  if (p.startSlack > 1 && straightBad < 0.35) return 'start_only';
  if (p.bobbinBeat > 0.1 && chance(r, 0.8)) return 'periodic';
  if ((level(v) === 'near_end' && v.fill < 0.2) || (v.faults.some((f) => grows.has(f.cause)) && chance(r, 0.5)))
    return 'getting_worse';
  // A thread that lies straight along the line is bad all the time, however it wanders.
  if (straight) return 'constant';
  const wandering = mean(s.straight.map((l) => spread(made(l)))) > 0.16;
  return (lone > 0.008 && straightBad < 0.5) || wandering ? 'random' : 'constant';
}
/** What gets worse by the hour; how fast is out of the physics' reach. */
const grows: ReadonlySet<string> = new Set([
  'lint_hook',
  'hook_dry',
  'needle_worn',
  'tension_assembly_worn',
  'lint_discs',
]);
