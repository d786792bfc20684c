/** The lines sewn in this round, as the stars they make and what these say of direction. */
import { type Directions, directionsOf } from '../directions';
import type { Ctx, Sample } from './context';

export type SewnNow = { readonly said: Directions; readonly stars: readonly Pick<Sample, 'mode' | 'rays'>[] };

/** Undefined where nothing was sewn. Sewn again the same way, the newest counts. */
export function sewnNow(ctx: Ctx, place: { readonly balancing?: string; readonly round: number }): SewnNow | undefined {
  const now = ctx.samples.filter((s) => s.balancing === place.balancing && s.round === place.round);
  const newest = now.filter(
    (s, i) => !now.slice(i + 1).some((later) => later.mode === s.mode && later.rays.length >= s.rays.length),
  );
  const stars = newest.map(({ mode, rays }) => ({ mode, rays }));
  return place.balancing === undefined || stars.length === 0 ? undefined : { said: directionsOf(stars), stars };
}
