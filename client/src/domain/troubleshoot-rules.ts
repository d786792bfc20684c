/**
 * What may not be advised, whatever the chances say: the trade's rules of adjustment and of safety, read against what was
 * found. Common practice, no published source.
 */
import type { Findings } from './diagnosis';

export type Known = {
  readonly found: Findings;
  readonly tried: readonly string[]; // acts done in vain
  readonly notNow: readonly string[]; // looks and acts that can't be done or were put off
};

// What is asked for are names of this file, none of which every object has.
const is = (k: Known, finding: string, ...states: readonly string[]) => oneOf(k, finding, states);
const oneOf = (k: Known, finding: string, states: readonly string[]) => {
  const state = k.found[finding];
  return state !== undefined && states.includes(state);
};
const known = (k: Known, finding: string) => Object.hasOwn(k.found, finding);

/** Stop, power off. A strike or a jam holds only until somebody looked: hook, path or a turn by hand, with the power off. */
export const unsafe: readonly (readonly [finding: string, states: readonly string[]])[] = [
  ['case_seat', ['loose']],
  ['noise', ['tick', 'knock']],
  ['hand_turn', ['binds']],
  ['command_check', ['no']],
  ['nest', ['any']],
  ['warning', ['smell', 'heat', 'error']],
];
export function safetyState(k: Known): string | undefined {
  const found = unsafe.find(([finding, states]) => oneOf(k, finding, states));
  if (found) return found[0];
  const looked = known(k, 'hook_look') || known(k, 'path_floss') || known(k, 'hand_turn');
  return is(k, 'event', 'struck', 'jam') && !looked ? 'event' : undefined;
}

/** Never a setting: it comes at random, one way, in one mode, at starts, at a place, at even spacing, or the drops disagree. */
const noSetting: readonly (readonly [finding: string, states: readonly string[]])[] = [
  ['pattern_time', ['random', 'periodic', 'start_only']],
  ['direction', ['away', 'toward', 'sideways']],
  ['mode_dep', ['regulated_only', 'manual_only']],
  ['patch_only', ['yes']],
  ['nest', ['start', 'any']],
  ['random_loops', ['back', 'top']],
  ['skips', ['many']],
  ['drop_test', ['jerky']],
  ['gauge_bobbin', ['jumps']],
  ['top_knob_response', ['no_change']],
  ['scrap_test', ['gone']],
  ['bobbin_level', ['full', 'near_end', 'each_bobbin']],
];
export const gateStanding = (k: Known): string | undefined =>
  noSetting.find(([finding, states]) => oneOf(k, finding, states))?.[0];

/** A fault that a look found, and the act that mends it: it is mended before a knob is turned. */
const faults: readonly (readonly [finding: string, state: string, act: string])[] = [
  ['threading_walk', 'missed_guide', 'rethread_top'],
  ['threading_walk', 'missed_lever', 'rethread_top'],
  ['lever_look', 'still', 'rethread_top'],
  ['quilt_support', 'drags', 'hold_up'],
  ['floss_discs', 'debris', 'floss_discs'],
  ['floss_discs', 'unseated', 'floss_discs'],
  ['supply_look', 'off_centre', 'net_and_centre'],
  ['supply_look', 'no_net', 'net_and_centre'],
  ['supply_look', 'net_tight', 'net_off'],
  ['card_spring', 'lint', 'card_spring'],
  ['bobbin_way', 'wrong', 'rethread_bobbin'],
  ['bobbin_look', 'spongy', 'swap_bobbin'],
  ['bobbin_look', 'overfull', 'swap_bobbin'],
  ['bobbin_look', 'damaged', 'swap_bobbin'],
  ['needle_look', 'mis_set', 'new_needle'],
  ['needle_look', 'damaged', 'new_needle'],
  ['needle_size', 'small', 'needle_up'],
  ['needle_size', 'large', 'needle_down'],
  ['hook_look', 'lint', 'clean_oil_hook'],
  ['hook_look', 'dry', 'clean_oil_hook'],
  ['check_spring', 'weak', 'check_spring_set'],
  ['push_up', 'drum', 'loosen_rollers'],
  ['push_up', 'sags', 'take_up_slack'],
  ['thread_snap', 'weak', 'known_thread'],
];
const faultStanding = (k: Known): boolean =>
  faults.some(([finding, state, act]) => k.found[finding] === state && !k.tried.includes(act));

/** A technician's by itself: nothing an operator does comes first. */
export function technicianState(k: Known): string | undefined {
  const needle = known(k, 'swap_needle') || k.tried.includes('new_needle');
  if (is(k, 'hand_turn', 'misses') && needle) return 'hand_turn';
  if (is(k, 'hook_look', 'nick')) return 'hook_look';
  if (is(k, 'check_spring', 'broken')) return 'check_spring';
  const seated = is(k, 'floss_discs', 'clean') || is(k, 'threading_walk', 'right') || known(k, 'rethread_top');
  return is(k, 'top_knob_response', 'no_change') && seated ? 'top_knob_response' : undefined;
}

type Side = 'tight' | 'loose' | 'right' | undefined;
/** What the tests say of the bobbin, and of the top. */
export const bobbinSide = (k: Known): Side =>
  is(k, 'drop_test', 'falls') || is(k, 'finger_pad', 'flat') || is(k, 'gauge_bobbin', 'low')
    ? 'loose'
    : is(k, 'drop_test', 'barely') || is(k, 'finger_pad', 'lifts') || is(k, 'gauge_bobbin', 'high')
      ? 'tight'
      : is(k, 'drop_test', 'neutral') || is(k, 'finger_pad', 'tips') || is(k, 'gauge_bobbin', 'in_band')
        ? 'right'
        : undefined;
