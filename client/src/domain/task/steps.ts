/** The table of every step of every task, made from their definitions. */
import { type StepKind, type TaskName, taskNames } from './task';
import { tasks } from './tasks';
import { wayIn } from './way-in';

export type StepRow = {
  readonly task: TaskName;
  readonly step: string;
  readonly kind: StepKind;
};

/** Each task's own steps, with the full caution and "do not run" before them where the task has these. */
export const steps: readonly StepRow[] = taskNames.flatMap((task) => {
  const { caution, sews, steps: own } = tasks[task];
  const before = Object.entries(wayIn).filter(([step]) => (step === 'caution' ? caution : sews));
  return [...before, ...Object.entries(own)].map(([step, def]) => ({
    task,
    step,
    kind: def.kind,
  }));
});
