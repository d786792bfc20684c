/**
 * What to do next, by decision-theoretic troubleshooting. Acts are ordered by chance of cure per minute; a look comes first
 * where its answer may change which act that is, and where it saves more minutes than it takes. Rules come before chances:
 * safety, gates before knobs, bobbin before top, nothing twice.
 *
 * How to call it: `nextSteps({ found: { top_on_back: 'dots' }, onset: 'changed' })`. The first of `steps` is the advice, the
 * others stand beside it. A step is a look (`ask`, a finding to be told) or an act. After an act that did not help it goes
 * into `tried`; after a look its state goes into `found`; what can't be done goes into `notNow`.
 */
import { atWork, type Chances, chances, type Findings, type Onset, ranked, type Told, toldOf } from './diagnosis';
import { faultModel, type Model, type ModelAct, type ModelFinding, type Shown } from './fault-model';
import {
  forbidden,
  gateStanding,
  hangsOnFindings,
  type Known,
  readByRules,
  safetyState,
  technicianState,
} from './troubleshoot-rules';

export type Situation = {
  readonly found: Findings;
  readonly onset: Onset;
  readonly tried?: readonly string[]; // acts done in vain
  readonly notNow?: readonly string[]; // looks and acts that can't be done, or were put off
  readonly noStitches?: boolean; // in the middle of a quilt: what takes no stitch comes first
};
export type Step = {
  readonly kind: 'ask' | 'act';
  readonly id: string; // a finding, or an act
  readonly minutes: number;
  readonly why:
    | 'unsafe'
    | 'likely' // mends what is most likely, for its minutes
    | 'tells' // its answer may change what is done first
    | 'technician' // what was found is nothing an operator mends
    | 'used-up'; // nothing is left that an operator does
  readonly chance?: number; // that an act cures; never shown
  readonly about: readonly string[]; // causes: what it mends, or tells apart; the most likely first, at most two
};
export type Advised = {
  readonly steps: readonly Step[]; // best first, at most three
};

/** Our own weights, in minutes, with no source. After an act ten inches are sewn and both faces looked at. */
const minutes = { sewAndLook: 3, lasting: 3, attention: 0.5, askAgain: 2, technician: 45, service: 60 } as const;
/** An answer rarer than this does not decide what is done first. */
const rare = 0.05;
/** More likely than not, and done in this many minutes with the look after it: it is done and not asked about. */
const likely = 0.5;
const quick = 12;
/** Or its chance per minute is this good. */
const worthwhile = 0.06;
/** A look comes first only where it can speak for a leading suspicion: one of three, and a third as likely as the first. */
const leading = 3;
/** A finding speaks for a cause where a state of it is met so many times as often with it. */
const speaks = 1.5;
const speaksFor = (f: ModelFinding, cause: number): boolean =>
  f.rows[cause]?.some((p, s) => p >= speaks * (f.base[s] ?? 1)) ?? false;
/** Settings: no screw is turned before the bobbin is proven, so its tests are asked for with any of them. */
const settings: ReadonlySet<string> = new Set([
  ...['top_too_tight', 'top_too_loose', 'bobbin_too_tight', 'bobbin_too_loose', 'both_too_tight', 'both_too_loose'],
]);
const provesBobbin: ReadonlySet<string> = new Set(['drop_test', 'finger_pad', 'gauge_bobbin']);

const chancesOf = (s: Situation, model: Model): Chances => chances(model, toldOf(model, s.found), s.onset, s.tried);

