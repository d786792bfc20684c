/**
 * What to do next, by decision-theoretic troubleshooting: every look and every act that is allowed is weighed by the minutes it
 * takes until the trouble is cured, if it comes first. Rules come before chances: safety, gates before knobs, bobbin before
 * top, nothing twice.
 *
 * How to call it: `nextSteps({ found: { top_on_back: 'dots' }, onset: 'changed' })`. The first of `steps` is the advice, the
 * others stand beside it. A step is a look (`ask`, a finding to be told) or an act. After an act that did not help it goes
 * into `tried`; after a look its state goes into `found`; what can't be done goes into `notNow`.
 */
import { atWork, chances, type Diagnosis, diagnose, type Findings, type Onset, type Told, toldOf } from './diagnosis';
import { faultModel, type Model, type ModelAct, type ModelFinding } from './fault-model';
import { forbidden, type Known, safetyState } from './troubleshoot-rules';

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
  readonly why: 'unsafe' | 'likely' | 'tells' | 'used-up';
  readonly about: readonly string[]; // causes: what it mends, or tells apart, the most likely first
  readonly cost: number; // expected minutes until the cure, this step first
};
export type Advised = {
  readonly steps: readonly Step[]; // best first, at most three; empty where nothing is left to do
  readonly diagnosis: Diagnosis;
};

export function nextSteps(s: Situation, model: Model = faultModel): Advised {
  const k: Known = { found: s.found, tried: s.tried ?? [], notNow: s.notNow ?? [] };
  const diagnosis = diagnose(s.found, s.onset, k.tried, model);
  const unsafe = safetyState(k);
  if (unsafe && !k.tried.includes('stop_power_off')) {
    const about = diagnosis.suspicions.slice(0, 1).map((x) => x.cause);
    return { steps: [{ kind: 'act', id: 'stop_power_off', minutes: 1, why: 'unsafe', about, cost: 0 }], diagnosis };
  }
  const told = toldOf(model, s.found);
  const chance = chances(model, told, s.onset, k.tried);
  const steps = [...actsFirst(model, k, chance), ...looksFirst(model, k, told, chance)].sort((a, b) => a.cost - b.cost);
  return { steps: steps.slice(0, 3), diagnosis };
}

/** Minutes that calling for service is worth: a day without the machine, told as a long evening (our choice, no source). */
const serviceMinutes = 120;
/** What can't simply be undone is put off by this much, and a question costs attention (our choices). */
const lastingMinutes = 3;
const leastMinutes = 0.5;

const minutesOf = (act: ModelAct) => Math.max(leastMinutes, act.minutes) + (act.lasting ? lastingMinutes : 0);

/** Acts that are no cures: looks under another name, and the stops. */
const noCure: ReadonlySet<string> = new Set(['stop_power_off', 'technician']);

function allowedActs(model: Model, k: Known): readonly ModelAct[] {
  return [...model.acts.values()].filter((a) => a.mends.length > 0 && !noCure.has(a.id) && !forbidden(a.id, k));
}

/** Expected minutes until the cure, for causes with these masses, doing the allowed acts by chance per minute, then service. */
function costToGo(mass: Float64Array, acts: readonly ModelAct[]): number {
  const rest = mass.slice();
  const gain = (a: ModelAct) => a.mends.reduce((sum, [c, e]) => sum + (rest[c] ?? 0) * e, 0);
  const order = acts.map((a) => ({ a, worth: gain(a) / minutesOf(a) })).sort((x, y) => y.worth - x.worth);
  let left = rest.reduce((sum, x) => sum + x, 0);
  let cost = 0;
  for (const { a } of order) {
    const cured = gain(a);
    if (cured / minutesOf(a) <= left / serviceMinutes) continue; // service is the better bet
    cost += left * minutesOf(a);
    for (const [c, e] of a.mends) rest[c] = (rest[c] ?? 0) * (1 - e);
    left -= cured;
  }
  return cost + left * serviceMinutes;
}

