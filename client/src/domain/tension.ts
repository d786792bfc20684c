/**
 * Thread tension as physics. Lengths in mm, masses in g, forces in cN, times in s, angles in degrees. Euler-Eytelwein for
 * posts (the capstan equation), additive for disc pairs; the drop tests are energy balances of our own derivation.
 * Gravity is the standard one (CGPM 1901, ISO 80000-3); the local one differs by up to 0.3 %.
 *
 * None of this is shown as a setting to aim at: one machine's height of shake is a wide guess.
 */

/** m/s², exact. */
export const gravity = 9.80665;
/** One gram-force in cN, exact. */
export const cNPerGf = 0.980665;

export const gfToCN = (gf: number) => gf * cNPerGf;
export const cNToGf = (cN: number) => cN / cNPerGf;
export const weightCN = (massG: number) => massG * cNPerGf;

/** Tension behind a post or guide; fails under a few degrees of wrap and for stiff thread. */
export const capstan = (tIn: number, mu: number, angleDeg: number) => tIn * Math.exp((mu * angleDeg * Math.PI) / 180);

export type PathPart =
  | { readonly type: 'post'; readonly mu: number; readonly angle_deg: number }
  /** Two faces pressed on the thread by `normal`. */
  | { readonly type: 'disc'; readonly mu: number; readonly normal: number };

/** Parts in the order of the thread path: the order matters. */
export const tensionChain = (tIn: number, parts: readonly PathPart[]) =>
  parts.reduce((t, p) => (p.type === 'post' ? capstan(t, p.mu, p.angle_deg) : t + 2 * p.mu * p.normal), tIn);

/** Why a reading gives no tension. `no-slip`: only that the tension is at least the weight is known. */
export type TensionFault = 'no-slip' | 'not-above-weight' | 'faster-than-falling' | 'not-positive';
export type Tension = { readonly cN: number } | { readonly fault: TensionFault };

const positive = (...all: readonly number[]) => all.every((x) => Number.isFinite(x) && x > 0);

/**
 * Shake: hand and body fall h together, the hand stops, the body slips s: m g (h + s) = T s. `h` is the height that
 * would give the body's speed by free fall, not the travel of the hand.
 */
export function jerkTension(massG: number, hMm: number, sMm: number): Tension {
  if (!positive(massG) || !(hMm >= 0)) return { fault: 'not-positive' };
  return sMm > 0 ? { cN: weightCN(massG) * (1 + hMm / sMm) } : { fault: 'no-slip' };
}

/** The same from the speed (m/s) between body and hand when the slip begins: T = m (g + v²/2s). */
export function jerkTensionSpeed(massG: number, vMs: number, sMm: number): Tension {
  return jerkTension(massG, ((vMs * vMs) / (2 * gravity)) * 1000, sMm);
}

/** The height that counts when the hand travels `handMm` at an acceleration in m/s²; faster than falling adds nothing. */
export const effectiveDrop = (handMm: number, acceleration: number) => handMm * Math.min(1, acceleration / gravity);

/** The way round: how far a shake of height h lets the body slip. Not above the weight: it runs down without end. */
export function jerkSlip(massG: number, hMm: number, cN: number): { readonly mm: number } | { fault: TensionFault } {
  if (!positive(massG, hMm)) return { fault: 'not-positive' };
  const weight = weightCN(massG);
  return cN > weight ? { mm: (hMm * weight) / (cN - weight) } : { fault: 'not-above-weight' };
}

/** With thread that stretches by `stiffness` N/m: m g (h + s + T/k) = T s + T²/2k, the positive root. */
export function jerkTensionElastic(massG: number, hMm: number, sMm: number, stiffness: number): Tension {
  if (!positive(massG, stiffness) || !(hMm >= 0)) return { fault: 'not-positive' };
  if (!(sMm > 0)) return { fault: 'no-slip' };
  const [weight, h, s] = [(massG / 1000) * gravity, hMm / 1000, sMm / 1000]; // N, m
  const half = weight - stiffness * s;
  return { cN: 100 * (half + Math.sqrt(half * half + 2 * stiffness * weight * (h + s))) };
}