export function nextSteps(s: Situation, model: Model = faultModel): Advised {
  const k: Known = { found: s.found, tried: s.tried ?? [], notNow: s.notNow ?? [] };
  if (safetyState(k) && !k.tried.includes('stop_power_off'))
    return { steps: [step('act', 'stop_power_off', 1, 'unsafe', [])] };

  const technician = technicianState(k);
  if (technician && ![...k.notNow, ...k.tried].includes('technician'))
    return { steps: [step('act', 'technician', minutes.technician, 'technician', [])] };

  const told = toldOf(model, s.found);
  const chance = chances(model, told, s.onset, s.tried);
  const mass = atWork(model, chance);
  const acts = byWorth(allowedActs(model, k), mass);
  const about = (cs: readonly number[]) =>
    [...cs]
      .sort((a, b) => (mass[b] ?? 0) - (mass[a] ?? 0))
      .slice(0, 2)
      .map((c) => model.causes[c] ?? '');
  const sure =
    acts[0] && (cures(acts[0].act, mass) >= likely ? acts[0].minutes <= quick : worthOf(acts[0], mass) >= worthwhile);
  const settingsMay = gateStanding(k) === undefined;
  const first = ranked(mass).slice(0, leading);
  const leaders = first.filter((c) => (mass[c] ?? 0) >= (mass[first[0] ?? 0] ?? 0) / 3);
  const mayAsk = (f: ModelFinding) =>
    !(s.noStitches && needsStitches.has(f.id)) &&
    leaders.some(
      (c) => speaksFor(f, c) || (settingsMay && settings.has(model.causes[c] ?? '') && provesBobbin.has(f.id)),
    );
  const looks = worthLooks(model, k, told, chance, acts, mayAsk).map(({ finding: f }) =>
    step('ask', f.id, f.minutes, 'tells', about(f.bearing)),
  );
  const doing = acts
    .filter((o) => worthOf(o, mass) > 0)
    .map(({ act: a }) => ({
      ...step('act', a.id, a.minutes, 'likely', about(a.mends.map(([c]) => c))),
      chance: cures(a, mass),
    }));
  const steps = distinct(sure ? [...doing.slice(0, 1), ...looks, ...doing] : [...looks, ...doing]).slice(0, 3);
  return {
    steps: steps.length > 0 ? steps : [step('act', 'technician', minutes.technician, 'used-up', [])],
  };
}

/** The act that promises the most cure per minute, and the chance of it; looks left aside. */
export function bestAct(s: Situation, model: Model = faultModel): Step | undefined {
  const k: Known = { found: s.found, tried: s.tried ?? [], notNow: s.notNow ?? [] };
  if (safetyState(k) || technicianState(k)) return undefined;
  const mass = atWork(model, chancesOf(s, model));
  const best = byWorth(allowedActs(model, k), mass)[0]?.act;
  if (!best) return undefined;
  const about = best.mends.map(([c]) => c).sort((a, b) => (mass[b] ?? 0) - (mass[a] ?? 0));
  return {
    ...step(
      'act',
      best.id,
      best.minutes,
      'likely',
      about.slice(0, 2).map((c) => model.causes[c] ?? ''),
    ),
    chance: cures(best, mass),
  };
}

/**
 * Looks and acts (acts with "!" before them) in the order of what they promise per minute: a look the chance that it finds
 * the cause, an act the chance that it mends it. For where a rule says which ones come into question.
 */
export function byPromise(s: Situation, steps: readonly string[], model: Model = faultModel): readonly string[] {
  const mass = atWork(model, chancesOf(s, model));
  const promise = (id: string): number => {
    const act = id.startsWith('!') ? model.acts.get(id.slice(1)) : undefined;
    if (act) return cures(act, mass) / minutesOf(act);
    const f = model.findings.get(id);
    if (!f) return 0;
    const odd = (row: readonly number[]) => 1 - (row[0] ?? 0);
    const finds = f.bearing.reduce(
      (sum, c) => sum + (mass[c] ?? 0) * Math.max(0, odd(f.rows[c] ?? f.base) - odd(f.base)),
      0,
    );
    return finds / (Math.max(minutes.attention, f.minutes) + (byAct.has(id) ? minutes.sewAndLook : 0));
  };
  return steps
    .map((id) => ({ id, worth: promise(id) }))
    .sort((a, b) => b.worth - a.worth)
    .map((x) => x.id);
}

