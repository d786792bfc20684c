/**
 * Numbers with their units as types, and lengths as people type them. In records every number is whole and carries its
 * unit in the field's name.
 */

/** Length in tenths of an inch, whole: 45 is 4.5 in. */
export type TenthsInch = number & { readonly unit: 'in/10' };
/** A move or place of a screw in clock-minutes, whole: 60 is one whole turn, + is tighter. */
export type ClockMinutes = number & { readonly unit: 'min' };
/** A number read off a dial or screen, in tenths, whole: 35 is 3.5. */
export type DialTenths = number & { readonly unit: 'dial/10' };
/** Exact since the international yard and pound agreement of 1959. */
export const mmPerInch = 25.4;

function whole(n: number, what: string): number {
  if (!Number.isSafeInteger(n)) throw new RangeError(`${what}: ${n} is not whole`);
  return n === 0 ? 0 : n; // -0 is 0
}

export const tenthsInch = (n: number): TenthsInch => whole(n, 'tenths of an inch') as TenthsInch;
export const clockMinutes = (n: number): ClockMinutes => whole(n, 'clock minutes') as ClockMinutes;
export const dialTenths = (n: number): DialTenths => whole(n, 'tenths on the dial') as DialTenths;
/** Length in whole micrometres: fractions of an inch down to 1/64 are kept without loss that could be seen. */
export type Micrometres = number & { readonly unit: 'um' };
export const micrometres = (n: number): Micrometres => whole(n, 'micrometres') as Micrometres;

/** Why a typed length was not taken. */
export type LengthFault = 'empty' | 'not-a-length' | 'unit-unknown' | 'negative' | 'too-long';

/** The longest length taken, our choice: no drop or ruler in this job comes near 40 in. */
export const longestTenthsIn = 400;

/**
 * A length as typed: "4.5", "4,5", "4 1/2", "4½", "1/4", with in, inch, inches, ", mm or cm behind it; inches without
 * a unit. Rounded to the nearest tenth of an inch.
 */
export function parseLength(text: string): { readonly length: TenthsInch } | { readonly fault: LengthFault } {
  const read = readAmount(text);
  if ('fault' in read) return read;
  const perUnit = ({ '': mmPerInch, in: mmPerInch, mm: 1, cm: 10 } as { [unit: string]: number })[read.unit];
  if (perUnit === undefined) return { fault: 'unit-unknown' };
  if (read.amount < 0) return { fault: 'negative' };
  const tenths = Math.round((read.amount * perUnit * 10) / mmPerInch + 1e-9); // 4.35 is 4.4 although its binary form lies a hair below
  return tenths > longestTenthsIn ? { fault: 'too-long' } : { length: tenthsInch(tenths) };
}

/**
 * Why a typed size or number was not taken. 'zero' is nothing at all, 'too-small' and 'too-big' lie outside the bounds,
 * 'not-whole' is a part of something that is counted.
 */
export type SizeFault =
  | 'empty'
  | 'not-a-length'
  | 'not-a-number'
  | 'one-comma'
  | 'not-whole'
  | 'unit-unknown'
  | 'negative'
  | 'zero'
  | 'too-small'
  | 'too-big';

/** Millimetres in each unit of length that is taken. Exact by the yard of 1959. */
const mmIn: { readonly [unit: string]: number } = {
  mm: 1,
  cm: 10,
  m: 1000,
  in: mmPerInch,
  ft: 12 * mmPerInch,
  yd: 36 * mmPerInch,
};
export type LengthUnit = 'mm' | 'cm' | 'm' | 'in' | 'ft' | 'yd';

/** A thousand and more in one country, one and a bit in another. Of a size it is asked where a thousand could be meant. */
const oneComma = /^\s*-?[1-9]\d{0,2},\d{3}(?=\D*$)/;

/**
 * A size as typed, in any unit of length, one unit at a time; `plain` is meant where none stands behind it. `least` and
 * `most` bound it, in millimetres.
 */
