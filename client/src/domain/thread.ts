/**
 * Threads: what the number on a cone says about how much thread there is in a metre, and how thick it is. Linear density
 * in tex (g per 1000 m, ISO 1144), diameters in mm, densities in g/cm3.
 *
 * Hank lengths of the counts, the pound and the yard: GNU units, definitions file; held against it in the tests. Ticket =
 * 3 x the count of the finished thread and weight number = km per kg: textile primers and glossaries, common practice.
 */

/** NeL: lea, linen. NeW: worsted. wt: weight number. A ticket is a class of sizes, not a measurement. */
export const systems = [
  ...(['tex', 'dtex', 'denier', 'wt', 'metricTicket', 'cottonTicket', 'Nm', 'Ne', 'NeL', 'NeW'] as const),
];
export type CountSystem = (typeof systems)[number];

const gramsPerPound = 453.59237;
const metresPerYard = 0.9144;
const hank = (yards: number) => (gramsPerPound * 1000) / (yards * metresPerYard);

/** tex = factor x count where the count grows with thickness, factor / count where it falls. */
const direct = { tex: 1, dtex: 1 / 10, denier: 1 / 9 } as const;
const indirect = {
  Nm: 1000,
  wt: 1000,
  Ne: hank(840),
  NeL: hank(300),
  NeW: hank(560),
  metricTicket: 3 * 1000,
  cottonTicket: 3 * hank(840),
} as const;

const isDirect = (system: CountSystem): system is keyof typeof direct => Object.hasOwn(direct, system);

/** The factor of an indirect system: tex x count. Direct ones have 1 over what one of them is in tex. */
export const countConstant = (system: CountSystem): number =>
  isDirect(system) ? 1 / direct[system] : indirect[system];

export const toTex = (count: number, system: CountSystem): number =>
  isDirect(system) ? count * direct[system] : indirect[system] / count;

export const fromTex = (tex: number, system: CountSystem): number =>
  isDirect(system) ? tex / direct[system] : indirect[system] / tex;

export const convert = (count: number, from: CountSystem, to: CountSystem): number =>
  from === to ? count : fromTex(toTex(count, from), to);

/**
 * What a figure in this system is worth. 'exact': mass for length by definition. 'estimate': a weight number often copies
 * the first figure of a count and drops the plies, and a ticket is set before dyeing (ASTM D3823), so both are near it.
 */
export const worth = (system: CountSystem): 'exact' | 'estimate' =>
  system === 'wt' || system === 'metricTicket' || system === 'cottonTicket' ? 'estimate' : 'exact';

/**
 * Threads twisted together, in tex: the sum of the plies, made longer to lay by `takeUp` (0.04: 4 % more yarn than thread).
 * For counts that fall it is 1/N = sum of 1/Ni.
 */
export const folded = (singlesTex: readonly number[], takeUp = 0): number =>
  singlesTex.reduce((sum, tex) => sum + tex, 0) * (1 + takeUp);

/** How long so much thread is: 1000 x g / tex, in metres. */
export const metresOf = (grams: number, tex: number): number => (1000 * grams) / tex;

/**
 * Density of the fibre in g/cm3 at 65 % r.h.: Morton and Hearle, Physical Properties of Textile Fibres, table 5.1. Rayon
 * is viscose. Fibres that are not here, and metallic or clear thread, are of more than one stuff: no density.
 */
const densities: { readonly [fibre: string]: number } = {
  cotton: 1.52,
  viscose: 1.49,
  rayon: 1.49,
  silk: 1.34,
  wool: 1.31,
  polyester: 1.39,
  'shiny polyester': 1.39,
  nylon: 1.14,
  acrylic: 1.19,
  polypropylene: 0.91,
  polyethylene: 0.95,
};
export const fibreDensity = (fibre: string | undefined): number | undefined => {
  const name = (fibre ?? '').trim().toLowerCase();
  return Object.hasOwn(densities, name) ? densities[name] : undefined;
};

/** Fibre area over thread area of twisted sewing thread is 0.55 to 0.75, from memory; 0.65 until somebody knows better. */
export const usualPacking = 0.65;

/** d = sqrt(4e-3 tex / (pi rho phi)), own derivation (cylinder); the printed 4.44e-3 sqrt(tex/rho) cm is phi = 0.6459. */
export const diameterMm = (tex: number, density: number, packing = usualPacking): number =>
  Math.sqrt((4e-3 * tex) / (Math.PI * density * packing));

/** The diameter formula turned over. */
export const packingOf = (tex: number, density: number, mm: number): number =>
  (4e-3 * tex) / (Math.PI * density * mm * mm);

/** Space the thread takes for its mass, cm3/g. */
export const specificVolume = (tex: number, mm: number): number => (Math.PI * mm * mm * 1000) / (4 * tex);

/** A solid round filament, in micrometres: 11.28 sqrt(dtex/rho), geometry. */
export const filamentUm = (dtex: number, density: number): number =>
  2000 * Math.sqrt((1e-4 * dtex) / (Math.PI * density));