const step = (kind: Step['kind'], id: string, took: number, why: Step['why'], about: readonly string[]): Step => ({
  kind,
  id,
  minutes: took,
  why,
  about,
});
/** A look and an act of one name are one step. */
const distinct = (steps: readonly Step[]) => steps.filter((s, i) => steps.findIndex((x) => x.id === s.id) === i);

/** An act, and what it takes until its result is seen. */
type Option = { readonly act: ModelAct; readonly minutes: number };

const options = new WeakMap<Model, readonly Option[]>();
/** The acts that mend something. */
function optionsOf(model: Model): readonly Option[] {
  const known =
    options.get(model) ??
    [...model.acts.values()].filter((a) => a.mends.length > 0).map((act) => ({ act, minutes: minutesOf(act) }));
  options.set(model, known);
  return known;
}
const minutesOf = (a: ModelAct): number =>
  a.id === 'technician' ? minutes.technician : a.minutes + minutes.sewAndLook + (a.lasting ? minutes.lasting : 0);

const allowedActs = (model: Model, k: Known): readonly Option[] =>
  optionsOf(model).filter((o) => !forbidden(o.act.id, k));

// The loops from here on run thousands of times an advice: they take numbers one by one and make nothing new.

function cures(a: ModelAct, mass: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.mends.length; i++) {
    const [c, e] = a.mends[i] ?? nothing;
    sum += (mass[c] ?? 0) * e;
  }
  return sum;
}
const nothing = [0, 0] as const;

/** The likeliest cure per minute first; equals stay as they stand. */
function byWorth(given: readonly Option[], mass: Float64Array): readonly Option[] {
  const order = given.slice();
  const worth = new Float64Array(order.length);
  for (let i = 0; i < order.length; i++) {
    const option = order[i];
    if (!option) continue;
    const own = cures(option.act, mass) / option.minutes;
    let at = i;
    for (; at > 0 && (worth[at - 1] ?? 0) < own; at--) {
      worth[at] = worth[at - 1] ?? 0;
      order[at] = order[at - 1] ?? option;
    }
    worth[at] = own;
    order[at] = option;
  }
  return order;
}
const worthOf = (o: Option, mass: Float64Array): number => cures(o.act, mass) / o.minutes;

/** Expected minutes until the cure: acts by worth while they are worth more than service, then service. */
function costToGo(mass: Float64Array, acts: readonly Option[]): number {
  const rest = mass.slice();
  let left = sumOf(rest);
  let cost = 0;
  for (let i = 0; i < acts.length; i++) {
    const option = acts[i];
    if (!option) continue;
    const { mends } = option.act;
    const cured = cures(option.act, rest);
    if (cured / option.minutes <= left / minutes.service) continue;
    cost += left * option.minutes;
    for (let m = 0; m < mends.length; m++) {
      const [c, e] = mends[m] ?? nothing;
      rest[c] = (rest[c] ?? 0) * (1 - e);
    }
    left -= cured;
  }
  return cost + left * minutes.service;
}

/** Answered by an act: the act stands for them. */
const byAct: ReadonlySet<string> = new Set([
  ...['rethread_top', 'swap_needle', 'swap_bobbin', 'swap_case', 'swap_spool', 'slow_down', 'loosen_rollers', 'tails'],
  ...['top_knob_response', 'bobbin_screw_response'],
]);
/** Looks that need something sewn. */
const needsStitches: ReadonlySet<string> = new Set([
  ...['turn_sample', 'scrap_test', 'mode_dep', 'speed_dep', 'direction', 'stitch_length', 'noise', 'cone_motion'],
  ...['cloth_motion'],
]);

