/**
 * The physics behind thread tension: guides and discs, the jerk of a falling bobbin case, its slide, and how unsure each is.
 *
 * Lengths in mm, masses in g, forces in cN, angles in degrees, times in s. Standard gravity: CGPM 1901, ISO 80000-3. Guides:
 * Euler-Eytelwein. Jerk and slide: energy balance, derived; cross-check in the published values. Good for showing the shape of
 * things and for a rough figure; the trade's drop length stays the record.
 */

/** m/s². */
export const gravity = 9.80665;
/** One gram-force in cN: the weight of one gram. */
export const cNPerGf = 0.980665;

export const cNOf = (gf: number): number => gf * cNPerGf;
export const gfOf = (cN: number): number => cN / cNPerGf;

/** Tension after a thread has gone round a post by this angle: the radius does not matter. Same unit as it came in. */
export const afterPost = (tension: number, friction: number, degrees: number): number =>
  tension * Math.exp((friction * degrees * Math.PI) / 180);

/** Tension after a pair of discs pressed together with this force: friction on both faces adds. */
export const afterDiscs = (tension: number, friction: number, press: number): number => tension + 2 * friction * press;

/** Why a reading can't be. */
export type ReadingFault =
  | 'not-a-mass'
  | 'not-a-length'
  | 'no-slip' // the case did not slip: nothing to reckon from
  | 'too-fast' // faster than a fall with no thread at all
  | 'holds'; // tension below the weight: it would slide by itself, not slip and stop

/** Jerk: a case of mass m falls freely by h, the thread stops it, it slips on by s. T = m g (1 + h/s). */
export type Jerk = { readonly massG: number; readonly fallMm: number; readonly slipMm: number };

export function jerkFault(j: Jerk): ReadingFault | undefined {
  if (!(j.massG > 0)) return 'not-a-mass';
  if (!(j.fallMm >= 0) || !Number.isFinite(j.slipMm)) return 'not-a-length';
  return j.slipMm > 0 ? undefined : 'no-slip';
}
export const jerkTension = (j: Jerk): number => cNOf(j.massG) * (1 + j.fallMm / j.slipMm);

/** The same from the speed at the start of the slip, m/s. */
export const jerkTensionAtSpeed = (massG: number, speed: number, slipMm: number): number =>
  jerkTension({ massG, fallMm: (speed * speed * 1000) / (2 * gravity), slipMm });

/** A hand that goes down by D with less than free fall: only part of it counts. mm, m/s². */
export const fallOfHand = (handMm: number, handAcceleration: number): number =>
  handMm * Math.min(1, handAcceleration / gravity);

/** How far a case slips at this tension, mm; undefined where the tension does not reach the weight: it never stops. */
export function slipAt(massG: number, fallMm: number, tension: number): number | undefined {
  const weight = cNOf(massG);
  return tension > weight ? (fallMm * weight) / (tension - weight) : undefined;
}

/** With a thread that stretches, N/m: m g (h + s + T/k) = T s + T²/2k, the positive root. */
export function jerkTensionOfElastic(j: Jerk, stiffness: number): number {
  const [weight, k] = [cNOf(j.massG), stiffness / 10]; // N/m is cN/mm times ten
  const b = k * j.slipMm - weight;
  return -b + Math.sqrt(b * b + 2 * k * weight * (j.fallMm + j.slipMm));
}

/** Force that stops a fall of h within s, N, from kg and m; gravity as given, for figures printed with another. */
export const stoppingForce = (massKg: number, fallM: number, slipM: number, g = gravity): number =>
  massKg * g * (1 + fallM / slipM);

/** Slide from rest over d in t at constant tension: T = m (g - 2 d / t²). */
export type Slide = { readonly massG: number; readonly wayMm: number; readonly seconds: number };

/** The time of a free fall: nothing slides faster. */
export const leastSlideTime = (wayMm: number): number => Math.sqrt((2 * wayMm) / 1000 / gravity);

export function slideFault(s: Slide): ReadingFault | undefined {
  if (!(s.massG > 0)) return 'not-a-mass';
  if (!(s.wayMm > 0)) return 'not-a-length';
  return s.seconds > leastSlideTime(s.wayMm) ? undefined : 'too-fast';
}
export const slideTension = (s: Slide): number => (s.massG * (gravity - (2 * s.wayMm) / 1000 / s.seconds ** 2)) / 10;

/** Seconds that a slide takes; undefined where the thread holds the case. */
export function slideTime(massG: number, wayMm: number, tension: number): number | undefined {
  const acceleration = gravity - (tension * 10) / massG;
  return acceleration > 0 ? Math.sqrt((2 * wayMm) / 1000 / acceleration) : undefined;
}

