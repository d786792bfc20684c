/** Check values of thread tension: guides, discs, jerk and slide. */
import {
  afterDiscs,
  afterPost,
  cNOf,
  cNPerGf,
  fallOfHand,
  gfOf,
  gravity,
  type Jerk,
  jerkFault,
  jerkTension,
  jerkTensionAtSpeed,
  jerkTensionOfElastic,
  jerkUncertainty,
  leastSlideTime,
  type Slide,
  slideFault,
  slideTension,
  slideTime,
  slideUncertainty,
  slipAt,
  spreadOf,
  stoppingForce,
} from '../tension-physics';
import type { Calc, Calcs, Given } from './calc';

const jerk = (g: Given): Jerk => ({ massG: g.mass_g, fallMm: g.h_mm, slipMm: g.s_mm });
const jerkU = (g: Given): Jerk => ({ massG: g.u_mass_g, fallMm: g.u_h_mm, slipMm: g.u_s_mm });
const slide = (g: Given): Slide => ({ massG: g.mass_g, wayMm: g.d_mm, seconds: g.t_s });
const slideU = (g: Given): Slide => ({ massG: g.u_mass_g, wayMm: g.u_d_mm, seconds: g.u_t_s });

const named = (s: ReturnType<typeof spreadOf>) => ({
  mean_cN: s.mean,
  sd_cN: s.sd,
  q025_cN: s.low,
  median_cN: s.median,
  q975_cN: s.high,
});
const jerkSpread: Calc = (g) =>
  named(
    spreadOf(
      ([massG = 0, fallMm = 0, slipMm = 0]) => jerkTension({ massG, fallMm, slipMm }),
      Object.values(jerk(g)),
      Object.values(jerkU(g)),
    ),
  );
const slideSpread: Calc = (g) =>
  named(
    spreadOf(
      ([massG = 0, wayMm = 0, seconds = 0]) => slideTension({ massG, wayMm, seconds }),
      Object.values(slide(g)),
      Object.values(slideU(g)),
    ),
  );

export const tension: Calcs = {
  constants_ph: () => ({ g: gravity, gf_cN: cNPerGf }),
  gf_to_cN: (g) => cNOf(g.gf),
  cN_to_gf: (g) => gfOf(g.cN),
  weight_cN: (g) => cNOf(g.mass_g),
  capstan: (g) => afterPost(g.t_in, g.mu, g.angle_deg),
  tension_chain: (g) =>
    (g.elements as readonly Given[]).reduce(
      (t, e) => (e.type === 'post' ? afterPost(t, e.mu, e.angle_deg) : afterDiscs(t, e.mu, e.normal)),
      g.t_in as number,
    ),
  jerk_tension: (g) => jerkTension(jerk(g)),
  stop_force_N: (g) => stoppingForce(g.mass_kg, g.h_m, g.s_m, g.g),
  jerk_tension_speed: (g) => jerkTensionAtSpeed(g.mass_g, g.v_m_s, g.s_mm),
  jerk_effective_drop: (g) => fallOfHand(g.hand_drop_mm, g.hand_accel_m_s2),
  jerk_slip: (g) => slipAt(g.mass_g, g.h_mm, g.T_cN),
  jerk_tension_elastic: (g) => jerkTensionOfElastic(jerk(g), g.k_N_per_m),
  jerk_unc: (g) => {
    const u = jerkUncertainty(jerk(g), jerkU(g));
    return { T_cN: jerkTension(jerk(g)), u_cN: u.u, part_mass_cN: u.mass, part_h_cN: u.fall, part_s_cN: u.slip };
  },
  jerk_mc: jerkSpread,
  jerk_moments: jerkSpread,
  slide_tension: (g) => slideTension(slide(g)),
  slide_min_time: (g) => leastSlideTime(g.d_mm),
  slide_time: (g) => slideTime(g.mass_g, g.d_mm, g.T_cN),
  slide_unc: (g) => ({ T_cN: slideTension(slide(g)), u_cN: slideUncertainty(slide(g), slideU(g)) }),
  slide_mc: slideSpread,
  slide_moments: slideSpread,
  invalid: (g) => ({
    invalid:
      g.check === 'slide'
        ? slideFault(slide(g)) !== undefined
        : g.check === 'jerk'
          ? jerkFault(jerk(g)) !== undefined
          : slipAt(g.mass_g, g.h_mm, g.T_cN) === undefined,
  }),
};
