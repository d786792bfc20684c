/**
 * Which causes what was found speaks for: Bayes over single causes and pairs of them, with the tables of the fault model.
 *
 * How to call it: `diagnose({ bobbin_on_top: 'dots', drop_test: 'neutral' }, 'wrong')`. What is not known is left out: it is
 * no evidence. An answer is changed by calling it again. `tried` are acts that were done and did not help. The chances
 * order suspicions and steps and are never shown to a person; words and "4 of 5 fit" are.
 *
 * Findings that say almost the same are not counted twice: for each cause the strongest of a group counts in full, the
 * others at half weight.
 */
import { faultModel, type Model, type ModelFinding } from './fault-model';

/** Finding → state. Findings and states that the model does not know are left aside. */
export type Findings = { readonly [finding: string]: string };
/** It worked and then went wrong, or it was just threaded or changed (thread, bobbin, needle, quilt). */
export type Onset = 'wrong' | 'changed';

export type Suspicion = {
  readonly cause: string;
  readonly chance: number; // 0..1 that this cause is at work, alone or with another
  readonly grade: 'strong' | 'possible' | 'unlikely';
  readonly fits: number; // of what was found, how much fits this cause
  readonly of: number;
  readonly why: readonly string[]; // findings that speak for it, the strongest first
  readonly whyNot: readonly string[]; // and against it
};
export type Diagnosis = {
  readonly model: number; // version of the tables
  readonly suspicions: readonly Suspicion[]; // all causes, the most likely first
  /** Two causes together, where they explain what was found better than any one does. */
  readonly pair?: readonly [cause: string, cause: string];
};

/** An answer to the model: a finding, and the number of its state. */
export type Told = readonly [finding: ModelFinding, state: number];

export function toldOf(model: Model, found: Findings): readonly Told[] {
  return Object.entries(found).flatMap(([id, state]): readonly Told[] => {
    const finding = model.findings.get(id);
    const at = finding?.states.indexOf(state) ?? -1;
    return finding && at >= 0 ? [[finding, at]] : [];
  });
}

/** Chances of every hypothesis, the causes alone first, then the pairs; they sum to 1. */
export function chances(
  model: Model,
  told: readonly Told[],
  onset: Onset,
  tried: readonly string[] = [],
): Float64Array {
  const n = model.causes.length;
  const log = Float64Array.from(model.shares[onset]);
  const single = told.map(([f, s]) =>
    model.causes.map((_, c) => Math.log((f.rows[c] ?? f.base)[s] ?? 0) - Math.log(f.base[s] ?? 1)),
  );
  const groups = grouped(told);
  for (let c = 0; c < n; c++) log[c] = (log[c] ?? 0) + weighed(groups, (i) => single[i]?.[c] ?? 0);
  model.pairs.forEach(([a, b], p) => {
    log[n + p] =
      (log[n + p] ?? 0) +
      weighed(groups, (i) => {
        const [f, s] = told[i] as Told;
        const [one, other] = [f.rows[a], f.rows[b]];
        if (f.joins !== 'cure' && !(one && other)) return (one ? single[i]?.[a] : other ? single[i]?.[b] : 0) ?? 0;
        return Math.log(model.both(f, a, b)[s] ?? 0) - Math.log(f.base[s] ?? 1);
      });
  });
  return tried.reduce((chance, act) => afterAct(model, chance, act), normal(log));
}

/** What was told by group: within one, the strongest voice counts in full, the others half. */
function grouped(told: readonly Told[]): readonly (readonly number[])[] {
  const groups = new Map<string, number[]>();
  told.forEach(([f], i) => {
    const key = f.group < 0 ? f.id : String(f.group);
    groups.set(key, [...(groups.get(key) ?? []), i]);
  });
  return [...groups.values()];
}
function weighed(groups: readonly (readonly number[])[], ratio: (i: number) => number): number {
  let sum = 0;
  for (const group of groups) {
    let [strongest, all] = [0, 0];
    for (const i of group) {
      const r = ratio(i);
      all += r;
      if (Math.abs(r) > Math.abs(strongest)) strongest = r;
    }
    sum += (all + strongest) / 2;
  }
  return sum;
}

