/**
 * How much thread a quilt takes and how many bobbins that is. Lockstitch, type 301 of ISO 4915 / ASTM D6193. Lengths in mm
 * and m, thread in tex, densities in g/cm3; shares as fractions.
 */

export const mmPerStitch = (stitchesPerInch: number): number => 25.4 / stitchesPerInch;
export const stitchesPerInch = (mm: number): number => 25.4 / mm;

/**
 * Thread in one stitch. `lock` is the depth of the lock as a share of the thickness: 0 on top, 0.5 balanced, 1 below.
 * rectangle: needle p + 2bt, bobbin p + 2(1-b)t; the sum is the printed C = 2 + 2TS (textile calculation primers), how it
 * is shared is our derivation. half-ellipse, our derivation: half an ellipse of width p and depth bt, for soft layers.
 * Chauhan and Ghosh saw both shapes and more, so a range is honest and one figure is not.
 */
export type Shape = 'rectangle' | 'half-ellipse';
export function stitchThread(
  pitchMm: number,
  thicknessMm: number,
  lock: number,
  shape: Shape,
): { readonly needleMm: number; readonly bobbinMm: number; readonly ratio: number } {
  const of =
    shape === 'rectangle' ? (depth: number) => pitchMm + 2 * depth : (depth: number) => halfEllipse(pitchMm, depth);
  const [needleMm, bobbinMm] = [of(lock * thicknessMm), of((1 - lock) * thicknessMm)];
  return { needleMm, bobbinMm, ratio: (needleMm + bobbinMm) / pitchMm };
}

function halfEllipse(width: number, depth: number): number {
  const [a, b] = [Math.max(width / 2, depth), Math.min(width / 2, depth)];
  return 2 * a * completeE(1 - (b / a) ** 2);
}

/** The complete elliptic integral of the second kind with parameter m, by the arithmetic-geometric mean (Gauss). */
export function completeE(m: number): number {
  if (m === 1) return 1;
  let [a, b, sum, power] = [1, Math.sqrt(1 - m), m, 1];
  for (let c = 1; c > 1e-15; power *= 2) {
    c = (a - b) / 2;
    [a, b] = [(a + b) / 2, Math.sqrt(a * b)];
    sum += 2 * power * c * c;
  }
  return (Math.PI / (2 * a)) * (1 - sum / 2);
}

/** Inches of thread in an inch of seam: C = 2 + 2TS, textile calculation primers. Thickness in inches. */
export const perInch = (thicknessIn: number, spi: number): number => 2 + 2 * thicknessIn * spi;

/** A planning ratio for thin layers, thread over seam, and the needle's share of it. */
export function seamThread(seam: number, ratio: number, needleShare: number) {
  const total = seam * ratio;
  return { total, needle: total * needleShare, bobbin: total * (1 - needleShare) };
}

/** The space for thread on a bobbin, mm3: a ring. */
export const bobbinMm3 = (b: BobbinSize): number => (Math.PI / 4) * (b.outerMm ** 2 - b.coreMm ** 2) * b.widthMm;
export type BobbinSize = { readonly outerMm: number; readonly coreMm: number; readonly widthMm: number };

/** Thread over space in a winding: 0.65 to 0.8, from memory; parallel round threads can't pass 0.9069 (geometry). */
export const usualWinding = 0.75;

/** Metres on a bobbin: space x winding / area of the thread, geometry. */
export const bobbinM = (mm3: number, tex: number, density: number, packing: number, winding = usualWinding): number =>
  (mm3 * winding * density * packing) / tex;

/** Metres on a bobbin of which somebody measured the winding's density in g/cm3. */
export const bobbinMOfDensity = (mm3: number, tex: number, windingDensity: number): number =>
  (mm3 * windingDensity) / tex;

/** Whole stitches that a bobbin sews. */
export const stitchesOf = (metres: number, bobbinMmPerStitch: number): number =>
  Math.floor((1000 * metres) / bobbinMmPerStitch);

/** From a to b. */
export type Range = { readonly least: number; readonly most: number };

/** How close the lines are: their distance, or the metres of line counted in a square. */
export type Density = { readonly spacingMm: number } | { readonly squareMm: number; readonly lineMm: number };

/** Millimetres of line on each mm2. Lines at a distance s have 1/s. */
export const linePerMm2 = (d: Density): number => ('spacingMm' in d ? 1 / d.spacingMm : d.lineMm / d.squareMm ** 2);

