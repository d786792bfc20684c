/**
 * Which looks come before a knob is touched, and what mends what they find; ids are those of the fault model. Hand-made from
 * common practice, no published source.
 */

import { type FindingId, findingStates } from '../knowledge/findings';

type Seen = readonly [finding: string, states: readonly string[], looks: readonly string[]];

/** What was seen, and the looks it asks for, cheapest first; "!" before an act. */
export const gates: readonly Seen[] = [
  ['top_on_back', ['big_loops'], ['threading_walk', 'floss_discs', 'check_spring']],
  ['nest', ['start'], ['tails']],
  ['random_loops', ['back'], ['supply_look', 'floss_discs', 'check_spring']],
  ['random_loops', ['top'], ['card_spring', 'overspin', 'bobbin_look']],
  ['eyelash', ['back', 'top'], ['slow_down']],
  ['skips', ['some', 'many'], ['needle_look', '!new_needle', 'push_up', 'hand_turn']],
  ['broken_end', ['frayed'], ['!new_needle', 'path_floss', 'thread_snap']],
  ['broken_end', ['clean', 'kinked'], ['supply_look', 'threading_walk', 'thread_snap']],
  ['bobbin_breaks', ['some'], ['overspin', 'bobbin_look']],
  ['pattern_time', ['periodic'], ['bobbin_look', 'swap_bobbin']],
  ['pattern_time', ['random'], ['card_spring', 'supply_look', 'check_spring']],
  ['pattern_time', ['start_only'], ['tails']],
  ['pattern_time', ['getting_worse'], ['hook_look', '!new_needle']],
  ['bobbin_level', ['full', 'near_end', 'each_bobbin'], ['bobbin_look', 'swap_bobbin']],
  ['patch_only', ['yes'], ['!patch_care']],
  ['cloth_motion', ['flags', 'wave'], ['push_up', 'foot_gap', '!new_needle']],
  ['stitch_length', ['uneven'], ['encoder_look', 'roll_check']],
  ['stitch_length', ['too_long'], ['!shorter_stitch']],
  ['holes', ['open', 'cut'], ['needle_size', '!new_needle']],
  ['fibre', ['back', 'top'], ['!new_needle', 'batting_side']],
  ['mode_dep', ['regulated_only'], ['encoder_look']],
  ['mode_dep', ['manual_only'], ['slow_down', '!match_hands']],
  ['both_sides', ['dots_both', 'loops_both'], ['needle_size', 'push_up', 'batting_side']],
];

/** Looks that mend by being done, so that what follows is to be sewn again. */
export const mending: ReadonlySet<string> = new Set([
  'card_spring',
  'threading_walk',
  'floss_discs',
  'swap_bobbin',
  'tails',
  'slow_down',
]);

/** What a look found, and the act that mends it. */
export const remedies: readonly (readonly [finding: string, state: string, action: string])[] = [
  ['hook_look', 'nick', 'technician'],
  ['hand_turn', 'misses', 'technician'],
  ['path_floss', 'guide', 'technician'],
  ['path_floss', 'plate', 'technician'],
  ['check_spring', 'broken', 'technician'],
  ['check_spring', 'weak', 'check_spring_set'],
  ['hook_look', 'lint', 'clean_oil_hook'],
  ['hook_look', 'dry', 'clean_oil_hook'],
  ['needle_look', 'mis_set', 'new_needle'],
  ['needle_look', 'damaged', 'new_needle'],
  ['needle_size', 'small', 'needle_up'],
  ['needle_size', 'large', 'needle_down'],
  ['push_up', 'drum', 'loosen_rollers'],
  ['push_up', 'sags', 'take_up_slack'],
  ['foot_gap', 'high', 'foot_adjust'],
  ['foot_gap', 'low', 'foot_adjust'],
  ['supply_look', 'off_centre', 'net_and_centre'],
  ['supply_look', 'no_net', 'net_and_centre'],
  ['supply_look', 'net_tight', 'net_off'],
  ['overspin', 'overruns', 'anti_backlash'],
  ['bobbin_look', 'spongy', 'swap_bobbin'],
  ['bobbin_look', 'overfull', 'swap_bobbin'],
  ['bobbin_look', 'damaged', 'swap_bobbin'],
  ['bobbin_way', 'wrong', 'rethread_bobbin'],
  ['batting_side', 'wrong', 'turn_batting'],
  ['batting_side', 'thin', 'suit_cloth'],
  ['roll_check', 'drags', 'clean_rails'],
  ['encoder_look', 'slips', 'clean_regulator'],
  ['thread_snap', 'weak', 'known_thread'],
];

/** States of a look, normal first; undefined for one that the model does not know. */
export const statesOf = (finding: string): readonly string[] | undefined =>
  Object.hasOwn(findingStates, finding) ? findingStates[finding as FindingId] : undefined;
