/**
 * What a sewn star says: the mean over its directions is tension, its first harmonic is a fault of direction (needle flex,
 * timing, rails, cloth), and what differs between regulated and manual is neither.
 *
 * y(θ) = M + a cos θ + b sin θ by least squares over the directions there are; 0° is away, angles grow clockwise seen
 * from above. Three distinct directions suffice, two never do; missing ones are left out, never filled.
 */

export type Harmonic = {
  readonly n: number;
  readonly mean: number;
  readonly cos: number;
  readonly sin: number;
  readonly amplitude: number;
  /** Where the fit is highest, 0 up to 360; undefined without an amplitude. */
  readonly phaseDeg?: number;
  /** Sum of squares that the fit leaves, and that a constant would leave. */
  readonly sse: number;
  readonly sst: number;
  /** Standard errors of cos and sin where the noise is 1. */
  readonly unit: readonly [cos: number, sin: number];
};

const rad = Math.PI / 180;
const turn = (deg: number) => ((deg % 360) + 360) % 360;
const sum = (all: readonly number[]) => all.reduce((n, x) => n + x, 0);

/** Undefined: not identifiable. */
export function harmonicFit(points: readonly (readonly [deg: number, value: number])[]): Harmonic | undefined {
  if (new Set(points.map(([deg]) => turn(deg))).size < 3) return undefined;
  const rows = points.map(([deg]) => [1, Math.cos(deg * rad), Math.sin(deg * rad)] as const);
  const ys = points.map(([, y]) => y);
  const normal = [0, 1, 2].map((i) => [0, 1, 2].map((j) => sum(rows.map((r) => (r[i] ?? 0) * (r[j] ?? 0)))));
  const solved = (right: readonly number[]) => solve(normal.map((row, i) => [...row, right[i] ?? 0]));
  const [mean = 0, cos = 0, sin = 0] = solved(
    [0, 1, 2].map((i) => sum(rows.map((r, k) => (r[i] ?? 0) * (ys[k] ?? 0)))),
  );
  const amplitude = Math.hypot(cos, sin);
  const middle = sum(ys) / ys.length;
  const none = 1e-9 * Math.max(1, ...ys.map(Math.abs)); // below it is rounding
  return {
    n: ys.length,
    mean,
    cos,
    sin,
    amplitude,
    ...(amplitude > none ? { phaseDeg: turn(Math.atan2(sin, cos) / rad) } : {}),
    sse: sum(rows.map((r, k) => ((ys[k] ?? 0) - mean - cos * r[1] - sin * r[2]) ** 2)),
    sst: sum(ys.map((y) => (y - middle) ** 2)),
    unit: [Math.sqrt(solved([0, 1, 0])[1] ?? 0), Math.sqrt(solved([0, 0, 1])[2] ?? 0)],
  };
}

/** Gauss's elimination with the largest pivot, of a square system with its right side as last column. */
function solve(system: readonly (readonly number[])[]): readonly number[] {
  const m = system.map((row) => [...row]);
  const n = m.length;
  for (let i = 0; i < n; i++) {
    const from = m.reduce(
      (best, row, k) => (k > i && Math.abs(row[i] ?? 0) > Math.abs(m[best]?.[i] ?? 0) ? k : best),
      i,
    );
    [m[i], m[from]] = [m[from] ?? [], m[i] ?? []];
    const pivot = m[i] ?? [];
    for (const [k, row] of m.entries()) {
      if (k === i) continue;
      const factor = (row[i] ?? 0) / (pivot[i] ?? 1);
      for (let j = i; j <= n; j++) row[j] = (row[j] ?? 0) - factor * (pivot[j] ?? 0);
    }
  }
  return m.map((row, i) => (row[n] ?? 0) / (row[i] ?? 1));
}

/** Test of "no direction matters": F(2, n − 3) and its p. Undefined where the fit is exact and says nothing of the noise. */
export function harmonicF(fit: Harmonic): { readonly F: number; readonly p: number; readonly r2: number } | undefined {
  const free = fit.n - 3;
  if (free < 1 || fit.sst <= 0 || fit.sse <= 0) return undefined;
  const F = (fit.sst - fit.sse) / 2 / (fit.sse / free);
  return { F, p: (1 + (2 * F) / free) ** (-free / 2), r2: 1 - fit.sse / fit.sst };
}

/** Resultant of unit vectors: its direction, undefined where they cancel, and its mean length R. */
export function circular(anglesDeg: readonly number[]): { readonly meanDeg?: number; readonly R: number } {
  const x = sum(anglesDeg.map((d) => Math.cos(d * rad)));
  const y = sum(anglesDeg.map((d) => Math.sin(d * rad)));
  const R = anglesDeg.length === 0 ? 0 : Math.hypot(x, y) / anglesDeg.length;
  return R > 1e-12 ? { meanDeg: turn(Math.atan2(y, x) / rad), R } : { R };
}

