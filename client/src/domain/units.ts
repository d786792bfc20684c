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
/** Why a typed length was not taken. */
export type LengthFault = 'empty' | 'not-a-length' | 'unit-unknown' | 'negative' | 'too-long';

/** The longest length taken, our choice: no drop or ruler in this job comes near 40 in. */
export const longestTenthsIn = 400;

/**
 * A length as typed: "4.5", "4,5", "4 1/2", "4½", "1/4", with in, inch, inches, ", mm or cm behind it; inches without
 * a unit. Rounded to the nearest tenth of an inch.
 */
export function parseLength(text: string): { readonly length: TenthsInch } | { readonly fault: LengthFault } {
  const t = text
    .replace(/[¼-¾⅐-⅞]/g, ' $&') // 4½ is 4 and ½, not 41/2
    .normalize('NFKC')
    .replaceAll('\u2044', '/')
    .replaceAll('\u2212', '-')
    .trim()
    .toLowerCase();
  if (t === '') return { fault: 'empty' };
  const unsigned = t.replace(/^-\s*/, '');
  const amount = /^(\d{1,6}(?:[.,]\d{0,6})?|[.,]\d{1,6})?(?:(?:^|\s+|-)(\d{1,3})\s*\/\s*(\d{1,3}))?(?=\D*$)/.exec(
    unsigned,
  );
  if (!amount || amount[0] === '') return { fault: 'not-a-length' };
  const [taken, number, over, under] = amount;
  if (over !== undefined && (/[.,]/.test(number ?? '') || Number(under) === 0)) return { fault: 'not-a-length' };
  const perUnit = inchesPer(unsigned.slice(taken.length).trim());
  if (perUnit === undefined) return { fault: 'unit-unknown' };
  const inches = (Number((number ?? '0').replace(',', '.')) + (over ? Number(over) / Number(under) : 0)) * perUnit;
  if (unsigned !== t && inches > 0) return { fault: 'negative' };
  const tenths = Math.round(inches * 10 + 1e-9); // 4.35 is 4.4 although its binary form lies a hair below
  return tenths > longestTenthsIn ? { fault: 'too-long' } : { length: tenthsInch(tenths) };
}

function inchesPer(unit: string): number | undefined {
  if (/^(|in|in\.|inch|inches|"|”|″|'')$/.test(unit)) return 1;
  if (/^(mm|millimet(re|er)s?)$/.test(unit)) return 1 / mmPerInch;
  if (/^(cm|centimet(re|er)s?)$/.test(unit)) return 10 / mmPerInch;
  return undefined;
}
