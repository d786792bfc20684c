/** Codes that a person reads off paper and types. */

/** Digits and letters of which none looks like another: no 0, 1, I, L, O, U. */
export const codeLetters = '23456789ABCDEFGHJKMNPQRSTVWXYZ';

/** As many as a person types without losing the place. */
export const shortCodeLength = 6;

/**
 * Six letters for a record's id (32 hex digits), the same on every phone. Thirty to the sixth are 729 million: of a hundred
 * bobbin cases two have one code in about 7 studios of a million.
 */
export function shortCode(id: string): string {
  let rest = Number.parseInt(id.slice(-12), 16); // 48 bits: exact as a number
  let code = '';
  for (let i = 0; i < shortCodeLength; i++) {
    code += codeLetters[rest % codeLetters.length];
    rest = Math.floor(rest / codeLetters.length);
  }
  return code;
}

const form = new RegExp(`^[${codeLetters}]{${shortCodeLength}}$`);

/** A short code as somebody typed it: any case, spaces and dashes anywhere; undefined where it can't be one. */
export function typedCode(typed: string): string | undefined {
  const code = typed.toUpperCase().replace(/[\s-]/g, '');
  return form.test(code) ? code : undefined;
}