/** Peirce's rule for cotton, 1 / (28 sqrt Ne) inch, in mm. */
export const peirceMm = (ne: number): number => 25.4 / (28 * Math.sqrt(ne));

export type Printed =
  | { readonly form: 'plain'; readonly count: number }
  | { readonly form: 'two-part'; readonly count: number; readonly plies: number }
  | { readonly form: 'text' };

/**
 * What a label's figures are: "40", "40 wt", "50/3" or words. Two-part figures have no rule of conversion by themselves:
 * they are text until somebody says which count the first figure is.
 */
export function printed(label: string): Printed {
  const m = /^\s*(\d{1,4}(?:[.,]\d{1,3})?)\s*(?:\/\s*(\d{1,2}))?\s*(?:wt\.?)?\s*$/i.exec(label);
  const count = Number(m?.[1]?.replace(',', '.'));
  if (!m || !(count > 0)) return { form: 'text' };
  if (m[2] === undefined) return { form: 'plain', count };
  return Number(m[2]) > 0 ? { form: 'two-part', count, plies: Number(m[2]) } : { form: 'text' };
}

/** Systems in which "40/2" means two singles of 40, which is one thread of 20. */
export const takesPlies = (system: CountSystem): boolean => ['Nm', 'Ne', 'NeL', 'NeW'].includes(system);

/** A thread of the shelf, as far as its size goes. */
export type Sized = {
  readonly number?: string;
  readonly fibre?: string;
  readonly countSystem?: CountSystem;
  readonly countThousandths?: number;
  readonly countPlies?: number; // where the count is that of the single
  readonly packingPercent?: number;
};

/** How many singles its count is to be multiplied by: those of a system that counts the single. */
export const pliesOf = ({ countSystem, countPlies = 1 }: Sized): number =>
  countSystem && takesPlies(countSystem) ? countPlies : 1;

/**
 * Its size in tex: by the count that somebody looked up, else the bare number on the cone taken for a weight number. Plies
 * added up are an estimate: twisting makes the thread shorter than they are, by how much is not known.
 */
export function texOf(
  t: Sized | undefined,
): { readonly tex: number; readonly worth: 'exact' | 'estimate' } | undefined {
  if (!t) return undefined;
  const { countSystem, countThousandths } = t;
  if (countSystem && countThousandths) {
    const plies = pliesOf(t);
    const tex = toTex(countThousandths / 1000, countSystem) * plies;
    return { tex, worth: plies > 1 ? 'estimate' : worth(countSystem) };
  }
  const label = printed(t.number ?? '');
  return label.form === 'plain' ? { tex: toTex(label.count, 'wt'), worth: 'estimate' } : undefined;
}

/** Its diameter, where size and fibre are known. */
export function thicknessOf(t: Sized | undefined): number | undefined {
  const size = texOf(t);
  const density = fibreDensity(t?.fibre);
  return size && density ? diameterMm(size.tex, density, (t?.packingPercent ?? usualPacking * 100) / 100) : undefined;
}

/** Under this much two threads are alike: one cone differs from the next by more (2 %, our choice). */
const alikeShare = 0.02;

export type Compared = {
  readonly thicker: 'first' | 'second' | 'alike';
  readonly percent: number; // how much thicker, of the finer one's diameter, whole
  readonly by: 'diameter' | 'mass'; // mass: a fibre is not known, both are taken for the same stuff
  readonly worth: 'exact' | 'estimate';
};

/** Which of two threads is thicker, and by how much. Undefined where the size of one is not known. */
export function compare(first: Sized, second: Sized): Compared | undefined {
  const [a, b] = [texOf(first), texOf(second)];
  if (!a || !b) return undefined;
  const [da, db] = [thicknessOf(first), thicknessOf(second)];
  const ratio = da && db ? da / db : Math.sqrt(a.tex / b.tex); // same stuff: thickness goes with the root of the mass
  const more = Math.max(ratio, 1 / ratio) - 1;
  return {
    thicker: more < alikeShare ? 'alike' : ratio > 1 ? 'first' : 'second',
    percent: Math.round(more * 100),
    by: da && db ? 'diameter' : 'mass',
    worth: a.worth === 'exact' && b.worth === 'exact' ? 'exact' : 'estimate',
  };
}

/** The sizes that cones are sold in, as weight numbers: common practice, no published source. Thickest first. */
const steps = [12, 20, 30, 40, 50, 60, 80, 100];

/** How many such steps finer `to` is than `from`, minus for thicker; 0 is the same step. */
export function stepsFiner(fromTexSize: number, toTexSize: number): number {
  const at = (tex: number) => {
    const off = steps.map((wt) => Math.abs(Math.log(toTex(wt, 'wt') / tex)));
    return off.indexOf(Math.min(...off));
  };
  return at(toTexSize) - at(fromTexSize);
}
