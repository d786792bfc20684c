/**
 * Tables as text that any general program reads: RFC 4180, lines ended by CRLF, quotes doubled. UTF-8 is the reader's to
 * know. A cell of text that a spreadsheet would take for a formula gets an apostrophe before it.
 */
export type Cell = string | number | boolean | undefined;

/** What a spreadsheet may take for a formula: these, also in full width, and a tab or line end that hides one. */
const formula = /^[\s]*[=+\-@＝＋－＠]|^[\t\r\n]/;

/** One table, its headings first. Numbers stay numbers; text is disarmed and quoted where it must be. */
export function csv(headings: readonly string[], rows: readonly (readonly Cell[])[]): string {
  return [headings, ...rows].map((row) => `${row.map(cell).join(',')}\r\n`).join('');
}

function cell(value: Cell): string {
  if (value === undefined) return '';
  if (typeof value !== 'string') return String(value);
  const safe = formula.test(value) ? `'${value}` : value;
  return /[",\r\n]|^\s|\s$/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
}
