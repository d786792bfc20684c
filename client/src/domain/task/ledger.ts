/** What the tasks write into a screw's ledger. The rules of reading it are the domain's. */
import { ledger, toStrike } from '../change';
import type { Ctx } from './context';
import { place } from './place';
import type { Fields, TaskState, Writer } from './task';

export const topScrew = (machine: string) => `top:${machine}`;
export const bobbinScrew = (bobbinCase: string) => `bobbin:${bobbinCase}`;
export const isBobbin = (screw: string) => screw.startsWith('bobbin:');

/** The records of a screw that no later one has seen. */
export const heads = (ctx: Ctx, screw: string): readonly string[] => ledger(ctx.changes, screw).heads;

/** Writes one ledger record after all that this phone has seen of the screw; returns its id. */
export function write(w: Writer, screw: string, what: Fields, s?: TaskState): string {
  const ctx = w.ctx();
  return w.put('change', { screw, ...what, machine: ctx.machine, after: heads(ctx, screw), ...(s && place(s)) });
}

/**
 * "I turned it back" is a new move the other way; "I wrote it wrong" strikes the record. A dial turned back is read
 * again, so it gets the number it had before.
 */
export function takeBack(how: 'turned-back' | 'wrote-wrong', change: string, w: Writer): void {
  const c = w.ctx().changes.find((x) => x.id === change);
  if (!c) return;
  if (how === 'wrote-wrong') {
    for (const strikes of toStrike(w.ctx().changes, c.id)) write(w, c.screw, { type: 'strike', strikes });
  } else if (c.minutes !== undefined) write(w, c.screw, { type: 'back', backOf: c.id, minutes: -c.minutes });
  else {
    const before = w.ctx().changes.findLast((x) => x.screw === c.screw && x.type === 'dial' && x.at < c.at);
    if (before?.dialTenths !== undefined) write(w, c.screw, { type: 'dial', dialTenths: before.dialTenths });
  }
}
