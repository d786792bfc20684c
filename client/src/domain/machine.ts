/** A machine: a sewing head with its top tension knob or dial. */
import type { Ctx, Kept, Machine } from './task/context';
import { isBobbin } from './task/ledger';
import type { Draft } from './task/task';

export const machineOf = (ctx: Ctx): Kept<Machine> | undefined => ctx.machines.find((m) => m.id === ctx.machine);

/** A dial or screen number is read off, so there is no position to lose. */
export const turns = (screw: string, ctx: Ctx) => isBobbin(screw) || (machineOf(ctx)?.topKnob ?? 'turns') === 'turns';

/** Another machine of the studio. Like the first one it has a name and nothing else: what is not known is asked when it is needed. */
export const newMachine = (ctx: Ctx, id: string, name: string): readonly Draft[] => [
  { kind: 'machine', id, set: { name, zone: ctx.zone } },
];
