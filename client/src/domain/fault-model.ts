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
  /** What is met with one cause and with two: worked out when it is first asked for. */
  readonly shown: () => Shown;
};
/** Chances of each state, by its number; all are above nothing, for people contradict tables. */
export type Shown = {
  readonly alone: readonly Float64Array[]; // P(state | this cause alone), by cause
  /** P(state | two causes) by their places: `pairs[state][one * (bearing.length + 1) + other]`. */
  readonly pairs: readonly Float64Array[];
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
  const join = look.kind === 'context' ? 'context' : (look.joins ?? 'noisy-or');
  const group = t.alike.findIndex((g) => g.includes(id));
  const shown = once(() => shownBy(join, states, base, rows, bearing));
  return { id, kind: look.kind, minutes: look.minutes, states, base, group, rows, bearing, place, shown };
}

function shownBy(
  join: Join,
  states: readonly string[],
  base: readonly number[],
  rows: ModelFinding['rows'],
  bearing: readonly number[],
): Shown {
  const all = [base, ...bearing.map((c) => rows[c] ?? base)];
  const byState = base.map((_, s) => Float64Array.from(all, (row) => row[s] ?? 0));
  const pairs = join === 'context' ? byState.map(means) : voices(join, states, base, byState);
  // With one cause silent this is the other's row, but a swap must mend both.
  if (join !== 'cure')
    byState.forEach((row, s) => {
      for (let i = 0; i < row.length; i++) {
        const of = pairs[s];
        if (of) of[i] = of[i * row.length] = row[i] ?? 0;
      }
    });
  return { alone: base.map((_, s) => Float64Array.from(rows, (row) => (row ?? base)[s] ?? 0)), pairs };
}

/** Two causes at once, of what is asked: the mean. */
function means(row: Float64Array): Float64Array {
  const n = row.length;
  const both = new Float64Array(n * n);
  for (let i = 0; i < n; i++) for (let j = 0; j < n; j++) both[i * n + j] = ((row[i] ?? 0) + (row[j] ?? 0)) / 2;
  return both;
}

/**
 * Two causes at once, as independent voices: each state but the normal one comes from either, or from neither by chance; the
 * normal one takes what is left. A swap says "cured" only if it mends both.
 */
function voices(
  join: Join,
  states: readonly string[],
  base: readonly number[],
  byState: readonly Float64Array[],
): readonly Float64Array[] {
  const n = byState[0]?.length ?? 0;
  const pairs = byState.map(() => new Float64Array(n * n));
  const odd = new Float64Array(n * n);
  for (let s = 1; s < byState.length; s++) {
    const [row, both] = [byState[s], pairs[s]];
    if (!row || !both) continue;
    const cured = join === 'cure' && (states[s] === 'cured' || states[s] === 'gone');
    const silent = 1 - (base[s] ?? 0);
    for (let i = 0; i < n; i++) {
      const p = row[i] ?? 0;
      for (let j = 0; j <= i; j++) {
        const o = row[j] ?? 0;
        const joined = cured ? p * o : 1 - ((1 - p) * (1 - o)) / silent;
        const held = Math.min(most, Math.max(least, joined));
        both[i * n + j] = held;
        odd[i * n + j] = (odd[i * n + j] ?? 0) + held;
      }
    }
  }
  for (let s = 0; s < pairs.length; s++) {
    const both = pairs[s];
    if (!both) continue;
    for (let i = 0; i < n; i++)
      for (let j = 0; j <= i; j++) {
        const at = i * n + j;
        const sum = odd[at] ?? 0;
        const scale = sum > most ? most / sum : 1;
        both[at] = both[j * n + i] = s === 0 ? 1 - sum * scale : (both[at] ?? 0) * scale;
      }
  }
  return pairs;
}

function once<T>(make: () => T): () => T {
  let made: { readonly is: T } | undefined;
  return () => {
    made ??= { is: make() };
    return made.is;
  };
}

type Join = 'noisy-or' | 'cure' | 'context';

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
