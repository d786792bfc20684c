/**
 * Mechanical and mixed faults on the virtual machine: how soon the first suspicion is right, and how many minutes pass until
 * the cure, by the advice and by a fixed checklist in common order.
 */
import { diagnose, type Findings, type Onset } from '../src/domain/diagnosis';
import { faultModel, type Model, modelOf } from '../src/domain/fault-model';
import type { Act, Cause, Tables } from '../src/domain/knowledge/faults/shape';
import { tables } from '../src/domain/knowledge/faults/tables';
import { nextSteps, type Situation, type Step } from '../src/domain/troubleshoot';
import {
  answer,
  bears,
  broken,
  chance,
  changes,
  type Fault,
  fork,
  inKnobs,
  pick,
  type Random,
  type Surveyed,
  soundMachine,
  survey,
  topThreads,
  type Virtual,
  weighted,
  without,
} from '../src/domain/virtual';

export type Trouble = {
  readonly v: Virtual;
  readonly onset: Onset;
  readonly complaint: Findings;
  readonly seed: number;
};

/** Faults of the machine, by their share; one in four comes with a knob turned to hide it, or with a second fault. */
export function troubleOf(seed: number): Trouble {
  for (let again = 0; ; again++) {
    const r = fork(seed, 11 + again);
    const onset = chance(r, 0.5) ? 'wrong' : 'changed';
    const mechanical = Object.fromEntries(
      Object.entries<Cause>(tables.causes).flatMap(([c, of]) =>
        Object.hasOwn(changes, c) && c !== 'no_fault' ? [[c, of[onset]]] : [],
      ),
    );
    const first = weighted(r, mechanical);
    const mixed = chance(r, 0.25);
    const second = mixed ? (chance(r, 0.5) ? pick(r, inKnobs) : weighted(r, mechanical)) : undefined;
    const causes = [...new Set(second === undefined ? [first] : [first, second])];
    const thread = topThreads[seed % topThreads.length];
    if (!thread) throw new RangeError('no thread');
    const v = causes.reduce(
      (m, cause) => broken(m, { cause, much: r.next() }),
      soundMachine(seed, fork(seed, 1), thread),
    );
    const complaint = complaintOf(survey(v, faultModel, r), r);
    if (complaint || again > 20) return { v, onset, complaint: complaint ?? {}, seed };
  }
}

/**
 * What is known before the first question: one odd thing that people came with, both faces of the sewn lines, and what the
 * bench says. A fault that shows nothing brings nobody.
 */
const complaintOf = (s: Surveyed, r: Random): Findings | undefined =>
  complaintBy(
    (finding) => answer(s, finding, r),
    (finding) => bears(s, finding),
    r,
  );
export function complaintBy(
  tell: (finding: string) => string | undefined,
  mayShow: (finding: string) => boolean,
  r: Random,
): Findings | undefined {
  const told = (finding: string) => [finding, tell(finding) ?? ''] as const;
  const odd = complaints
    .filter(mayShow)
    .map(told)
    .filter(([finding, state]) => state !== faultModel.findings.get(finding)?.states[0]);
  if (odd.length === 0) return undefined;
  const known = written.filter(() => chance(r, kept)).map(told);
  return Object.fromEntries([...bench.map(told), ...known, ...faces.map(told), pick(r, odd)]);
}
const faces = ['bobbin_on_top', 'top_on_back'];
const bench = ['machine_kind', 'drive', 'thread_kind', 'backing'];
/** What the app reads off its own records, unasked (`bench-findings.ts`), where they were kept: four times in five, our guess. */
const written = [
  'what_changed',
  'event',
  'oil_clean',
  'needle_age',
  'bobbin_thread',
  'turned_lately',
  'loft',
  'work_kind',
];
const kept = 0.8;
const complaints = [
  ...faces,
  ...['random_loops', 'eyelash', 'nest', 'skips', 'top_breaks', 'bobbin_breaks', 'stitch_length', 'firmness'],
  ...['direction', 'holes', 'fibre', 'noise', 'patch_only', 'both_sides', 'cloth_motion'],
];

/** Not everybody owns a gauge, nor a second bobbin case. */
const notOwned = (r: Random) => [...(chance(r, 0.8) ? ['gauge_bobbin'] : []), ...(chance(r, 0.5) ? ['swap_case'] : [])];

