/** What goes on paper at its true size: the papers, the drop strip, the star and the class sheet. Lengths in millimetres. */
import type { Band } from './task/drop-verdict';
import { mmPerInch } from './units';

/** A4: ISO 216. US Letter: 8.5 x 11 in, ANSI Y14.1. A card is an index card of 4 x 6 in. */
export const papers = {
  a4: { width: 210, height: 297 },
  letter: { width: 8.5 * mmPerInch, height: 11 * mmPerInch },
  card: { width: 4 * mmPerInch, height: 6 * mmPerInch },
} as const;
export type Paper = keyof typeof papers;
export const paperNames = Object.keys(papers) as readonly Paper[];

/** The bar that a person measures to see that the printer did not scale. */
export const barMm = 50;

/** The strip ends here, our choice: two inches beyond the usual band, and on a card in two pieces of half. */
export const stripMm = 8 * mmPerInch;

export type Mark = { readonly mm: number; readonly label?: string; readonly strong: boolean };
/** One piece of the strip: from `from` to `to` below the zero line; marks and band are measured from `from`. */
export type Piece = {
  readonly from: number;
  readonly to: number;
  readonly inches: readonly Mark[]; // every half
  readonly millimetres: readonly Mark[]; // every ten
  readonly band?: { readonly from: number; readonly to: number };
};

/** The lines that every drop is read against: 4 and 6 in, 100 and 150 mm. Common practice, no published source. */
const strong = { inches: [0, 4, 6], millimetres: [0, 100, 150] } as const;

/** The strip as it fits on a paper. A piece that goes on where another ended begins with that one's last line. */
export function stripPieces(paper: Paper, band: Band): readonly Piece[] {
  const pieces = paper === 'card' ? 2 : 1;
  const each = stripMm / pieces;
  return Array.from({ length: pieces }, (_, i) => piece(i * each, (i + 1) * each, band));
}

function piece(from: number, to: number, band: Band): Piece {
  const [low, high] = [band.from, band.to].map((tenths) => (tenths * mmPerInch) / 10) as [number, number];
  const [top, end] = [Math.max(low, from), Math.min(high, to)];
  return {
    from,
    to,
    inches: marks(from, to, mmPerInch / 2, 2, (n) => n / 2, strong.inches),
    millimetres: marks(from, to, 10, 5, (n) => n * 10, strong.millimetres),
    ...(end > top ? { band: { from: top - from, to: end - from } } : {}),
  };
}

/** Marks of one scale inside a piece; every so manyth has its figure. */
function marks(
  from: number,
  to: number,
  step: number,
  every: number,
  figure: (n: number) => number,
  heavy: readonly number[],
): readonly Mark[] {
  const first = Math.ceil(from / step - 1e-9);
  const last = Math.floor(to / step + 1e-9);
  return Array.from({ length: last - first + 1 }, (_, i) => {
    const n = first + i;
    const labelled = n % every === 0 ? { label: String(figure(n)) } : {};
    return { mm: n * step - from, strong: heavy.includes(figure(n)), ...labelled };
  });
}

/** Whether the band reaches beyond the strip: then words say where it ends. */
export const beyondStrip = (band: Band): boolean => (band.to * mmPerInch) / 10 > stripMm;

/** The star from above, oneself at the lower edge: lines of this length from the middle, circles of this radius below. Our choice. */
export const star = {
  a4: { ray: 75, circle: 20 },
  letter: { ray: 68, circle: 17 },
  card: { ray: 28, circle: 8 },
} as const satisfies { [paper in Paper]: { ray: number; circle: number } };
export const starDirections = [0, 45, 90, 135, 180, 225, 270, 315] as const;

/** Rows of a class sheet: as many as stand on one side at a height that a hand can write in (our choice). */
export const classRows: { readonly [paper in Paper]: number } = { a4: 16, letter: 14, card: 5 };

/** Millimetres of one square of a code: half of one is read at arm's length by a plain camera (our choice, tried on paper by nobody yet). */
export const codeSquareMm = 0.5;
