/** The studio's own model of causes, findings and acts, put together. */
import { findingStates } from '../findings';
import { acts } from './acts';
import { bobbin } from './bobbin';
import { cloth } from './cloth';
import { dirt } from './dirt';
import { head } from './head';
import { looks } from './looks';
import { needle } from './needle';
import { running } from './running';
import { settings } from './settings';
import type { Tables } from './shape';
import { supply } from './supply';
import { threading } from './threading';

export const causes = {
  ...settings,
  ...threading,
  ...supply,
  ...dirt,
  ...bobbin,
  ...needle,
  ...head,
  ...cloth,
  ...running,
};
export type CauseId = keyof typeof causes;
export type ActId = keyof typeof acts;

export const tables = {
  version: 2,
  causes,
  states: findingStates,
  looks,
  acts,
  alike: [
    ['drop_test', 'finger_pad', 'gauge_bobbin'],
    ['pull_bobbin', 'bobbin_look', 'swap_bobbin'],
    ['top_on_back', 'random_loops', 'eyelash', 'firmness'],
    ['bobbin_on_top', 'both_sides'],
    ['direction', 'turn_sample'],
    ['speed_dep', 'slow_down'],
    ['swap_needle', 'needle_look', 'needle_size'],
    ['rethread_top', 'threading_walk', 'floss_discs', 'lever_look'],
    ['cone_motion', 'supply_look', 'swap_spool'],
    ['top_breaks', 'broken_end'],
    ['push_up', 'loosen_rollers'],
    ['hook_look', 'noise'],
    ['path_floss', 'guide_where'],
  ],
  together: [
    ['not_in_discs', 'missed_takeup', 12], // one hasty threading
    // A knob turned to hide a cause stays turned.
    ['top_too_loose', 'lint_bobbin_spring', 4],
    ['top_too_tight', 'lint_discs', 4],
    ['top_too_tight', 'not_in_discs', 3],
    ['top_too_loose', 'needle_worn', 2],
    ['top_too_tight', 'needle_worn', 2],
  ],
} satisfies Tables;
