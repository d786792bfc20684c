/** Sizes and numbers as they are typed and shown, and what is said of one that can't be used. */
import { mmPerInch, type SizeFault } from '../domain/units';

const faults: { readonly [fault in SizeFault]: string } = {
  empty: 'Nothing is typed here yet.',
  'not-a-length': 'This is no length. Type it like 90, 90 1/2 in, 2.3 m or 2,3 m, one unit at a time.',
  'not-a-number': 'A number belongs here, such as 25 or 12.5, with no unit behind it.',
  'one-comma': 'A comma before three digits can mean two things. Type 1250 or 1.25.',
  'not-whole': 'Only whole numbers are kept here, such as 12.',
  'unit-unknown': 'This unit is not known here. Use in, ft, yd, mm, cm or m.',
  negative: 'This can’t be less than nothing. Take the minus away.',
  zero: 'Nothing at all can’t be right here. Type a number above 0, or leave it empty.',
  'too-small': 'This is too small to be right.',
  'too-big': 'This is too big to be right.',
};

/** The sentence at the field. `least` and `most` are what can be typed there. What was typed stays. */
export function faultWords(fault: SizeFault, least: string, most: string): string {
  return fault === 'too-small' || fault === 'too-big'
    ? `${faults[fault]} From ${least} to ${most} is taken; what you typed stays here.`
    : faults[fault];
}

const figure = (n: number, digits: number): string =>
  new Intl.NumberFormat('en', { maximumFractionDigits: digits, useGrouping: false }).format(n);

/** A number with at most so many digits behind the point, and no more than it needs. */
export const number = (n: number, digits = 1): string => figure(n, digits);

/** A length in the phone's units: "90 in", "38.1 mm", and "2.29 m" from a metre on. */
export function length(mm: number, units: 'in' | 'mm'): string {
  if (units === 'in') return `${figure(mm / mmPerInch, 2)} in`;
  return mm >= 1000 ? `${figure(mm / 1000, 3)} m` : `${figure(mm, 2)} mm`;
}

/** Metres of thread, to three figures: no more is known. */
export function metres(m: number): string {
  const digits = 10 ** Math.max(0, Math.floor(Math.log10(Math.max(m, 1))) - 2);
  return `${figure(Math.round(m / digits) * digits, m < 10 ? 1 : 0)} m`;
}

/** "12", or "12 to 15". */
export const span = (least: string, most: string): string => (least === most ? least : `${least} to ${most}`);
