/** Where a screw stands, in words. */
import type { Ctx } from '../domain/task';
import { isBobbin } from '../domain/task/ledger';
import { position } from '../domain/task/screws';
import { dialNumber, far } from '../text/amount';
import { text } from '../text/frame';

export function standsWords(ctx: Ctx, screw: string): string {
  const knob = isBobbin(screw) ? 'turns' : ctx.machines.find((m) => m.id === ctx.machine)?.topKnob;
  if (knob && knob !== 'turns') {
    const dialTenths = ctx.changes.findLast((c) => c.screw === screw && c.dialTenths !== undefined)?.dialTenths;
    return placeWords(dialTenths === undefined ? 'lost' : { dialTenths });
  }
  const p = position(ctx, screw);
  return placeWords(p === 'lost' ? p : { minutes: p.known });
}

/** Clock-minutes from neutral, + is tighter, or what its dial says. */
export function placeWords(place: 'lost' | { readonly minutes: number } | { readonly dialTenths: number }): string {
  if (place === 'lost') return text.lost;
  if ('dialTenths' in place) return dialNumber(place.dialTenths);
  return place.minutes === 0 ? text.flush : text.fromNeutral(far(place.minutes), place.minutes > 0);
}
