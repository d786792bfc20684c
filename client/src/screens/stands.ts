/** Where a screw stands, in words. */
import type { Ctx } from '../domain/task';
import { isBobbin } from '../domain/task/ledger';
import { position } from '../domain/task/screws';
import { dialNumber, far } from '../text/amount';
import { text } from '../text/frame';

export function standsWords(ctx: Ctx, screw: string): string {
  const knob = isBobbin(screw) ? 'turns' : ctx.machines.find((m) => m.id === ctx.machine)?.topKnob;
  if (knob && knob !== 'turns') {
    const dial = ctx.changes.findLast((c) => c.screw === screw && c.dialTenths !== undefined)?.dialTenths;
    return dial === undefined ? text.lost : dialNumber(dial);
  }
  const p = position(ctx, screw);
  if (p === 'lost') return text.lost;
  return p.known === 0 ? text.flush : text.fromNeutral(far(p.known), p.known > 0);
}
