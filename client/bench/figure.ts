/** A figure beside its bar. */
export type Figure = { readonly what: string; readonly is: number; readonly bar: number; readonly least?: true };
export const reached = (f: Figure) => (f.least ? f.is >= f.bar : f.is <= f.bar);
