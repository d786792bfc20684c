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
  readonly fits: number; // of what was found and says anything here, how much fits this cause
  readonly of: number;
  readonly why: readonly string[]; // findings that speak for it, the strongest first
  readonly whyNot: readonly string[]; // and against it
};
export type Diagnosis = {
  readonly model: number; // version of the tables
  readonly suspicions: readonly Suspicion[]; // the most likely first
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

/**
 * The chance of every cause alone and of every pair, causes × causes: alone on the diagonal, a pair in both its places. The
 * diagonal and one half sum to 1.
 */
export type Chances = Float64Array;

/** What was reckoned last: one advice asks for the same chances several times. Nobody writes into it. */
let last: { readonly model: Model; readonly key: string; readonly chance: Chances } | undefined;

export function chances(model: Model, told: readonly Told[], onset: Onset, tried: readonly string[] = []): Chances {
  const key = `${onset}/${told.map(([f, s]) => `${f.id}:${s}`).join()}/${tried.join()}`;
  if (last?.model !== model || last.key !== key) last = { model, key, chance: reckoned(model, told, onset, tried) };
  return last.chance;
}

function reckoned(model: Model, told: readonly Told[], onset: Onset, tried: readonly string[]): Chances {
  const log = Float64Array.from(model.shares[onset]);
  for (const group of grouped(told)) {
    const told = group.map(([f, s]) => voice(model, f, s));
    const [only] = told;
    for (let h = 0; h < log.length; h++) {
      let [strongest, all] = [only?.[h] ?? 0, only?.[h] ?? 0];
      for (let i = 1; i < told.length; i++) {
        const v = told[i]?.[h] ?? 0;
        all += v;
        if (Math.abs(v) > Math.abs(strongest)) strongest = v;
      }
      log[h] = (log[h] ?? 0) + (all + strongest) / 2;
    }
  }
  return tried.reduce((chance, act) => afterAct(model, chance, act), normal(model, log));
}

/** What was told, by group of findings that say almost the same; most stand alone. */
function grouped(told: readonly Told[]): readonly (readonly Told[])[] {
  const groups = new Map<string, Told[]>();
  for (const t of told) {
    const key = t[0].group < 0 ? t[0].id : String(t[0].group);
    groups.set(key, [...(groups.get(key) ?? []), t]);
  }
  return [...groups.values()];
}

/** Worked out once for each state that is told. */
const voices = new WeakMap<ModelFinding, Map<number, Float64Array>>();
function voice(model: Model, f: ModelFinding, s: number): Float64Array {
  const own = voices.get(f) ?? new Map<number, Float64Array>();
  voices.set(f, own);
  const known = own.get(s) ?? voiceOf(model, f, s);
  own.set(s, known);
  return known;
}
/** How much more a state is met than without any cause, as a logarithm, for each cause and pair. */
function voiceOf(model: Model, f: ModelFinding, s: number): Float64Array {
  const n = model.causes.length;
  const width = f.bearing.length + 1;
  const base = f.base[s] ?? 1;
  const together = Float64Array.from(f.together, (row) => Math.log((row[s] ?? 0) / base));
  const out = new Float64Array(n * n);
  for (let a = 0; a < n; a++) {
    const from = (f.place[a] ?? 0) * width;
    for (let b = 0; b < n; b++) out[a * n + b] = together[from + (f.place[b] ?? 0)] ?? 0;
    out[a * n + a] = Math.log((f.rows[a] ?? f.base)[s] ?? 0) - Math.log(base);
  }
  return out;
}

/** Logarithms as chances, and weights as chances: in place, for there are thousands. */
function normal(model: Model, log: Float64Array): Chances {
  let top = Number.NEGATIVE_INFINITY;
  for (const x of log) if (x > top) top = x;
  for (let h = 0; h < log.length; h++) log[h] = Math.exp((log[h] ?? 0) - top);
  return scaled(model.causes.length, log);
}
function scaled(n: number, w: Float64Array): Chances {
  let [all, alone] = [0, 0];
  for (const x of w) all += x;
  for (let c = 0; c < n; c++) alone += w[c * n + c] ?? 0;
  const sum = (all + alone) / 2;
  for (let h = 0; h < w.length; h++) w[h] = (w[h] ?? 0) / sum;
  return w;
}

/**
 * After an act that did not help: p(1 - e) of a cause it mends. Of two causes it may have mended one: then the other is left
 * alone.
 */
export function afterAct(model: Model, chance: Chances, act: string): Chances {
  const n = model.causes.length;
  const e = new Float64Array(n);
  for (const [c, p] of model.acts.get(act)?.mends ?? []) e[c] = p;
  const after = new Float64Array(n * n);
  for (let a = 0; a < n; a++)
    for (let b = 0; b < n; b++) {
      const mass = chance[a * n + b] ?? 0;
      const [ea, eb] = [e[a] ?? 0, e[b] ?? 0];
      if (a === b) after[a * n + a] = (after[a * n + a] ?? 0) + mass * (1 - ea);
      else {
        after[a * n + b] = mass * (1 - ea) * (1 - eb);
        after[a * n + a] = (after[a * n + a] ?? 0) + mass * (1 - ea) * eb; // each pair stands twice: b's turn comes too
      }
    }
  return scaled(n, after);
}

/** Chance that each cause is at work, alone or with another. They may sum to more than 1. */
export function atWork(model: Model, chance: Chances): Float64Array {
  const n = model.causes.length;
  const m = new Float64Array(n);
  for (let c = 0; c < n; c++) for (let b = 0; b < n; b++) m[c] = (m[c] ?? 0) + (chance[c * n + b] ?? 0);
  return m;
}

/** The causes by their numbers, the likeliest first. */
export const ranked = (mass: Float64Array): readonly number[] =>
  Array.from(mass.keys()).sort((a, b) => (mass[b] ?? 0) - (mass[a] ?? 0));

/** `most`: of how many causes it is to be said. */
export function diagnose(
  found: Findings,
  onset: Onset,
  tried: readonly string[] = [],
  model: Model = faultModel,
  most = model.causes.length,
): Diagnosis {
  const told = toldOf(model, found);
  const chance = chances(model, told, onset, tried);
  const mass = atWork(model, chance);
  const suspicions = ranked(mass)
    .slice(0, most)
    .map((c) => suspicion(model.causes[c] ?? '', mass[c] ?? 0, told, c));
  return { model: model.version, suspicions, pair: bestPair(model, chance) };
}

function suspicion(cause: string, chance: number, told: readonly Told[], c: number): Suspicion {
  const voices = told.flatMap(([f, s]) => {
    const row = f.rows[c];
    const ratio = row ? Math.log((row[s] ?? 0) / (f.base[s] ?? 1)) : 0;
    const odd = s > 0 && f.kind !== 'context';
    if (!odd && Math.abs(ratio) <= unfit) return []; // as anywhere: it neither fits nor does not
    // Something odd that the cause does not bear on is not explained by it.
    return [{ id: f.id, ratio, fits: row ? ratio >= -unfit : !odd }];
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

function bestPair(model: Model, chance: Chances): Diagnosis['pair'] {
  const n = model.causes.length;
  let best = 0;
  for (let h = 1; h < chance.length; h++) if ((chance[h] ?? 0) > (chance[best] ?? 0)) best = h;
  const [a, b] = [Math.floor(best / n), best % n];
  return a === b ? undefined : [model.causes[a] ?? '', model.causes[b] ?? ''];
}