export function parseSize(
  text: string,
  plain: LengthUnit,
  bounds: { readonly least: number; readonly most: number },
): { readonly um: Micrometres } | { readonly fault: SizeFault } {
  const read = readAmount(text);
  if ('fault' in read) return read;
  const perUnit = mmIn[read.unit || plain];
  if (perUnit === undefined) return { fault: 'unit-unknown' };
  const mm = read.amount * perUnit;
  if (oneComma.test(text) && mm * 1000 <= bounds.most) return { fault: 'one-comma' };
  return bounded(mm, bounds, (mm) => ({ um: micrometres(Math.round(mm * 1000)) }));
}

/** A number as typed, without a unit: "25", "12.5", "12,5", "1 1/2". */
export function parseNumber(
  text: string,
  bounds: { readonly least: number; readonly most: number },
): { readonly number: number } | { readonly fault: SizeFault } {
  if (oneComma.test(text)) return { fault: 'one-comma' };
  const read = readAmount(text);
  if ('fault' in read) return { fault: read.fault === 'empty' ? 'empty' : 'not-a-number' };
  if (read.unit !== '') return { fault: 'not-a-number' };
  return bounded(read.amount, bounds, (number) => ({ number }));
}

function bounded<T>(n: number, { least, most }: { least: number; most: number }, taken: (n: number) => T) {
  if (n < 0) return { fault: 'negative' } as const;
  if (n === 0 && least > 0) return { fault: 'zero' } as const;
  if (n < least) return { fault: 'too-small' } as const;
  return n > most ? ({ fault: 'too-big' } as const) : taken(n);
}

/** What stands in a field: an amount, and the unit behind it as it is called above, '' for none. */
function readAmount(
  text: string,
): { readonly amount: number; readonly unit: string } | { readonly fault: 'empty' | 'not-a-length' | 'unit-unknown' } {
  const t = text
    .replace(/[¼-¾⅐-⅞]/g, ' $&') // 4½ is 4 and ½, not 41/2
    .normalize('NFKC')
    .replaceAll('\u2044', '/')
    .replaceAll('\u2212', '-')
    .trim()
    .toLowerCase();
  if (t === '') return { fault: 'empty' };
  const unsigned = t.replace(/^-\s*/, '');
  const amount = /^(\d{1,12}(?:[.,]\d{0,6})?|[.,]\d{1,6})?(?:(?:^|\s+|-)(\d{1,3})\s*\/\s*(\d{1,3}))?(?=\D*$)/.exec(
    unsigned,
  );
  if (!amount || amount[0] === '') return { fault: 'not-a-length' };
  const [taken, number, over, under] = amount;
  // 40/2 on a cone is two plies and no fraction: a fraction is less than one
  if (over !== undefined && (/[.,]/.test(number ?? '') || Number(over) >= Number(under)))
    return { fault: 'not-a-length' };
  const unit = unitOf(unsigned.slice(taken.length).trim());
  if (unit === undefined) return { fault: 'unit-unknown' };
  const n = Number((number ?? '0').replace(',', '.')) + (over ? Number(over) / Number(under) : 0);
  return { amount: unsigned !== t ? -n : n, unit };
}

const unitNames: readonly (readonly [RegExp, LengthUnit | ''])[] = [
  [/^$/, ''],
  [/^(in|in\.|inch|inches|"|”|′′|'')$/, 'in'],
  [/^(ft|ft\.|foot|feet|'|’|′)$/, 'ft'],
  [/^(yd|yd\.|yds|yard|yards)$/, 'yd'],
  [/^(mm|millimet(re|er)s?)$/, 'mm'],
  [/^(cm|centimet(re|er)s?)$/, 'cm'],
  [/^(m|met(re|er)s?)$/, 'm'],
];
const unitOf = (words: string): LengthUnit | '' | undefined => unitNames.find(([form]) => form.test(words))?.[1];
