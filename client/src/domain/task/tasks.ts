/** Every task by its name. */
import { ask } from './ask';
import { balance } from './balance';
import { changeScrew } from './change-screw';
import { dropTest } from './drop-test';
import { firstFive } from './first-five';
import { firstRun } from './first-run';
import { lift } from './lift';
import { see } from './see';
import { sew } from './sew';
import { stop } from './stop';
import type { Task, TaskData, TaskName } from './task';
import { topFeel } from './top-feel';

export const tasks: { readonly [name in TaskName]: Task<TaskData> } = {
  'first-run': firstRun,
  balance,
  'drop-test': dropTest,
  'change-screw': changeScrew,
  'top-feel': topFeel,
  sew,
  see,
  'first-five': firstFive,
  stop,
  lift,
  ask,
};