/** Mean force in N that stops a falling mass: m g (1 + h/s). The jerk test in other units, for check values in print. */
export const stopForceN = (massKg: number, hM: number, sM: number, g: number) => massKg * g * (1 + hM / sM);

/** Steady slide from rest, d in t: T = m (g − 2 d/t²). It resolves T only while t is under about three shortest times. */
export function slideTension(massG: number, dMm: number, tS: number): Tension {
  if (!positive(massG, dMm, tS)) return { fault: 'not-positive' };
  return tS > slideMinTime(dMm)
    ? { cN: (massG / 10) * (gravity - (2 * dMm) / 1000 / (tS * tS)) }
    : { fault: 'faster-than-falling' };
}

/** Free fall over d takes this long; a shorter slide is a wrong reading. */
export const slideMinTime = (dMm: number) => Math.sqrt((2 * dMm) / 1000 / gravity);
/** How long a slide over d takes against a tension below the weight; not finite at or above it. */
export const slideTime = (massG: number, dMm: number, cN: number) =>
  Math.sqrt((2 * dMm) / 1000 / (gravity - (10 * cN) / massG));

type Input = { readonly at: number; readonly u: number };

/** First-order uncertainty (GUM) of a shake, by its three parts, inputs independent. */
export function jerkUncertainty(mass: Input, h: Input, s: Input) {
  const weight = weightCN(mass.at);
  const cN = weight * (1 + h.at / s.at);
  const parts = {
    mass: (cN / mass.at) * mass.u,
    h: (weight / s.at) * h.u,
    s: ((weight * h.at) / s.at ** 2) * s.u,
  };
  return { cN, u: Math.hypot(parts.mass, parts.h, parts.s), parts };
}

/** The same of a slide. */
export function slideUncertainty(mass: Input, d: Input, t: Input) {
  const perMass = (gravity - (2 * d.at) / 1000 / t.at ** 2) / 10;
  const m = mass.at / 10;
  const u = Math.hypot(perMass * mass.u, ((2 * m) / 1000 / t.at ** 2) * d.u, ((4 * m * d.at) / 1000 / t.at ** 3) * t.u);
  return { cN: perMass * mass.at, u };
}

export type Spread = {
  readonly mean: number;
  readonly sd: number;
  readonly q025: number;
  readonly median: number;
  readonly q975: number;
};

/** Nodes of the standard normal from −5 to 5: the trapezium rule over them is exact to more digits than any reading has. */
const nodes = Array.from({ length: 41 }, (_, i) => -5 + i * 0.25).map((z) => ({ z, weight: Math.exp((-z * z) / 2) }));

/** What a function of three independent normal readings comes to, where it has a value: a shake leans to the right, a slide to the left. */
export function spread(
  f: (a: number, b: number, c: number) => Tension,
  inputs: readonly [Input, Input, Input],
): Spread {
  const [a, b, c] = inputs;
  const out: { value: number; weight: number }[] = [];
  for (const i of nodes)
    for (const j of nodes)
      for (const k of nodes) {
        const t = f(a.at + i.z * a.u, b.at + j.z * b.u, c.at + k.z * c.u);
        if ('cN' in t) out.push({ value: t.cN, weight: i.weight * j.weight * k.weight });
      }
  out.sort((x, y) => x.value - y.value);
  const all = out.reduce((n, x) => n + x.weight, 0);
  const mean = out.reduce((n, x) => n + x.weight * x.value, 0) / all;
  const sd = Math.sqrt(out.reduce((n, x) => n + x.weight * (x.value - mean) ** 2, 0) / all);
  const [q025 = mean, median = mean, q975 = mean] = quantiles(out, all);
  return { mean, sd, q025, median, q975 };
}

function quantiles(sorted: readonly { readonly value: number; readonly weight: number }[], all: number) {
  const wanted = [0.025, 0.5, 0.975];
  const found: number[] = [];
  let below = 0;
  for (const x of sorted) {
    below += x.weight / all;
    while (found.length < wanted.length && below >= (wanted[found.length] ?? 1)) found.push(x.value);
  }
  return found;
}