/** Looks that pay, the one that leads to the cure soonest first. */
function worthLooks(
  model: Model,
  k: Known,
  told: readonly Told[],
  chance: Chances,
  acts: readonly Option[],
  mayAsk: (f: ModelFinding) => boolean,
): readonly { readonly finding: ModelFinding; readonly cost: number }[] {
  const now = atWork(model, chance);
  const whole = sumOf(now);
  const unasked = costToGo(now, acts);
  const perhaps = optionsOf(model).filter((o) => hangsOnFindings(o.act.id) || !forbidden(o.act.id, k));
  const paying: { readonly finding: ModelFinding; readonly cost: number }[] = [];
  for (const f of model.findings.values()) {
    if (Object.hasOwn(k.found, f.id) || k.notNow.includes(f.id) || byAct.has(f.id) || f.kind === 'context') continue;
    if (!mayAsk(f)) continue;
    const half = f.group >= 0 && told.some(([g]) => g.group === f.group);
    let cost = Math.max(minutes.attention, f.minutes) + (f.kind === 'test' ? 0 : minutes.askAgain);
    let turns = 0;
    for (const [s, then] of answers(model, f, chance, now, half).entries()) {
      const so: Known | undefined = readByRules.has(f.id)
        ? { ...k, found: { ...k.found, [f.id]: f.states[s] ?? '' } }
        : undefined;
      const may = so ? perhaps.filter((o) => !hangsOnFindings(o.act.id) || !forbidden(o.act.id, so)) : acts;
      const order = byWorth(may, then);
      cost += costToGo(then, order);
      if (order[0]?.act !== acts[0]?.act) turns += sumOf(then) / whole;
    }
    if (turns >= rare && cost < unasked) paying.push({ finding: f, cost });
  }
  return paying.sort((a, b) => a.cost - b.cost);
}

function sumOf(x: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < x.length; i++) sum += x[i] ?? 0;
  return sum;
}

/**
 * How likely each cause is at work and the answer is this one; over the answers these sum to what they were. A finding like
 * one that was told counts half.
 */
function answers(
  model: Model,
  f: ModelFinding,
  chance: Chances,
  now: Float64Array,
  half: boolean,
): readonly Float64Array[] {
  const n = model.causes.length;
  const width = f.bearing.length + 1;
  const { alone, pairs } = half ? halfVoice(f) : f.shown();
  const out = f.states.map(() => new Float64Array(n));
  const beside = new Float64Array(width); // chance of each bearing cause beside this one
  for (let c = 0; c < n; c++) {
    const from = (f.place[c] ?? 0) * width;
    const single = chance[c * n + c] ?? 0;
    let silent = (now[c] ?? 0) - single;
    for (let i = 1; i < width; i++) {
      const b = f.bearing[i - 1] ?? 0;
      beside[i] = b === c ? 0 : (chance[c * n + b] ?? 0);
      silent -= beside[i] ?? 0;
    }
    beside[0] = silent;
    for (let s = 0; s < out.length; s++) {
      const both = pairs[s];
      const to = out[s];
      if (!both || !to) continue;
      let sum = single * (alone[s]?.[c] ?? 0);
      for (let i = 0; i < width; i++) sum += (beside[i] ?? 0) * (both[from + i] ?? 0);
      to[c] = sum;
    }
  }
  return out;
}

/** A finding's voice at half weight, worked out once. */
const halfVoices = new WeakMap<ModelFinding, Shown>();
function halfVoice(f: ModelFinding): Shown {
  const { alone, pairs } = f.shown();
  const half = halfVoices.get(f) ?? { alone: halved(alone, f.base), pairs: halved(pairs, f.base) };
  halfVoices.set(f, half);
  return half;
}

/** At half weight: the root of how much more often, made to sum to 1 over the states again. */
function halved(byState: readonly Float64Array[], base: readonly number[]): readonly Float64Array[] {
  const roots = byState.map((of, s) => of.map((p) => Math.sqrt(p * (base[s] ?? 0))));
  const sums = Float64Array.from(roots[0] ?? [], (_, i) => roots.reduce((sum, of) => sum + (of[i] ?? 0), 0));
  return roots.map((of) => of.map((root, i) => root / (sums[i] ?? 1)));
}
