/**
 * What looks, tests and swaps of the fault model show on a virtual machine. Tests are physics; a look finds what is there with
 * a chance of its own, drawn for each machine, and now and then finds what does no harm; a swap takes the part's faults away
 * and sews again.
 *
 * Out of the physics' reach are sounds, holes, fibre, how cloth and cone move, and what is asked about the past: there the
 * model's own table answers, each row perturbed by a log-normal of 0.6 drawn once for the machine.
 */
import type { Model, ModelFinding } from '../fault-model';
import { outOfReach, physicsOf, without } from './faults';
import { bobbinPull, lockDepth, topPull, type Virtual } from './machine';
import { dropTest, feelTop } from './person';
import { between, chance, fork, type Random, weighted } from './random';
import type { SewnLine } from './sew';
import { again, badness, type Sewing, type Symptoms, sewing, symptomsOf } from './survey';

/** A look: cause → the state it shows. */
const looks: { readonly [finding: string]: { readonly [cause: string]: string } } = {
  card_spring: { lint_bobbin_spring: 'lint' },
  floss_discs: { lint_discs: 'debris', not_in_discs: 'unseated' },
  check_spring: { check_spring_bad: 'weak', missed_takeup: 'weak' },
  threading_walk: { path_misthread: 'missed_guide', missed_takeup: 'missed_lever' },
  screw_mark: { case_worn: 'yes' },
  needle_look: { needle_worn: 'damaged', needle_mis_set: 'mis_set' },
  needle_size: { needle_too_small: 'small', needle_too_large: 'large' },
  bobbin_look: { bobbin_wound_bad: 'spongy', bobbin_overfilled: 'overfull', bobbin_damaged: 'damaged' },
  bobbin_way: { bobbin_backwards: 'wrong' },
  case_seat: { case_not_seated: 'loose' },
  hook_look: { lint_hook: 'lint', hook_dry: 'dry', hook_burr: 'nick' },
  path_floss: { guide_burr: 'guide', plate_burr: 'plate', eyelet_rough: 'guide' },
  guide_where: { guide_burr: 'inside', eyelet_rough: 'outside' },
  lever_look: { missed_takeup: 'still' },
  quilt_support: { quilt_drag: 'drags' },
  hand_turn: { hook_timing: 'misses', case_not_seated: 'binds' },
  supply_look: { thread_whip: 'no_net', spool_snag: 'off_centre', net_too_tight: 'net_tight' },
  push_up: { sandwich_too_tight: 'drum', sandwich_too_loose: 'sags' },
  foot_gap: { foot_height: 'high' },
  batting_side: { batting_issue: 'wrong' },
  roll_check: { carriage_drag: 'drags' },
  encoder_look: { regulator_fault: 'slips' },
  thread_snap: { bad_thread: 'weak' },
  command_check: { machine_electrics: 'no' },
  tails: { start_tails: 'cured' },
  patch_only: { adhesive_or_pile: 'yes' },
};

/** A swap or a thing done: the causes it takes away while it lasts, and what it then says. */
const swaps: { readonly [finding: string]: { readonly of: readonly string[]; readonly says: string } } = {
  rethread_top: { of: ['not_in_discs', 'path_misthread', 'missed_takeup'], says: 'cured' },
  // The new one is of the right size.
  swap_needle: { of: ['needle_worn', 'needle_mis_set', 'needle_too_small', 'needle_too_large'], says: 'cured' },
  swap_bobbin: {
    of: [
      'bobbin_wound_bad',
      'bobbin_overfilled',
      'bobbin_damaged',
      'bobbin_end_drag',
      'bobbin_backwards',
      'bobbin_not_in_spring',
    ],
    says: 'cured',
  },
  swap_case: {
    of: ['case_worn', 'lint_bobbin_spring', 'backlash', 'bobbin_not_in_spring', 'case_not_seated'],
    says: 'cured',
  },
  swap_spool: { of: ['bad_thread', 'thread_whip', 'spool_snag'], says: 'cured' },
  // A scrap lies in no rollers.
  scrap_test: {
    of: ['backing_dense', 'batting_issue', 'adhesive_or_pile', 'sandwich_too_tight', 'sandwich_too_loose'],
    says: 'gone',
  },
  loosen_rollers: { of: ['sandwich_too_tight'], says: 'better' },
};

