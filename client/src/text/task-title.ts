/** What each task is called. */
import type { TaskName } from '../domain/task';

export const taskTitle: { readonly [task in TaskName]: string } = {
  'first-run': 'Your machine',
  balance: 'Balance',
  'drop-test': 'Drop test',
  'change-screw': 'Change a screw',
  'top-feel': 'Top feel',
  sew: 'Sew and look',
  see: 'What do you see?',
  'first-five': 'First five',
  stop: 'Something happened',
  lift: 'Marked “do not run”',
  ask: 'About this machine',
};
