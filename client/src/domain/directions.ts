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
};

const rad = Math.PI / 180;
const turn = (deg: number) => ((deg % 360) + 360) % 360;
const sum = (all: readonly number[]) => all.reduce((n, x) => n + x, 0);

/** Undefined: not identifiable. */
export function harmonicFit(points: readonly (readonly [deg: number, value: number])[]): Harmonic | undefined {
  if (new Set(points.map(([deg]) => turn(deg))).size < 3) return undefined;
  const rows = points.map(([deg]) => [1, Math.cos(deg * rad), Math.sin(deg * rad)] as const);
  const ys = points.map(([, y]) => y);
  const [mean = 0, cos = 0, sin = 0] = solve(
    [0, 1, 2].map((i) => [
      ...[0, 1, 2].map((j) => sum(rows.map((r) => (r[i] ?? 0) * (r[j] ?? 0)))),
      sum(rows.map((r, k) => (r[i] ?? 0) * (ys[k] ?? 0))),
    ]),
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