const truly = (v: Virtual, suspicion: string | undefined) => v.faults.some((f) => f.cause === suspicion);

/** Causes that one act of an operator mends more often than not. */
export const curedAlike = (one: string, other: string, model: Model = faultModel): boolean =>
  one === other ||
  [...model.acts.values()].some((a) => {
    const mends = (cause: string) => a.mends.some(([c, e]) => model.causes[c] === cause && e >= 0.5);
    return a.id !== 'technician' && mends(one) && mends(other);
  });

export type Suspected = { readonly right: readonly boolean[]; readonly found: readonly Findings[] }; // after 0, 1, 2 … answers

/** On this machine, which stays what it is, whatever tables reason about it. */
export function suspect(t: Trouble, answers: number, model: Model = faultModel): Suspected {
  const r = fork(t.seed, 5);
  const s = survey(t.v, faultModel, r);
  return asked(t, answers, (finding) => answer(s, finding, r), model);
}

/** Looks only, as the advice asks for them: what is suspected first after each answer. */
export function asked(
  t: Trouble,
  answers: number,
  tell: (finding: string) => string | undefined,
  model: Model = faultModel,
): Suspected {
  const notNow = notOwned(fork(t.seed, 8));
  const first = (found: Findings) => truly(t.v, diagnose(found, t.onset, [], model, 1).suspicions[0]?.cause);
  let found = t.complaint;
  const right = [first(found)];
  const all = [found];
  for (let n = 0; n < answers; n++) {
    const look = nextLook({ found, onset: t.onset, notNow, tried: ['stop_power_off'] }, model);
    const state = look === undefined ? undefined : tell(look);
    if (look !== undefined && state !== undefined) found = { ...found, [look]: state };
    right.push(first(found));
    all.push(found);
  }
  return { right, found: all };
}

/** What the first step asks, or would show where it is an act; else the next question; else what another act would show. */
function nextLook(s: Situation, model: Model): string | undefined {
  const shows = (step: Step): string | undefined =>
    step.kind === 'ask'
      ? step.id
      : [lookOf[step.id] ?? step.id, ...tellsOf(step.id)].find(
          (f) => model.findings.has(f) && !Object.hasOwn(s.found, f) && !s.notNow?.includes(f),
        );
  const { steps } = nextSteps(s, model);
  const [first] = steps;
  return (first && shows(first)) ?? steps.find((x) => x.kind === 'ask')?.id ?? steps.map(shows).find((f) => f);
}
const tellsOf = (act: string) => Object.entries<Act>(tables.acts).find(([id]) => id === act)?.[1].tells ?? [];
const lookOf: { readonly [act: string]: string } = {
  new_needle: 'swap_needle',
  known_thread: 'swap_spool',
  hold_tails: 'tails',
  fabric_sample: 'scrap_test',
};

export type Cured = {
  readonly minutes: number;
  readonly steps: number;
  readonly how: 'cured' | 'technician' | 'called-for-nothing' | 'given-up';
};
/** A wasted call costs an evening; any act is followed by sewing and looking. Our choices, alike for both ways. */
const wasted = 120;
const sewAndLook = 2;
const mostSteps = 60;

/** The advice until the cure. */
export function cure(t: Trouble, model: Model = faultModel): Cured {
  const r = fork(t.seed, 6);
  let v = t.v;
  let s = survey(v, model, r);
  const notNow = notOwned(r);
  let [found, tried, minutes] = [t.complaint, [] as readonly string[], 0];
  for (let steps = 1; steps <= mostSteps; steps++) {
    const step = nextSteps({ found, onset: t.onset, tried, notNow }, model).steps[0];
    if (!step || step.id === 'technician') return called(v, minutes, steps, model);
    if (step.kind === 'ask') {
      const state = answer(s, step.id, r);
      minutes += Math.max(0.5, step.minutes);
      if (state === undefined) notNow.push(step.id);
      else found = { ...found, [step.id]: state };
      continue;
    }
    minutes += step.minutes + (step.id === 'stop_power_off' ? 0 : sewAndLook);
    const after = mended(v, step.id, model, r);
    for (const look of [step.id, ...tellsOf(step.id)])
      if (isLook.has(look)) found = { ...found, [look]: answer(s, look, r) ?? '' };
    tried = [...tried, step.id];
    if (after.faults.length === 0) return { minutes, steps, how: 'cured' };
    if (after.faults.length < v.faults.length) {
      v = after;
      s = survey(v, model, r);
      found = Object.fromEntries(Object.keys(found).flatMap((f) => [[f, s.symptoms[f] ?? found[f] ?? '']])); // sewn and seen anew
      tried = [];
    }
  }
  return { minutes, steps: mostSteps, how: 'given-up' };
}
/** Looks that are part of the act of that name. */
const isLook: ReadonlySet<string> = new Set(['card_spring', 'floss_discs']);

