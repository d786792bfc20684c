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

/** Every pair stands in two places with one chance: one half is reckoned, the other copied. */
function reckoned(model: Model, told: readonly Told[], onset: Onset, tried: readonly string[]): Chances {
  const n = model.causes.length;
  const log = Float64Array.from(model.shares[onset]);
  for (const group of grouped(told)) {
    const voices = group.map(([f, s]) => voice(f, s));
    const [only] = voices;
    if (!only) continue;
    for (let a = 0; a < n; a++)
      for (let b = 0; b <= a; b++) {
        let strongest = said(only, a, b);
        let all = strongest;
        for (let i = 1; i < voices.length; i++) {
          const says = said(voices[i] ?? only, a, b);
          all += says;
          if (Math.abs(says) > Math.abs(strongest)) strongest = says;
        }
        log[a * n + b] = (log[a * n + b] ?? 0) + (all + strongest) / 2;
      }
  }
  return tried.reduce((chance, act) => afterAct(model, chance, act), normal(n, log));
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

/** How much more a state is met than without any cause, as logarithms: with each cause alone, and with two by their places. */
type Voice = {
  readonly alone: Float64Array;
  readonly pairs: Float64Array;
  readonly place: Uint8Array;
  readonly width: number;
};
const said = (v: Voice, a: number, b: number): number =>
  (a === b ? v.alone[a] : v.pairs[(v.place[a] ?? 0) * v.width + (v.place[b] ?? 0)]) ?? 0;

/** Worked out once for each state that is told. */
const voices = new WeakMap<ModelFinding, Map<number, Voice>>();
function voice(f: ModelFinding, s: number): Voice {
  const own = voices.get(f) ?? new Map<number, Voice>();
  voices.set(f, own);
  const known = own.get(s) ?? voiceOf(f, s);
  own.set(s, known);
  return known;
}
function voiceOf(f: ModelFinding, s: number): Voice {
  const { alone, pairs } = f.shown();
  const base = f.base[s] ?? 1;
  return {
    alone: (alone[s] ?? new Float64Array()).map((p) => Math.log(p) - Math.log(base)),
    pairs: (pairs[s] ?? new Float64Array()).map((p) => Math.log(p / base)),
    place: f.place,
    width: f.bearing.length + 1,
  };
}

/** Logarithms of one half as chances of the whole: in place, for there are thousands. */
function normal(n: number, log: Float64Array): Chances {
  let top = Number.NEGATIVE_INFINITY;
  for (let a = 0; a < n; a++) for (let b = 0; b <= a; b++) top = Math.max(top, log[a * n + b] ?? 0);
  for (let a = 0; a < n; a++)
    for (let b = 0; b <= a; b++) log[a * n + b] = log[b * n + a] = Math.exp((log[a * n + b] ?? 0) - top);
  return scaled(n, log);
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
  const mends = model.acts.get(act)?.mends ?? [];
  if (mends.length === 0) return chance;
  const left = new Float64Array(n).fill(1);
  for (const [c, e] of mends) left[c] = 1 - e;
  const after = chance.map((mass, h) => mass * (left[h % n] ?? 1));
  for (let a = 0; a < n; a++) {
    const own = left[a] ?? 1;
    for (let b = 0; b < n; b++) if (b !== a) after[a * n + b] = (after[a * n + b] ?? 0) * own;
    for (const [b, e] of mends)
      if (b !== a) after[a * n + a] = (after[a * n + a] ?? 0) + (chance[a * n + b] ?? 0) * own * e;
  }
  return scaled(n, after);
}

/** Chance that each cause is at work, alone or with another. They may sum to more than 1. */
export function atWork(model: Model, chance: Chances): Float64Array {
  const n = model.causes.length;
  const m = new Float64Array(n);
  for (let c = 0; c < n; c++) {
    let sum = 0;
    for (let b = 0; b < n; b++) sum += chance[c * n + b] ?? 0;
    m[c] = sum;
  }
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