export type Surveyed = {
  readonly v: Virtual;
  readonly sewing: Sewing;
  readonly symptoms: Symptoms;
  readonly model: Model;
};

/** One survey serves every question until something about the machine changes. */
export function survey(v: Virtual, model: Model, r: Random): Surveyed {
  const sewn = sewing(v, r);
  return { v, sewing: sewn, symptoms: symptomsOf(v, sewn, r), model };
}

/** The state this finding shows; undefined for one that the model does not know. */
export function answer(s: Surveyed, finding: string, r: Random): string | undefined {
  const f = s.model.findings.get(finding);
  if (!f) return undefined;
  const beyond = s.v.faults.find((x) => outOfReach.has(x.cause) && f.rows[s.model.causes.indexOf(x.cause)]);
  if (beyond) return byTable(s, f, r, beyond.cause);
  const own = s.symptoms[finding] ?? tests[finding]?.(s.v, r, s);
  if (own !== undefined) return own;
  const look = looks[finding];
  if (look) return looked(s.v, f, look, r);
  const swap = swaps[finding];
  return swap ? swapped(s, f, swap, r) : byTable(s, f, r);
}

/** Whether this finding says anything of these faults, by the physics, by a look, or by a row of the table. */
export const bears = (s: Surveyed, finding: string): boolean =>
  Object.hasOwn(s.symptoms, finding) ||
  s.v.faults.some((f) => s.model.findings.get(finding)?.rows[s.model.causes.indexOf(f.cause)] !== undefined);

/** Finds what is there nine times in ten, more or less by machine and person; sees what does no harm once in thirty. */
function looked(v: Virtual, f: ModelFinding, shows: { readonly [cause: string]: string }, r: Random): string {
  const own = fork(v.seed, f.id.length * 131 + (f.states[1]?.length ?? 0));
  const finds = between(own, 0.8, 0.98);
  const harmless = between(own, 0.005, 0.06);
  for (const fault of v.faults) {
    const state = shows[fault.cause];
    if (state !== undefined && chance(r, finds)) return state;
  }
  const [normal = '', ...odd] = f.states;
  return odd.length > 0 && chance(r, harmless) ? (odd[Math.floor(r.next() * odd.length)] ?? normal) : normal;
}

function swapped(
  s: Surveyed,
  f: ModelFinding,
  swap: { readonly of: readonly string[]; readonly says: string },
  r: Random,
): string {
  const normal = f.states[0] ?? '';
  const cured = without(s.v, (fault) => swap.of.includes(fault.cause));
  // The spare case has its own screw, set right or nearly.
  const after = f.id === 'swap_case' ? { ...cured, bobbin: between(r, -3, 3) } : cured;
  if (f.id === 'loosen_rollers' && s.v.faults.some((x) => x.cause === 'sandwich_too_loose')) return 'worse';
  const hole = physicsOf(s.v).hole;
  const all = [...s.sewing.straight, s.sewing.curve];
  const then = sewing(after, r);
  const [before, now] = [badness(all, hole), badness([...then.straight, then.curve], physicsOf(after).hole)];
  return before > 0.06 && now < 0.4 * before ? swap.says : normal;
}

type Test = (v: Virtual, r: Random, s: Surveyed) => string;
const pull = (v: Virtual) => {
  const p = physicsOf(v);
  return bobbinPull(p, v.bobbin, v.fill) / v.base.bobbin;
};
/** In the hand a case that is not latched in its hook shows nothing of it. */
const inHand = (v: Virtual) => physicsOf(without(v, (x) => x.cause === 'case_not_seated'));

