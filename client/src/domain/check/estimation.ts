/** Check values of the next setting: lines through numbers, through words in order, and bisection. */
import {
  type Belief,
  bisect,
  bisectionGain,
  cutNormal,
  expected,
  linearPosterior,
  nextSetting,
  normalGrid,
  predict,
  updated,
  wordChances,
} from '../estimate';
import type { Calcs, Given } from './calc';

function posterior(g: Given): Belief {
  const xs: readonly number[] = g.x ?? [];
  return linearPosterior(
    { mean: g.prior_mean, cov: g.prior_cov },
    xs.map((x, i) => [x, g.y[i]] as const),
    g.noise_var,
  );
}

export const estimation: Calcs = {
  blr: posterior,
  predict: (g) => {
    const p = predict(posterior(g), g.x_new, g.noise_var);
    return { mean: p.mean, var_mean: p.varMean, var_obs: p.varObs };
  },
  next_setting: (g) => {
    const n = nextSetting(posterior(g));
    return { plug_in: n.plugIn, least_square: n.leastSquare, p_slope_positive: n.slopePositive };
  },
  truncated_slope: (g) => {
    const c = cutNormal(g.mu, g.sd);
    return { mean: c.mean, sd: c.sd, p_positive: c.positive };
  },
  ordinal_probs: (g) => wordChances(g.eta, g.sigma, g.cuts),
  ordinal_posterior: (g) => {
    const words: readonly number[] = g.category;
    const nodes = updated(normalGrid(g.alpha, g.beta), (n) =>
      words.reduce((p, k, i) => p * (wordChances(n.alpha + n.beta * g.x[i], g.sigma, g.cuts)[k] ?? 0), 1),
    );
    return {
      alpha_mean: expected(nodes, (n) => n.alpha),
      beta_mean: expected(nodes, (n) => n.beta),
      least_square_x: -expected(nodes, (n) => n.alpha * n.beta) / expected(nodes, (n) => n.beta ** 2),
    };
  },
  pba: (g) => {
    const { queries, median, mean } = bisect([...(g.answers as string)] as ('R' | 'L')[], g.p);
    return { queries, final_median: median, final_mean: mean };
  },
  pba_gain_bits: (g) => bisectionGain(g.p),
};