function actsFirst(model: Model, k: Known, chance: Float64Array): readonly Step[] {
  const acts = allowedActs(model, k);
  const mass = atWork(model, chance);
  const whole = mass.reduce((sum, x) => sum + x, 0);
  return acts.map((a): Step => {
    const after = mass.slice();
    for (const [c, e] of a.mends) after[c] = (after[c] ?? 0) * (1 - e);
    const about = a.mends.map(([c]) => c).sort((x, y) => (mass[y] ?? 0) - (mass[x] ?? 0));
    return {
      kind: 'act',
      id: a.id,
      minutes: a.minutes,
      why: 'likely',
      about: about.map((c) => model.causes[c] ?? ''),
      cost:
        minutesOf(a) +
        costToGo(
          after,
          acts.filter((x) => x !== a),
        ) /
          whole,
    };
  });
}

/** Looks that are acts by another name: their act stands for them. */
const actOf: { readonly [finding: string]: string } = {
  rethread_top: 'rethread_top',
  swap_needle: 'new_needle',
  swap_bobbin: 'swap_bobbin',
  swap_case: 'swap_case',
  swap_spool: 'known_thread',
  slow_down: 'slow_down',
  loosen_rollers: 'loosen_rollers',
  tails: 'hold_tails',
  card_spring: 'card_spring',
  floss_discs: 'floss_discs',
};
/** Answered by turning a knob, which has rules of its own. */
const byKnob: ReadonlySet<string> = new Set(['top_knob_response', 'bobbin_screw_response']);

function looksFirst(model: Model, k: Known, told: readonly Told[], chance: Float64Array): readonly Step[] {
  const n = model.causes.length;
  const mass = atWork(model, chance);
  const whole = mass.reduce((sum, x) => sum + x, 0);
  return [...model.findings.values()]
    .filter((f) => !Object.hasOwn(k.found, f.id) && !k.notNow.includes(f.id) && !byKnob.has(f.id))
    .flatMap((f): readonly Step[] => {
      const act = actOf[f.id];
      if (act !== undefined && forbidden(act, k)) return [];
      const half = told.some(([g]) => g.group === f.group && f.group >= 0);
      const likes = f.states.map((_, s) => likelihoods(model, f, s, half));
      const sums = likes[0]?.map((_, h) => likes.reduce((sum, l) => sum + (l[h] ?? 0), 0)) ?? [];
      let then = 0;
      f.states.forEach((state, s) => {
        const w = chance.map((p, h) => (p * (likes[s]?.[h] ?? 0)) / (sums[h] ?? 1));
        const acts = allowedActs(model, { ...k, found: { ...k.found, [f.id]: state } });
        let m = atWork(model, w);
        if (act !== undefined) {
          const mends = model.acts.get(act)?.mends ?? [];
          m = m.slice();
          for (const [c, e] of mends) m[c] = (m[c] ?? 0) * (1 - e);
        }
        then += costToGo(m, acts);
      });
      const cost = Math.max(leastMinutes, f.minutes) + then / whole;
      return [
        {
          kind: act === undefined ? 'ask' : 'act',
          id: act ?? f.id,
          minutes: f.minutes,
          why: 'tells',
          about: model.causes
            .filter((_, c) => f.rows[c])
            .sort((a, b) => (mass[model.causes.indexOf(b)] ?? 0) - (mass[model.causes.indexOf(a)] ?? 0))
            .slice(0, 2),
          cost,
        },
      ];
    });

  function likelihoods(m: Model, f: ModelFinding, s: number, half: boolean): readonly number[] {
    const base = f.base[s] ?? 0;
    const weigh = (p: number) => (half ? base * Math.sqrt(p / base) : p);
    return [
      ...m.causes.map((_, c) => weigh((f.rows[c] ?? f.base)[s] ?? 0)),
      ...m.pairs.map(([a, b]) => weigh(m.both(f, a, b)[s] ?? 0)),
    ].slice(0, n + m.pairs.length);
  }
}
