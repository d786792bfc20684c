/** The fault model's tables made ready for reckoning: causes, findings and acts by number, and what two causes show together. */
import type { Tables } from './knowledge/faults/shape';
import { tables } from './knowledge/faults/tables';

export type ModelFinding = {
  readonly id: string;
  readonly kind: 'symptom' | 'test' | 'context';
  readonly minutes: number;
  readonly states: readonly string[];
  readonly base: readonly number[];
  readonly group: number; // of findings that say almost the same; -1: alone
  readonly rows: readonly (readonly number[] | undefined)[]; // by cause: P(state | it alone); undefined: the base
  readonly bearing: readonly number[]; // causes with a row
  /** By cause: its place in `together`, 0 for all without a row. */
  readonly place: Uint8Array;
  /** P(state | two causes) by their places: `together[one * (bearing.length + 1) + other]`. */
  readonly together: readonly (readonly number[])[];
};
export type ModelAct = {
  readonly id: string;
  readonly kind: string;
  readonly minutes: number;
  readonly lasting: boolean;
  readonly mends: readonly (readonly [cause: number, chance: number])[];
};
export type Model = {
  readonly version: number;
  readonly causes: readonly string[];
  readonly technician: readonly boolean[]; // by cause: a technician's to mend
  readonly findings: ReadonlyMap<string, ModelFinding>;
  readonly acts: ReadonlyMap<string, ModelAct>;
  /** Logarithms of the shares, causes × causes: a cause alone stands on the diagonal, a pair in both its places. */
  readonly shares: { readonly wrong: Float64Array; readonly changed: Float64Array };
};

/** How much rarer two causes at once are than chance would have them: about half (our estimate, no source). */
const pairFactor = 0.5;
/** No chance is nearer to nothing or to certainty than this: people contradict tables. */
const least = 0.01;
const most = 0.98;

/** Rows that do not fit their finding, and ids that are nowhere, are a fault of the tables: RangeError. */
export function modelOf(t: Tables): Model {
  const causes = Object.keys(t.causes);
  const number = new Map(causes.map((id, i) => [id, i]));
  const numberOf = (id: string) => {
    const i = number.get(id);
    if (i === undefined) throw new RangeError(`fault model: no cause ${id}`);
    return i;
  };
  for (const [id, c] of Object.entries(t.causes))
    for (const f of Object.keys(c.shows))
      if (!Object.hasOwn(t.looks, f)) throw new RangeError(`fault model: ${id} shows ${f}, which is nowhere`);
  return {
    version: t.version,
    causes,
    technician: Object.values(t.causes).map((c) => c.who === 'technician'),
    findings: new Map(Object.keys(t.looks).map((id) => [id, findingOf(t, id)])),
    acts: new Map(
      Object.entries(t.acts).map(([id, a]) => [
        id,
        {
          id,
          kind: a.kind,
          minutes: a.minutes,
          lasting: a.lasting === true,
          mends: Object.entries(a.mends).map(([c, n]) => [numberOf(c), n / 100] as const),
        },
      ]),
    ),
    shares: { wrong: shares(t, numberOf, 'wrong'), changed: shares(t, numberOf, 'changed') },
  };
}

function findingOf(t: Tables, id: string): ModelFinding {
  const look = t.looks[id];
  const states = t.states[id];
  if (!look || states?.length !== look.base.length) throw new RangeError(`fault model: the states of ${id}`);
  const base = look.base.map((n) => n / 10_000);
  const rows = Object.values(t.causes).map((c) => {
    const row = Object.hasOwn(c.shows, id) ? c.shows[id] : undefined;
    if (row && row.length !== states.length) throw new RangeError(`fault model: a row of ${id}`);
    return row?.map((n) => n / 10_000);
  });
  const bearing = rows.flatMap((row, c) => (row ? [c] : []));
  const place = new Uint8Array(rows.length);
  bearing.forEach((c, i) => {
    place[c] = i + 1;
  });
  const shown = [base, ...bearing.map((c) => rows[c] ?? base)];
  const join = look.kind === 'context' ? 'context' : (look.joins ?? 'noisy-or');
  const together = shown.flatMap((one, i) =>
    shown.map((other, j) =>
      // With one cause silent this is the other's row, but a swap must mend both.
      join !== 'cure' && (i === 0 || j === 0) ? (i === 0 ? other : one) : bothCauses(join, states, base, one, other),
    ),
  );
  const group = t.alike.findIndex((g) => g.includes(id));
  return { id, kind: look.kind, minutes: look.minutes, states, base, group, rows, bearing, place, together };
}

/**
 * Two causes at once. Independent voices: each state but the normal one comes from either, or from neither by chance; the
 * normal one takes what is left. A swap says "cured" only if it mends both. Of what is asked, the mean.
 */
export function bothCauses(
  join: 'noisy-or' | 'cure' | 'context',
  states: readonly string[],
  base: readonly number[],
  one: readonly number[],
  other: readonly number[],
): readonly number[] {
  if (join === 'context') return one.map((p, i) => (p + (other[i] ?? 0)) / 2);
  const q = one.map((p, i) => {
    const cured = join === 'cure' && (states[i] === 'cured' || states[i] === 'gone');
    const o = other[i] ?? 0;
    const joined = cured ? p * o : 1 - ((1 - p) * (1 - o)) / (1 - (base[i] ?? 0));
    return Math.min(most, Math.max(least, joined));
  });
  const odd = q.slice(1).reduce((sum, p) => sum + p, 0);
  const scale = odd > most ? most / odd : 1;
  return [1 - odd * scale, ...q.slice(1).map((p) => p * scale)];
}

function shares(t: Tables, numberOf: (id: string) => number, when: 'wrong' | 'changed'): Float64Array {
  const all = Object.values(t.causes);
  const n = all.length;
  const total = all.reduce((sum, c) => sum + c[when], 0);
  const share = all.map((c) => c[when] / total);
  const times = new Float64Array(n * n).fill(pairFactor);
  for (const [a, b, more] of t.together) {
    const [i, j] = [numberOf(a), numberOf(b)];
    times[i * n + j] = pairFactor * more;
    times[j * n + i] = pairFactor * more;
  }
  return times.map((x, at) => {
    const [i, j] = [Math.floor(at / n), at % n];
    return Math.log(i === j ? (share[i] ?? 0) : (share[i] ?? 0) * (share[j] ?? 0) * x);
  });
}

/** The studio's own model. */
export const faultModel: Model = modelOf(tables);