export type PlanInput = {
  readonly widthMm: number;
  readonly heightMm: number;
  readonly density: Density;
  readonly stitchesPerInch: number;
  readonly thicknessMm: number; // of the sandwich, pressed as by the foot
  readonly lock: number;
  readonly waste: number; // 0.15: 15 % more
  readonly bobbinM?: number; // on one full bobbin
  readonly coneM?: number;
};

export type Plan = {
  readonly lineM: number;
  readonly stitches: number;
  readonly topM: Range; // with waste
  readonly bobbinM: Range;
  readonly bobbins?: Range; // whole, to wind
  readonly changes?: Range;
  readonly stitchesPerBobbin?: Range;
  readonly cones?: Range;
};

/** Add 10 to 15 % for tails, ties and ends (a garment science page); the upper end until somebody knows better. */
export const usualWaste = 0.15;
/** Starting points of our own; no published source for quilts. 3 mm is a common batting under a finger. */
export const usualThicknessMm = 3;
export const usualLock = 0.5;
export const usualStitchesPerInch = 11; // 10 to 12 for most work, common practice

/** What a quilt takes by geometry, as a range over both shapes of a stitch. */
export function plan(q: PlanInput): Plan {
  const lineMm = q.widthMm * q.heightMm * linePerMm2(q.density);
  const pitch = mmPerStitch(q.stitchesPerInch);
  const stitches = Math.round(lineMm / pitch);
  const models = (['half-ellipse', 'rectangle'] as const).map((shape) =>
    stitchThread(pitch, q.thicknessMm, q.lock, shape),
  );
  const metres = (mm: number) => (stitches * mm * (1 + q.waste)) / 1000;
  const topM = range(models.map((m) => metres(m.needleMm)));
  const bobbin = range(models.map((m) => metres(m.bobbinMm)));
  const all = { lineM: lineMm / 1000, stitches, topM, bobbinM: bobbin };
  const cones = q.coneM === undefined ? {} : { cones: whole(topM, q.coneM) };
  if (q.bobbinM === undefined) return { ...all, ...cones };
  const bobbins = whole(bobbin, q.bobbinM);
  const { bobbinM: on } = q;
  return {
    ...all,
    ...cones,
    bobbins,
    changes: { least: Math.max(0, bobbins.least - 1), most: Math.max(0, bobbins.most - 1) },
    stitchesPerBobbin: range(models.map((m) => stitchesOf(on, m.bobbinMm))),
  };
}

const range = (values: readonly number[]): Range => ({ least: Math.min(...values), most: Math.max(...values) });
const whole = (r: Range, each: number): Range => ({ least: Math.ceil(r.least / each), most: Math.ceil(r.most / each) });

/** A quilt that was done here: its size as far as it is known, and how often "New bobbin" was tapped on it. */
export type Done = {
  readonly bobbins: number;
  readonly widthMm?: number;
  readonly heightMm?: number;
  readonly spacingMm?: number;
  readonly work?: string;
};

/** Alike: no more than twice or half the area, and lines no more than half as far again apart (our choice). */
const alikeArea = 2;
const alikeSpacing = 1.5;

/**
 * What this studio's own quilts say: bobbins for this one, each earlier quilt scaled by its area, and by its spacing where
 * both are known; without spacing only the same kind of work counts. The middle one, with the least and the most.
 * Undefined when no quilt of this size and density was counted.
 */
export function ownCount(
  past: readonly Done[],
  now: Omit<Done, 'bobbins'>,
): (Range & { readonly middle: number; readonly quilts: number }) | undefined {
  const area = areaOf(now);
  if (!area) return undefined;
  const scaled = past.flatMap((p) => {
    const was = areaOf(p);
    if (!was || p.bobbins < 1 || apart(area, was) > alikeArea) return [];
    if (p.spacingMm && now.spacingMm)
      return apart(p.spacingMm, now.spacingMm) > alikeSpacing
        ? []
        : [(p.bobbins * area * p.spacingMm) / (was * now.spacingMm)];
    return now.work && p.work === now.work ? [(p.bobbins * area) / was] : [];
  });
  if (scaled.length === 0) return undefined;
  const sorted = scaled.map((n) => Math.max(1, Math.ceil(n - 1e-9))).sort((a, b) => a - b);
  const { least, most } = range(sorted);
  return { least, most, middle: sorted[Math.ceil((sorted.length - 1) / 2)] ?? most, quilts: sorted.length };
}

const areaOf = (q: { readonly widthMm?: number; readonly heightMm?: number }) => (q.widthMm ?? 0) * (q.heightMm ?? 0);
const apart = (a: number, b: number) => Math.max(a / b, b / a);
