import type { TaskState, Writer } from './task';

/** Balancing and round, for a record written inside one. */
export function place(s: TaskState) {
  return { balancing: s.balancing, round: s.balancing ? s.round : undefined };
}

/** A new needle is a fact of its own and the age of the one on the bench. */
export function newNeedle(s: TaskState, now: number, w: Writer): void {
  w.put('event', { machine: s.machine, type: 'new-needle', ...place(s) });
  w.put('bench', { needleSince: now }, s.machine);
}
