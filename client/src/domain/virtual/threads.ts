/**
 * Threads as the path feels them. Friction is of thread on steel, lowest and highest; with tenacity and how slick a thread
 * is, our estimate of common practice with no published source.
 */
import { pairs as sewnPairs } from '../knowledge/pairs';

type Fibre = {
  readonly mu: readonly [number, number];
  readonly tenacity: number; // cN per tex at break
  readonly slick: number; // 0 lies still on the cone … 1 springs off it
};

const fibres: { readonly [fibre: string]: Fibre } = {
  cotton: { mu: [0.2, 0.28], tenacity: 26, slick: 0 },
  wool: { mu: [0.22, 0.3], tenacity: 12, slick: 0 },
  polyester: { mu: [0.17, 0.24], tenacity: 36, slick: 0.2 },
  'shiny polyester': { mu: [0.15, 0.21], tenacity: 38, slick: 0.7 },
  clear: { mu: [0.12, 0.18], tenacity: 40, slick: 1 },
  metallic: { mu: [0.22, 0.32], tenacity: 14, slick: 0.5 },
  rayon: { mu: [0.15, 0.21], tenacity: 20, slick: 0.6 },
  silk: { mu: [0.15, 0.21], tenacity: 35, slick: 0.5 },
};
/** Clear and metallic thread are sold without a weight number that means much; this one is a guess. */
const unnumbered = 60;

export type TopThread = { readonly wt: number; readonly fibre: string } & Fibre;

/** The top threads of all pairs that the trade sews, each fibre of a pair by itself. Tex = 1000 / wt. */
export const topThreads: readonly TopThread[] = sewnPairs.flatMap((pair) =>
  pair.top.fibres.map((fibre) => {
    const feel = fibres[fibre];
    if (!feel) throw new RangeError(`no friction is known of ${fibre}`);
    return { wt: pair.top.wt ?? unnumbered, fibre, ...feel };
  }),
);

/** Where a thread breaks, in cN. */
export const strengthOf = (thread: TopThread) => (1000 / thread.wt) * thread.tenacity;
