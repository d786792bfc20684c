/** What the tasks write into a screw's ledger. The rules of reading it are the domain's. */
import { ledger, type NoWayBack, type TakeBack, takeBacks, toStrike, turnBack } from '../change';
import type { Ctx } from './context';
import { place } from './place';
import type { Caution, Fields, TaskState, Writer } from './task';

export const topScrew = (machine: string) => `top:${machine}`;
export const bobbinScrew = (bobbinCase: string) => `bobbin:${bobbinCase}`;
export const isBobbin = (screw: string) => screw.startsWith('bobbin:');
/** What to take care of with a screw: only a case screw can fall out. */
export const screwCautions = (screw: string | undefined): readonly Caution[] =>
  screw !== undefined && isBobbin(screw) ? ['still', 'screw'] : ['still'];

/** The records of a screw that no later one has seen. */
export const heads = (ctx: Ctx, screw: string): readonly string[] => ledger(ctx.changes, screw).heads;

/** Writes one ledger record after all that this phone has seen of the screw; returns its id. */
export function write(w: Writer, screw: string, what: Fields, s?: TaskState): string {
  const ctx = w.ctx();
  return w.put('change', { screw, ...what, machine: ctx.machine, after: heads(ctx, screw), ...(s && place(s)) });
}

/**
 * "I turned it back" is a new move the other way, a dial's the number that it had before; "I wrote it wrong" strikes the
 * record. Says why when there is nothing to write: no change is turned back twice.
 */
export function takeBack(how: TakeBack, change: string, w: Writer): NoWayBack | undefined {
  const { changes } = w.ctx();
  const screw = changes.find((x) => x.id === change)?.screw;
  if (screw === undefined) return 'nothing-to-turn';
  if (how === 'wrote-wrong') {
    const wrong = toStrike(changes, change);
    for (const strikes of wrong) write(w, screw, { type: 'strike', strikes });
    return wrong.length === 0 ? 'turned-already' : undefined;
  }
  const back = turnBack(changes, change);
  if (typeof back === 'string') return back;
  write(w, screw, { type: 'minutes' in back ? 'back' : 'dial', backOf: change, ...back });
  return undefined;
}

/** The ways that are still open to take a record back. */
export function waysBack(ctx: Ctx, change: string): readonly TakeBack[] {
  const screw = ctx.changes.find((c) => c.id === change)?.screw;
  return (screw !== undefined && takeBacks(ctx.changes, screw).get(change)) || [];
}