/** Standard uncertainties of the readings, in their units, and what each adds to that of the tension. */
export function jerkUncertainty(
  j: Jerk,
  u: Jerk,
): { readonly u: number; readonly mass: number; readonly fall: number; readonly slip: number } {
  const weight = cNOf(j.massG);
  const mass = (jerkTension(j) / j.massG) * u.massG;
  const fall = (weight / j.slipMm) * u.fallMm;
  const slip = ((weight * j.fallMm) / j.slipMm ** 2) * u.slipMm;
  return { u: Math.hypot(mass, fall, slip), mass, fall, slip };
}
export function slideUncertainty(s: Slide, u: Slide): number {
  const t2 = s.seconds ** 2;
  const mass = (slideTension(s) / s.massG) * u.massG;
  const way = ((2 * s.massG) / t2 / 10_000) * u.wayMm;
  const time = ((4 * s.massG * s.wayMm) / (t2 * s.seconds) / 10_000) * u.seconds;
  return Math.hypot(mass, way, time);
}

export type Spread = {
  readonly mean: number;
  readonly sd: number;
  readonly low: number;
  readonly median: number;
  readonly high: number;
};

/**
 * How a result spreads when its readings spread normally: mean and sd summed over a grid of six sd either way, the rest by
 * evenly scattered points (Halton), the same every time. low and high bound the middle 95 %. Where a reading could not be,
 * it does not count.
 */
export function spreadOf(
  result: (x: readonly number[]) => number | undefined,
  readings: readonly number[],
  uncertainties: readonly number[],
): Spread {
  const at = (z: readonly number[]) => result(readings.map((m, d) => m + (uncertainties[d] ?? 0) * (z[d] ?? 0)));
  const sums = [0, 0, 0];
  for (const z of grid(readings.length)) {
    const r = at(z);
    if (r === undefined) continue;
    const w = Math.exp(-z.reduce((sum, x) => sum + x * x, 0) / 2);
    [1, r, r * r].forEach((x, i) => {
      sums[i] = (sums[i] ?? 0) + w * x;
    });
  }
  const [weight = 1, first = 0, second = 0] = sums;
  const mean = first / weight;
  const all: number[] = [];
  for (let i = 1; i <= scattered; i++) {
    const r = at(readings.map((_, d) => normalQuantile(halton(i, primes[d] ?? 2))));
    if (r !== undefined) all.push(r);
  }
  all.sort((x, y) => x - y);
  const share = (q: number) => all[Math.min(all.length - 1, Math.floor(q * all.length))] ?? Number.NaN;
  return {
    mean,
    sd: Math.sqrt(Math.max(0, second / weight - mean * mean)),
    low: share(0.025),
    median: share(0.5),
    high: share(0.975),
  };
}
const scattered = 10_000;
const primes = [2, 3, 5, 7];

function grid(dimensions: number): readonly (readonly number[])[] {
  if (dimensions === 0) return [[]];
  const line = Array.from({ length: 21 }, (_, i) => (i - 10) * 0.6);
  return grid(dimensions - 1).flatMap((z) => line.map((x) => [...z, x]));
}

function halton(index: number, base: number): number {
  let [i, f, r] = [index, 1, 0];
  while (i > 0) {
    f /= base;
    r += f * (i % base);
    i = Math.floor(i / base);
  }
  return r;
}

/** Of the standard normal; Acklam's rational approximation (2003), good to 1.2e-9 of its value. */
export function normalQuantile(p: number): number {
  const tail = 0.02425;
  if (p > 1 - tail) return -normalQuantile(1 - p);
  const poly = (c: readonly number[], x: number) => c.reduce((sum, a) => sum * x + a, 0);
  if (p < tail) {
    const q = Math.sqrt(-2 * Math.log(p));
    return (
      poly(
        [
          -7.784894002430293e-3, -0.3223964580411365, -2.400758277161838, -2.549732539343734, 4.374664141464968,
          2.938163982698783,
        ],
        q,
      ) / poly([7.784695709041462e-3, 0.3224671290700398, 2.445134137142996, 3.754408661907416, 1], q)
    );
  }
  const q = p - 0.5;
  const r = q * q;
  return (
    (q *
      poly(
        [
          -39.69683028665376, 220.9460984245205, -275.9285104469687, 138.357751867269, -30.66479806614716,
          2.506628277459239,
        ],
        r,
      )) /
    poly([-54.47609879822406, 161.5858368580409, -155.6989798598866, 66.80131188771972, -13.28068155288572, 1], r)
  );
}
