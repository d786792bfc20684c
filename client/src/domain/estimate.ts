/**
 * Where a knob balances, from scores read at a few of its places: a straight line y = α + β x through readings that are
 * numbers, or words in order, or only a side. Sources stand with each; what has none is our own derivation.
 */

const density = (z: number) => Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI);

/** The standard normal's distribution, by its Taylor series (Marsaglia 2004), good to 1e-14 within 7. */
export function normalBelow(z: number): number {
  if (z < -7) return 0;
  if (z > 7) return 1;
  let [sum, term] = [z, z];
  for (let i = 3; Math.abs(term) > 1e-17; i += 2) {
    term *= (z * z) / i;
    sum += term;
  }
  return 0.5 + sum * density(z);
}

export type Pair = readonly [number, number];
/** A symmetric 2 × 2 matrix by rows. */
export type Square = readonly [Pair, Pair];
/** What is believed of [α, β]. */
export type Belief = { readonly mean: Pair; readonly cov: Square };

function inverse([[a, b], [c, d]]: Square): Square {
  const det = a * d - b * c;
  return [
    [d / det, -b / det],
    [-c / det, a / det],
  ];
}

/** Conjugate normal update by readings [x, y]: P = S₀⁻¹ + X'X/s², mean = P⁻¹(S₀⁻¹ m₀ + X'y/s²). One at a time gives the same. */
export function linearPosterior(prior: Belief, readings: readonly Pair[], noiseVar: number): Belief {
  const p = inverse(prior.cov);
  const sum = (f: (x: number, y: number) => number) => readings.reduce((n, [x, y]) => n + f(x, y), 0) / noiseVar;
  const sx = sum((x) => x);
  const cov = inverse([
    [p[0][0] + sum(() => 1), p[0][1] + sx],
    [p[1][0] + sx, p[1][1] + sum((x) => x * x)],
  ]);
  const [m0, m1] = prior.mean;
  const v0 = p[0][0] * m0 + p[0][1] * m1 + sum((_x, y) => y);
  const v1 = p[1][0] * m0 + p[1][1] * m1 + sum((x, y) => x * y);
  return { mean: [cov[0][0] * v0 + cov[0][1] * v1, cov[1][0] * v0 + cov[1][1] * v1], cov };
}

export function predict({ mean, cov }: Belief, x: number, noiseVar: number) {
  const varMean = cov[0][0] + 2 * x * cov[0][1] + x * x * cov[1][1];
  return { mean: mean[0] + mean[1] * x, varMean, varObs: varMean + noiseVar };
}

/** The root of the mean line, which overshoots while the slope is unsure, and the place of least expected squared score. */
export function nextSetting({ mean: [a, b], cov }: Belief) {
  return {
    plugIn: -a / b,
    leastSquare: -(a * b + cov[0][1]) / (b * b + cov[1][1]),
    slopePositive: normalBelow(b / Math.sqrt(cov[1][1])),
  };
}

/** A normal cut to what is above 0. */
export function cutNormal(mu: number, sd: number) {
  const a = -mu / sd;
  const positive = 1 - normalBelow(a);
  const l = density(a) / positive;
  return { mean: mu + sd * l, sd: sd * Math.sqrt(1 + a * l - l * l), positive };
}

/** Ordered probit: the chance of each word, lowest first, where `cuts` part them. */
export function wordChances(eta: number, sigma: number, cuts: readonly number[]): readonly number[] {
  const below = [...cuts.map((c) => normalBelow((c - eta) / sigma)), 1];
  return below.map((p, i) => p - (below[i - 1] ?? 0));
}

/** One line that may be the true one, and how much it is believed. */
export type Node = { readonly alpha: number; readonly beta: number; readonly weight: number };

/** A grid of lines under independent normal priors, out to four standard deviations. */
export function normalGrid(alpha: Pair, beta: Pair, steps = 81): readonly Node[] {
  const axis = ([mu, sd]: Pair) =>
    Array.from({ length: steps }, (_, i) => {
      const z = -4 + (8 * i) / (steps - 1);
      return { value: mu + sd * z, weight: density(z) };
    });
  return axis(alpha).flatMap((a) =>
    axis(beta).map((b) => ({ alpha: a.value, beta: b.value, weight: a.weight * b.weight })),
  );
}

/** The lines after a reading, whose chance under a line is `likelihood`; weights sum to 1. */
export function updated(nodes: readonly Node[], likelihood: (n: Node) => number): readonly Node[] {
  const all = nodes.map((n) => ({ ...n, weight: n.weight * likelihood(n) }));
  const total = all.reduce((sum, n) => sum + n.weight, 0);
  return all.map((n) => ({ ...n, weight: n.weight / total }));
}

export const expected = (nodes: readonly Node[], f: (n: Node) => number) =>
  nodes.reduce((sum, n) => sum + n.weight * f(n), 0);

/**
 * Probabilistic bisection on 0 … 1 (Horstein 1963; Waeber, Frazier and Henderson 2013), for when only the side is known and
 * each answer is true with chance p: ask at the median, weigh the side that was named by 2p and the other by 2(1 − p).
 */
export function bisect(answers: readonly ('R' | 'L')[], p: number) {
  let parts: readonly { readonly from: number; readonly to: number; readonly mass: number }[] = [
    { from: 0, to: 1, mass: 1 },
  ];
  const median = () => {
    let below = 0;
    for (const s of parts) {
      if (below + s.mass >= 0.5) return s.from + ((s.to - s.from) * (0.5 - below)) / s.mass;
      below += s.mass;
    }
    return 1;
  };
  const queries: number[] = [];
  for (const answer of answers) {
    const at = median();
    queries.push(at);
    parts = parts
      .flatMap((s) => {
        if (at <= s.from || at >= s.to) return [s];
        const share = (at - s.from) / (s.to - s.from);
        return [
          { from: s.from, to: at, mass: s.mass * share },
          { from: at, to: s.to, mass: s.mass * (1 - share) },
        ];
      })
      .map((s) => ({ ...s, mass: s.mass * 2 * (s.from >= at === (answer === 'R') ? p : 1 - p) }));
  }
  return { queries, median: median(), mean: parts.reduce((n, s) => n + (s.mass * (s.from + s.to)) / 2, 0) };
}

/** Bits that one such question is worth: 1 − H₂(p). */
export function bisectionGain(p: number): number {
  const part = (q: number) => (q > 0 ? q * Math.log2(q) : 0);
  return 1 + part(p) + part(1 - p);
}