export const topSide = (k: Known): Side =>
  is(k, 'pull_top', 'stiff')
    ? 'tight'
    : is(k, 'pull_top', 'light')
      ? 'loose'
      : is(k, 'pull_top', 'as_usual')
        ? 'right'
        : undefined;

const bobbinShows = (k: Known) => is(k, 'bobbin_on_top', 'dots', 'pulled_up', 'flatline') || is(k, 'eyelash', 'top');
const topShows = (k: Known) =>
  is(k, 'top_on_back', 'dots', 'pulled_down', 'flatline', 'big_loops') || is(k, 'eyelash', 'back');
const drawn = (k: Known) => is(k, 'firmness', 'puckered');
const slack = (k: Known) => is(k, 'firmness', 'slack_both') || is(k, 'both_sides', 'loops_both');

export const knobs: readonly string[] = [
  'top_looser',
  'top_tighter',
  'bobbin_looser',
  'bobbin_tighter',
  'back_to_neutral',
];

export type Forbidden =
  | 'tried'
  | 'not-now'
  | 'gate' // something seen that no knob sets right
  | 'both-faces' // neither side wins
  | 'wrong-way' // it would make worse what was seen
  | 'bobbin-first' // not proven yet
  | 'in-band' // the bobbin was just shown to be right
  | 'lint-first'
  | 'path-first'
  | 'both-out' // neutral, not one screw
  | 'mend-first' // a look found a fault
  | 'inside' // under covers: a technician's
  | 'unproven'; // lasting, and what it is for was not found

/** Findings whose answer may change what is allowed. */
export const readByRules: ReadonlySet<string> = new Set([
  ...noSetting.map(([finding]) => finding),
  ...['drop_test', 'finger_pad', 'gauge_bobbin', 'pull_top', 'bobbin_on_top', 'top_on_back', 'eyelash', 'firmness'],
  ...[
    'both_sides',
    'card_spring',
    'floss_discs',
    'threading_walk',
    'overspin',
    'batting_side',
    'path_floss',
    'guide_where',
  ],
  ...faults.map(([finding]) => finding),
]);

/** Why this act may not be advised now; undefined: it may. */
export function forbidden(act: string, k: Known): Forbidden | undefined {
  if (k.tried.includes(act)) return 'tried';
  if (k.notNow.includes(act)) return 'not-now';
  if (knobs.includes(act)) return knobForbidden(act, k);
  if (act === 'replace_guide' && is(k, 'guide_where', 'inside')) return 'inside';
  const proof = needsProof[act];
  return proof && !oneOf(k, proof[0], proof[1]) ? 'unproven' : undefined;
}
/** Whether it may be advised hangs on what was found, beside what was tried and put off. */
export const hangsOnFindings = (act: string): boolean => knobs.includes(act) || act in needsProof;

/** What can't simply be undone waits until its fault was seen. */
const needsProof: { readonly [act: string]: readonly [finding: string, states: readonly string[]] } = {
  anti_backlash: ['overspin', ['overruns']],
  turn_batting: ['batting_side', ['wrong', 'thin']],
  replace_guide: ['path_floss', ['guide', 'plate']],
  check_spring_set: ['check_spring', ['weak', 'broken']],
  renew_eyelet: ['guide_where', ['outside']],
};

function knobForbidden(act: string, k: Known): Forbidden | undefined {
  const [bobbin, top] = [bobbinSide(k), topSide(k)];
  const out = (s: Side) => s === 'tight' || s === 'loose';
  const bothOut = out(bobbin) && out(top);
  if (faultStanding(k)) return 'mend-first';
  if (act === 'back_to_neutral') {
    if (bothOut) return undefined;
    return gateStanding(k) ? 'gate' : slack(k) || drawn(k) ? undefined : 'unproven';
  }
  if (gateStanding(k)) return 'gate';
  // Slack both ways is the bobbin's or both; the top's alone only once the bobbin is proven.
  if (bothOut || (slack(k) && !(bobbin === 'right' && act === 'top_tighter'))) return 'both-out';
  if (bobbinShows(k) && topShows(k)) return 'both-faces';
  const tighter = act.endsWith('tighter');
  if (act.startsWith('bobbin')) {
    if (bobbin === undefined) return 'bobbin-first';
    if (!out(bobbin)) return 'in-band';
    if ((bobbin === 'loose') !== tighter) return 'wrong-way';
    return known(k, 'card_spring') || k.notNow.includes('card_spring') ? undefined : 'lint-first';
  }
  if (tighter ? bobbinShows(k) || drawn(k) : topShows(k) && !drawn(k)) return 'wrong-way';
  if (tighter ? top === 'tight' : top === 'loose') return 'wrong-way';
  if (out(bobbin)) return 'bobbin-first';
  if (bobbin === undefined && !k.notNow.includes('drop_test')) return 'bobbin-first';
  const path = ['floss_discs', 'threading_walk', 'rethread_top'].some(
    (look) => known(k, look) || k.notNow.includes(look),
  );
  return tighter && (top === 'loose' || is(k, 'top_on_back', 'big_loops')) && !path ? 'path-first' : undefined;
}
