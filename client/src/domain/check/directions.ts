/** Check values of the fit over directions. */
import { circular, harmonicF, harmonicFit } from '../directions';
import type { Calcs, Given } from './calc';

const points = (g: Given) =>
  (g.angles_deg as readonly number[]).flatMap((deg, i) => {
    const value = g.values[i];
    return typeof value === 'number' ? [[deg, value] as const] : [];
  });

export const directions: Calcs = {
  harmonic_fit: (g) => {
    const fit = harmonicFit(points(g));
    return fit ? { ...fit, identifiable: true, phase_deg: fit.phaseDeg ?? null } : { identifiable: false };
  },
  harmonic_F: (g) => {
    const fit = harmonicFit(points(g));
    return fit && harmonicF(fit);
  },
  circ_mean_deg: (g) => circular(g.angles_deg).meanDeg,
  circ_R: (g) => circular(g.angles_deg).R,
};
