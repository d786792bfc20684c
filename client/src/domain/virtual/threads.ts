/**
 * Threads as the path feels them, and the pairs that are sewn. Friction is of thread on steel, in pairs of low and high, our
 * estimate of common practice with no published source; densities are Morton and Hearle's (Physical Properties of Textile
 * Fibres, table 5.1, 65 % r.h.), metallic thread a guess.
 */

export type Fibre = 'cotton' | 'shiny' | 'matt' | 'mono' | 'metallic' | 'rayon';

export const fibres: {
  readonly [fibre in Fibre]: {
    readonly mu: readonly [number, number];
    readonly density: number; // g/cm³
    readonly tenacity: number; // cN per tex at break
    readonly slick: number; // 0 lies still on the cone … 1 springs off it
  };
} = {
  cotton: { mu: [0.2, 0.28], density: 1.52, tenacity: 26, slick: 0 },
  shiny: { mu: [0.15, 0.21], density: 1.39, tenacity: 38, slick: 0.7 },
  matt: { mu: [0.17, 0.24], density: 1.39, tenacity: 36, slick: 0.2 },
  mono: { mu: [0.12, 0.18], density: 1.14, tenacity: 40, slick: 1 },
  metallic: { mu: [0.22, 0.32], density: 1.6, tenacity: 14, slick: 0.5 },
  rayon: { mu: [0.15, 0.21], density: 1.49, tenacity: 20, slick: 0.6 },
};

/** A thread by its weight number: km of it weigh one kg. */
export type Thread = { readonly wt: number; readonly fibre: Fibre };
export type Pair = { readonly top: Thread; readonly bobbin: Thread };

const t = (wt: number, fibre: Fibre): Thread => ({ wt, fibre });
const pair = (top: Thread, bobbin: Thread): Pair => ({ top, bobbin });

/** The pairs that people sew, common practice. */
export const pairs: readonly Pair[] = [
  pair(t(100, 'matt'), t(100, 'matt')),
  pair(t(100, 'matt'), t(60, 'matt')),
  pair(t(60, 'matt'), t(60, 'matt')),
  pair(t(60, 'cotton'), t(60, 'cotton')),
  pair(t(50, 'cotton'), t(50, 'cotton')),
  pair(t(50, 'cotton'), t(60, 'matt')),
  pair(t(40, 'shiny'), t(40, 'shiny')),
  pair(t(40, 'shiny'), t(60, 'matt')),
  pair(t(40, 'matt'), t(40, 'matt')),
  pair(t(40, 'cotton'), t(40, 'cotton')),
  pair(t(40, 'cotton'), t(50, 'cotton')),
  pair(t(30, 'matt'), t(50, 'matt')),
  pair(t(12, 'cotton'), t(50, 'cotton')),
  pair(t(90, 'mono'), t(60, 'matt')),
  pair(t(90, 'mono'), t(90, 'mono')),
  pair(t(40, 'metallic'), t(60, 'matt')),
  pair(t(40, 'rayon'), t(60, 'matt')),
];

/** Weight numbers are metric counts of the whole thread: tex = 1000 / wt. */
export const texOf = (thread: Thread) => 1000 / thread.wt;

/** Cylinder model at a packing of 0.65: d in mm. */
export const diameterOf = (thread: Thread) =>
  0.0356825 * Math.sqrt(texOf(thread) / (fibres[thread.fibre].density * 0.65));

/** Where a thread breaks, in cN. */
export const strengthOf = (thread: Thread) => texOf(thread) * fibres[thread.fibre].tenacity;