// --- What a person is told ----------------------------------------------------------------------------------------

export type Ray = {
  readonly direction: number | 'circle-left' | 'circle-right';
  readonly score: number; // −2 … +2, below 0 bobbin colour on top
  readonly marks?: readonly string[];
};
export type Sample = { readonly mode?: 'regulated' | 'manual'; readonly rays: readonly Ray[] };

export type Face = 'top-on-back' | 'bobbin-on-top';
export type Verdict =
  | { readonly is: 'balanced' }
  /** Off the same way in all directions: a setting. */
  | { readonly is: 'tension'; readonly face: Face }
  /** Off the same way in all, and clearly most in one: the setting first, then the star again. */
  | { readonly is: 'both'; readonly face: Face; readonly worst: number }
  /** Good one way and not another: needle, timing, rails or cloth. `worst` in degrees, one of the eight. */
  | { readonly is: 'direction'; readonly face: Face; readonly worst: number }
  /** Straight lines good, circles not. */
  | { readonly is: 'curves'; readonly face: Face }
  /** Two lines that differ: too few to say which way. */
  | { readonly is: 'too-few' }
  /** They differ, but toward no one side. */
  | { readonly is: 'scattered' }
  /** Nothing of it could be told by eye. */
  | { readonly is: 'unread' };

export type Directions = {
  readonly verdict: Verdict;
  /** Sewn both ways: in one of them only, or alike. */
  readonly modes?: 'regulated-only' | 'manual-only' | 'same';
};

/** Words are no finer than this: scatter of a score read by eye, in scores (our choice). */
const leastNoise = 0.3;
/** A direction is not spoken of below this amplitude in scores, or below two standard errors. */
const leastAmplitude = 0.4;
const rounding = 1e-9;

const told = (rays: readonly Ray[]) =>
  rays.filter((r) => !r.marks?.some((m) => m === 'cant-tell' || m === 'both-faces'));
const faceOf = (y: number): Face => (y > 0 ? 'top-on-back' : 'bobbin-on-top');

/** What the samples of one round say together. */
export function directionsOf(samples: readonly Sample[]): Directions {
  const verdict = verdictOf(told(samples.flatMap((s) => s.rays)));
  const modes = modesOf(samples);
  return modes ? { verdict, modes } : { verdict };
}

function verdictOf(rays: readonly Ray[]): Verdict {
  const straight = rays.flatMap((r) => (typeof r.direction === 'number' ? [[r.direction, r.score] as const] : []));
  const curves = rays.filter((r) => typeof r.direction !== 'number').map((r) => r.score);
  const ys = straight.map(([, y]) => y);
  if (ys.length === 0) return { is: 'unread' };
  if (ys.every((y) => y === 0)) {
    const off = sum(curves);
    return curves.some((y) => y !== 0) ? { is: 'curves', face: faceOf(off) } : { is: 'balanced' };
  }
  const oneWay = ys.every((y) => y > 0) || ys.every((y) => y < 0);
  const fit = harmonicFit(straight);
  if (!fit) return oneWay ? { is: 'tension', face: faceOf(sum(ys)) } : { is: 'too-few' };
  const noise = Math.max(leastNoise, fit.n > 3 ? Math.sqrt(fit.sse / (fit.n - 3)) : 0);
  const clear = fit.amplitude > Math.max(leastAmplitude, 2 * noise * Math.max(...fit.unit)) + rounding;
  if (!clear) return oneWay ? { is: 'tension', face: faceOf(fit.mean) } : { is: 'scattered' };
  const end = sum(ys) < 0 ? -1 : 1; // the wave's end on the side of the mean lies farther off
  const worst = eighth((fit.phaseDeg ?? 0) + (end < 0 ? 180 : 0));
  return { is: oneWay ? 'both' : 'direction', face: faceOf(end), worst };
}

const eighth = (deg: number) => (Math.round(turn(deg) / 45 - rounding) * 45 + 360) % 360;

/** One way shows a third of its lines off, the other next to none. */
function modesOf(samples: readonly Sample[]): Directions['modes'] {
  const off = (mode: 'regulated' | 'manual') => {
    const rays = told(samples.filter((s) => s.mode === mode).flatMap((s) => s.rays));
    return rays.length === 0 ? undefined : rays.filter((r) => r.score !== 0).length / rays.length;
  };
  const [regulated, manual] = [off('regulated'), off('manual')];
  if (regulated === undefined || manual === undefined) return undefined;
  if (regulated >= 1 / 3 && manual <= 1 / 8) return 'regulated-only';
  return manual >= 1 / 3 && regulated <= 1 / 8 ? 'manual-only' : 'same';
}