const tests: { readonly [finding: string]: Test } = {
  drop_test: (v, r) => dropTest(v, r).state,
  finger_pad: (v, r) => {
    const felt = pull(v) * Math.exp(0.1 * r.normal());
    return felt > 1.15 ? 'lifts' : felt < 0.87 ? 'flat' : 'tips';
  },
  gauge_bobbin: (v, r) => {
    const p = inHand(v);
    if (p.bobbinWander > 0.12 || p.bobbinBeat > 0.12) return 'jumps';
    const read = pull(v) * Math.exp(0.06 * r.normal());
    return read > 1.1 ? 'high' : read < 0.9 ? 'low' : 'in_band';
  },
  pull_bobbin: (v, r) => {
    const p = inHand(v);
    if (pull(v) < 0.4) return 'none';
    return p.bobbinWander + p.bobbinBeat + 0.03 * r.normal() > 0.12 ? 'jerky' : 'smooth';
  },
  pull_top: (v, r) => feelTop(v, r),
  overspin: (v, r) =>
    physicsOf(v).bobbinSlack > 0.015
      ? chance(r, 0.85)
        ? 'overruns'
        : 'stops'
      : chance(r, 0.06)
        ? 'overruns'
        : 'stops',
  slow_down: (v, _r, s) => {
    const hole = physicsOf(v).hole;
    // The same shape: what is bad only in curves is sewn slowly in a curve.
    const calmer = (slow: readonly SewnLine[], fast: readonly SewnLine[]) =>
      badness(fast, hole, false) > 0.15 && badness(slow, hole, false) < 0.55 * badness(fast, hole, false);
    const { curve, slow } = s.sewing;
    return calmer(slow, again(s.sewing)) || calmer(slow.slice(-1), [curve]) ? 'better' : 'no_change';
  },
  turn_sample: (v, r, s) => {
    if (s.symptoms.direction === 'all_same' || s.symptoms.direction === 'curves') return 'no_direction';
    return v.faults.some((f) => f.cause === 'sandwich_too_tight') && chance(r, 0.6) ? 'cloth' : 'machine';
  },
  top_knob_response: (v) => {
    const p = physicsOf(v);
    const at = (knob: number) => lockDepth(p, topPull(p, knob), bobbinPull(p, v.bobbin, v.fill));
    const moved = Math.abs(at(v.top + 60) - at(v.top));
    return moved < 0.12 ? 'no_change' : moved > 1.5 ? 'overshoots' : 'as_expected';
  },
  bobbin_screw_response: (v, r) => {
    const p = physicsOf(v);
    const moved = Math.abs(bobbinPull(p, v.bobbin + 5, v.fill) / Math.max(1, bobbinPull(p, v.bobbin, v.fill)) - 1);
    if (p.dropSpread > 0.09) return chance(r, 0.5) ? 'no_change' : 'jumps';
    return moved < 0.03 ? 'no_change' : moved > 0.3 ? 'jumps' : 'as_expected';
  },
  bobbin_breaks: (v, r) => {
    const p = physicsOf(v);
    const risk = pull(v) > 1.4 ? 0.3 : p.nearEnd > 1.15 || p.bobbinSlack > 0.025 || p.bobbinWander > 0.2 ? 0.25 : 0.02;
    return chance(r, risk) ? 'some' : 'none';
  },
};

/** A draw from the model's row of a fault, the worst unless told, perturbed as this machine's own. */
function byTable(s: Surveyed, f: ModelFinding, r: Random, of?: string): string {
  const worst = of ?? [...s.v.faults].sort((a, b) => b.much - a.much)[0]?.cause;
  const row = (worst === undefined ? undefined : f.rows[s.model.causes.indexOf(worst)]) ?? f.base;
  const own = fork(s.v.seed, 7919 + [...f.id].reduce((n, c) => (n * 31 + c.charCodeAt(0)) % 65_521, 0));
  const weights = Object.fromEntries(
    f.states.map((state, i) => [state, (row[i] ?? 0) * Math.exp(tableSpread * own.normal())]),
  );
  return weighted(r, weights);
}
/** Log-standard deviation of the perturbation. */
export const tableSpread = 0.6;
