/** The fault model's tables made ready for reckoning: causes, findings and acts by number, chances as logarithms. */
import type { Cause, Tables } from './knowledge/faults/shape';
import { tables } from './knowledge/faults/tables';

/** A finding's states in the model. */
export type ModelFinding = {
  readonly id: string;
  readonly states: readonly string[];
  readonly minutes: number;
  readonly kind: 'symptom' | 'test' | 'context';
  readonly joins: 'noisy-or' | 'cure' | 'context';
  readonly base: readonly number[];
  readonly group: number; // of findings that say almost the same; -1: alone
  readonly rows: readonly (readonly number[] | undefined)[]; // by cause: P(state | it alone); undefined: the base
};
export type ModelAct = {
  readonly id: string;
  readonly kind: string;
  readonly minutes: number;
  readonly lasting: boolean;
  readonly tells: readonly string[];
  readonly mends: readonly (readonly [cause: number, chance: number])[];
};
export type Model = {
  readonly version: number;
  readonly tables: Tables;
  readonly causes: readonly string[];
  readonly cause: readonly Cause[];
  readonly findings: ReadonlyMap<string, ModelFinding>;
  readonly acts: ReadonlyMap<string, ModelAct>;
  /** Pairs of causes, a before b. */
  readonly pairs: readonly (readonly [a: number, b: number])[];
  /** Logarithms of the shares: the causes, then the pairs. */
  readonly shares: { readonly wrong: Float64Array; readonly changed: Float64Array };
  /** P(state of finding | both causes) where both bear on it or the finding is a swap; asked for once, then kept. */
  readonly both: (finding: ModelFinding, a: number, b: number) => readonly number[];
};

/** How much rarer two causes at once are than chance would have them: about half (our estimate, no source). */
const pairFactor = 0.5;
/** No chance is nearer to nothing or to certainty than this: people contradict tables. */
const least = 0.01;
const most = 0.98;

/** Unknown findings and causes in a row are a fault of the tables: RangeError. */
export function modelOf(t: Tables): Model {
  const causes = Object.keys(t.causes);
  const cause = Object.values(t.causes);
  const number = new Map(causes.map((id, i) => [id, i]));
  const groupOf = new Map(t.alike.flatMap((group, g) => group.map((f) => [f, g] as const)));
  const findings = new Map<string, ModelFinding>();
  for (const [id, look] of Object.entries(t.looks)) {
    const states = t.states[id];
    if (!states || states.length !== look.base.length) throw new RangeError(`fault model: states of ${id}`);
    findings.set(id, {
      id,
      states,
      minutes: look.minutes,
      kind: look.kind,
      joins: look.kind === 'context' ? 'context' : (look.joins ?? 'noisy-or'),
      base: look.base.map((n) => n / 10_000),
      group: groupOf.get(id) ?? -1,
      rows: cause.map((c) => {
        const row = Object.hasOwn(c.shows, id) ? c.shows[id] : undefined;
        if (row && row.length !== states.length) throw new RangeError(`fault model: a row of ${id}`);
        return row?.map((n) => n / 10_000);
      }),
    });
  }
  for (const c of cause)
    for (const f of Object.keys(c.shows)) if (!findings.has(f)) throw new RangeError(`fault model: no finding ${f}`);
  const acts = new Map(
    Object.entries(t.acts).map(([id, a]) => [
      id,
      {
        id,
        kind: a.kind,
        minutes: a.minutes,
        lasting: a.lasting === true,
        tells: a.tells,
        mends: Object.entries(a.mends).map(([c, n]) => {
          const i = number.get(c);
          if (i === undefined) throw new RangeError(`fault model: no cause ${c}`);
          return [i, n / 100] as const;
        }),
      },
    ]),
  );
  const pairs = causes.flatMap((_, a) => causes.slice(a + 1).map((__, i) => [a, a + 1 + i] as const));
  return {
    version: t.version,
    tables: t,
    causes,
    cause,
    findings,
    acts,
    pairs,
    shares: { wrong: shares(t, cause, number, pairs, 'wrong'), changed: shares(t, cause, number, pairs, 'changed') },
    both: keptPairs(),
  };
}

function shares(
  t: Tables,
  cause: readonly Cause[],
  number: ReadonlyMap<string, number>,
  pairs: Model['pairs'],
  when: 'wrong' | 'changed',
): Float64Array {
  const total = cause.reduce((sum, c) => sum + c[when], 0);
  const share = cause.map((c) => c[when] / total);
  const times = new Map(
    t.together.map(([a, b, n]) => [[number.get(a) ?? -1, number.get(b) ?? -1].sort((x, y) => x - y).join(), n]),
  );
  const pair = pairs.map(([a, b]) => (share[a] ?? 0) * (share[b] ?? 0) * pairFactor * (times.get(`${a},${b}`) ?? 1));
  return Float64Array.from([...share, ...pair], Math.log);
}

/**
 * Two causes at once. Independent voices: each state but the normal one comes from either, or from neither by chance; the
 * normal one takes what is left. A swap says "cured" only if it mends both. Of what is asked, the mean.
 */
export function bothCauses(f: ModelFinding, a: readonly number[], b: readonly number[]): readonly number[] {
  if (f.joins === 'context') return a.map((p, i) => (p + (b[i] ?? 0)) / 2);
  const q = a.map((p, i) => {
    const [other, base] = [b[i] ?? 0, f.base[i] ?? 0];
    const cured = f.joins === 'cure' && (f.states[i] === 'cured' || f.states[i] === 'gone');
    const joined = cured ? p * other : 1 - ((1 - p) * (1 - other)) / (1 - base);
    return Math.min(most, Math.max(least, joined));
  });
  const odd = q.slice(1).reduce((sum, p) => sum + p, 0);
  const scale = odd > most ? most / odd : 1;
  return [1 - odd * scale, ...q.slice(1).map((p) => p * scale)];
}

/** A pair on which only one cause bears has that one's row. A swap must mend both, so there the base speaks for the silent one. */
function keptPairs(): Model['both'] {
  const kept = new Map<ModelFinding, Map<number, readonly number[]>>();
  return (f, a, b) => {
    const [one, other] = [f.rows[a], f.rows[b]];
    if (f.joins !== 'cure' && (!one || !other)) return one ?? other ?? f.base;
    const own = kept.get(f) ?? new Map<number, readonly number[]>();
    kept.set(f, own);
    const key = a * f.rows.length + b;
    const row = own.get(key) ?? bothCauses(f, one ?? f.base, other ?? f.base);
    own.set(key, row);
    return row;
  };
}

/** The studio's own model. */
export const faultModel: Model = modelOf(tables);