function normal(log: Float64Array): Float64Array {
  const top = log.reduce((a, b) => Math.max(a, b), Number.NEGATIVE_INFINITY);
  const w = log.map((x) => Math.exp(x - top));
  const sum = w.reduce((a, b) => a + b, 0);
  return w.map((x) => x / sum);
}

/**
 * After an act that did not help: p(1 - e) of a cause it mends. Of two causes it may have mended one: then the other is left
 * alone.
 */
export function afterAct(model: Model, chance: Float64Array, act: string): Float64Array {
  const mends = new Map(model.acts.get(act)?.mends ?? []);
  if (mends.size === 0) return chance;
  const n = model.causes.length;
  const after = chance.map((p, h) => (h < n ? p * (1 - (mends.get(h) ?? 0)) : p));
  model.pairs.forEach(([a, b], p) => {
    const [ea, eb] = [mends.get(a) ?? 0, mends.get(b) ?? 0];
    const mass = chance[n + p] ?? 0;
    after[n + p] = mass * (1 - ea) * (1 - eb);
    after[a] = (after[a] ?? 0) + mass * (1 - ea) * eb;
    after[b] = (after[b] ?? 0) + mass * ea * (1 - eb);
  });
  const sum = after.reduce((x, y) => x + y, 0);
  return after.map((x) => x / sum);
}

/** Chance that each cause is at work, alone or with another. They may sum to more than 1. */
export function atWork(model: Model, chance: Float64Array): Float64Array {
  const n = model.causes.length;
  const m = chance.slice(0, n);
  model.pairs.forEach(([a, b], p) => {
    m[a] = (m[a] ?? 0) + (chance[n + p] ?? 0);
    m[b] = (m[b] ?? 0) + (chance[n + p] ?? 0);
  });
  return m;
}

export function diagnose(
  found: Findings,
  onset: Onset,
  tried: readonly string[] = [],
  model: Model = faultModel,
): Diagnosis {
  const told = toldOf(model, found);
  const chance = chances(model, told, onset, tried);
  const m = atWork(model, chance);
  const suspicions = model.causes
    .map((cause, c) => suspicion(cause, m[c] ?? 0, told, c))
    .sort((a, b) => b.chance - a.chance);
  return { model: model.version, suspicions, pair: bestPair(model, chance) };
}

function suspicion(cause: string, chance: number, told: readonly Told[], c: number): Suspicion {
  const voices = told.map(([f, s]) => {
    const row = f.rows[c];
    const ratio = row ? Math.log((row[s] ?? 0) / (f.base[s] ?? 1)) : 0;
    // Something odd that the cause does not bear on is not explained by it.
    return { id: f.id, ratio, fits: row ? ratio >= -unfit : s === 0 || f.kind === 'context' };
  });
  const strong = (sign: 1 | -1) =>
    voices
      .filter((v) => v.ratio * sign > unfit || (sign < 0 && !v.fits))
      .sort((a, b) => Math.abs(b.ratio) - Math.abs(a.ratio))
      .map((v) => v.id);
  const fits = voices.filter((v) => v.fits).length;
  return {
    cause,
    chance,
    grade: chance >= 0.5 ? 'strong' : chance >= 0.1 ? 'possible' : 'unlikely',
    fits,
    of: voices.length,
    why: strong(1),
    whyNot: strong(-1),
  };
}
/** A finding is met with a cause at least this much rarer than without it before it speaks against it (a fifth: our choice). */
const unfit = 0.2;

function bestPair(model: Model, chance: Float64Array): Diagnosis['pair'] {
  const n = model.causes.length;
  let best = 0;
  for (let h = 1; h < chance.length; h++) if ((chance[h] ?? 0) > (chance[best] ?? 0)) best = h;
  const pair = model.pairs[best - n];
  return pair && [model.causes[pair[0]] ?? '', model.causes[pair[1]] ?? ''];
}