function called(v: Virtual, minutes: number, steps: number, model: Model): Cured {
  const his = v.faults.some((f) => (mendsOf('technician', model).get(f.cause) ?? 0) > 0);
  return { minutes: minutes + 5 + (his ? 0 : wasted), steps, how: his ? 'technician' : 'called-for-nothing' };
}

const mendsOf = (act: string, model: Model) =>
  new Map((model.acts.get(act)?.mends ?? []).map(([c, e]) => [model.causes[c] ?? '', e]));

/** The machine after an act: each cause that it mends is gone with its chance; a knob put right stands at balance again. */
export function mended(v: Virtual, act: string, model: Model, r: Random): Virtual {
  const mends = mendsOf(act, model);
  const gone = new Set(v.faults.filter((f) => chance(r, mends.get(f.cause) ?? 0)).map((f) => f.cause));
  const left = without(v, (f: Fault) => gone.has(f.cause));
  const set = (knob: 'top' | 'bobbin') =>
    [...gone].some((c) => c.startsWith(knob) || c.startsWith('both')) && [...gone].some((c) => inKnobs.includes(c))
      ? 0
      : v[knob];
  return { ...left, top: set('top'), bobbin: set('bobbin') };
}

/** In the order of their cost, as the trade says it: thread, needle, lint, bobbin, thread, cloth, frame, knobs, and then the rest. */
export const checklist: readonly string[] = [
  ...['rethread_top', 'new_needle', 'card_spring', 'floss_discs', 'rethread_bobbin', 'seat_case', 'swap_bobbin'],
  ...['known_thread', 'net_and_centre', 'net_off', 'suit_cloth', 'loosen_rollers', 'take_up_slack', 'foot_adjust'],
  ...['bobbin_looser', 'bobbin_tighter', 'top_looser', 'top_tighter', 'back_to_neutral', 'clean_oil_hook', 'slow_down'],
  ...['hold_tails', 'shorter_stitch', 'match_hands', 'needle_up', 'needle_down', 'anti_backlash', 'swap_case'],
  ...[
    'patch_care',
    'clean_rails',
    'clean_regulator',
    'room_air',
    'turn_batting',
    'check_spring_set',
    'hold_up',
    'renew_eyelet',
  ],
];

/** The checklist until the cure, from the top, and again from the top when a fault is left after one was mended; then service. */
export function byChecklist(t: Trouble, model: Model = faultModel): Cured {
  const r = fork(t.seed, 7);
  const notNow = notOwned(r);
  let v = t.v;
  let [minutes, steps] = [0, 0];
  for (const act of checklist) {
    if (notNow.includes(act)) continue;
    steps++;
    minutes += (model.acts.get(act)?.minutes ?? 0) + sewAndLook;
    v = mended(v, act, model, r);
    if (v.faults.length === 0) return { minutes, steps, how: 'cured' };
  }
  return called(v, minutes, steps + 1, model);
}

/** The model with every chance of its tables off by a log-normal. */
export function perturbed(seed: number, spread: number): Model {
  const r = fork(seed, 13);
  const off = (row: readonly number[]) => {
    const w = row.map((p) => p * Math.exp(spread * r.normal()));
    const sum = w.reduce((a, b) => a + b, 0);
    return w.map((p) => (10_000 * p) / sum);
  };
  const causes = Object.fromEntries(
    Object.entries<Cause>(tables.causes).map(([id, c]) => [
      id,
      { ...c, shows: Object.fromEntries(Object.entries(c.shows).map(([f, row]) => [f, off(row)])) },
    ]),
  );
  const whole: Tables = { ...tables, causes };
  return modelOf(whole);
}
