/** Published and computed check values, run through the project's own functions: the shapes, and how close is close enough. */

/** One entry of a file of check values. Tolerance is absolute and goes for every number inside `expect`. */
export type CheckValue = {
  readonly id: string;
  readonly topic: string;
  readonly calc: string;
  readonly given: Given;
  readonly expect: unknown;
  readonly tolerance: number;
  readonly source: string;
};
// biome-ignore lint/suspicious/noExplicitAny: entries come from a file; what does not fit gives a wrong result and fails
export type Given = { readonly [key: string]: any };
/** From what is given to what is expected; the file's other entries for those that lean on them. */
export type Calc = (given: Given, all: readonly CheckValue[]) => unknown;
export type Calcs = { readonly [calc: string]: Calc };

export type Outcome =
  | { readonly id: string; readonly topic: string; readonly calc: string; readonly how: 'passed' | 'unknown' | 'data' }
  | {
      readonly id: string;
      readonly topic: string;
      readonly calc: string;
      readonly how: 'failed';
      readonly why: string;
    };

/** Entries that are no check: others lean on them. */
const dataOnly: ReadonlySet<string> = new Set(['network']);

export function runChecks(values: readonly CheckValue[], calcs: Calcs): readonly Outcome[] {
  return values.map((v): Outcome => {
    const about = { id: v.id, topic: v.topic, calc: v.calc };
    if (dataOnly.has(v.calc)) return { ...about, how: 'data' };
    const calc = Object.hasOwn(calcs, v.calc) ? calcs[v.calc] : undefined;
    if (!calc) return { ...about, how: 'unknown' };
    let why: string | undefined;
    try {
      why = differs(v.expect, calc(v.given, values), v.tolerance, '');
    } catch (e) {
      why = String(e);
    }
    return why === undefined ? { ...about, how: 'passed' } : { ...about, how: 'failed', why };
  });
}

/** Where and how two values differ; undefined: nowhere. Numbers under a name that ends in `_deg` are angles: 360 is 0. */
export function differs(want: unknown, got: unknown, tolerance: number, at: string): string | undefined {
  if (typeof want === 'number') {
    if (typeof got !== 'number') return `${at}: ${String(got)} is no number`;
    const apart = Math.abs(want - got);
    const off = at.endsWith('_deg') ? Math.min(apart % 360, 360 - (apart % 360)) : apart;
    return off <= tolerance ? undefined : `${at}: ${got}, not ${want}`;
  }
  if (Array.isArray(want)) {
    if (!Array.isArray(got) || got.length !== want.length) return `${at}: ${JSON.stringify(got)}`;
    return want.map((w, i) => differs(w, got[i], tolerance, `${at}[${i}]`)).find((x) => x !== undefined);
  }
  if (typeof want === 'object' && want !== null) {
    if (typeof got !== 'object' || got === null) return `${at}: ${JSON.stringify(got)}`;
    const given = got as { readonly [key: string]: unknown };
    return Object.entries(want)
      .map(([key, w]) => differs(w, given[key], tolerance, at === '' ? key : `${at}.${key}`))
      .find((x) => x !== undefined);
  }
  return want === got ? undefined : `${at}: ${JSON.stringify(got)}, not ${JSON.stringify(want)}`;
}
