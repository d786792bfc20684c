/** The code that lets a phone in: as it is typed, as an address brings it, as it is sent and as it is shown. */
import { codeLetters } from './domain/short-code';

/** What an address brought behind its #: a code to join with, or one to claim the server with. */
export type Brought = { readonly code: string; readonly claim: boolean };

export function codeInAddress(hash: string): Brought | undefined {
  const [, claim, code] = /^#(claim=)?(.+)$/.exec(hash) ?? [];
  return code ? { code: cleanCode(code).slice(0, longest), claim: claim !== undefined } : undefined;
}

/** Eight characters with room for spaces and dashes, and for one too many that a person should see. */
export const longest = 20;
const letters = new RegExp(`^[${codeLetters}]{8}$`);

/** As it is sent: upper case, no spaces or dashes. */
export const cleanCode = (typed: string): string => typed.toUpperCase().replace(/[\s-]/g, '');

/** Whether it can be a code at all: no letter or digit that looks like another is in one. */
export const fitsCode = (clean: string): boolean => letters.test(clean);

/** As it is shown: two groups of four. */
export const inFours = (code: string): string => `${cleanCode(code).slice(0, 4)} ${cleanCode(code).slice(4)}`;
