/** Check values of troubleshooting under uncertainty. */
import { bestOrder, costOfOrder, entropyBits, noisyOr, questionValue, searchOrder } from '../expected-cost';
import type { Calcs } from './calc';

export const troubleshooting: Calcs = {
  ecr: (g) => costOfOrder({ p: g.p, c: g.c, service: g.service_cost }, g.order),
  ecr_best: (g) => bestOrder({ p: g.p, c: g.c, service: g.service_cost }),
  ecr_imperfect: (g) => bestOrder({ p: g.p, c: g.c, e: g.e, service: g.service_cost }),
  observation_value: (g) => {
    const v = questionValue({ p: g.p, c: g.c }, g.like_yes, g.obs_cost);
    return {
      p_yes: v.yes.chance,
      post_yes: v.yes.p,
      post_no: v.no.p,
      order_yes: v.yes.order,
      order_no: v.no.order,
      ecr_now: v.now,
      ecr_yes: v.yes.cost,
      ecr_no: v.no.cost,
      eco: v.asked,
      gross_value: v.worth,
    };
  },
  repeat_search: (g) => {
    const { order, p } = searchOrder({ p: g.p, c: g.c, e: g.detect }, g.steps);
    return { sequence: order, posterior_after: p };
  },
  two_causes: (g) => {
    const acts = { p: [g.p, 1 - g.p], c: [g.c1, g.c2] };
    const [one, two] = [costOfOrder(acts, [0, 1]), costOfOrder(acts, [1, 0])];
    return { first_1: one, first_2: two, better: (bestOrder(acts).order[0] ?? 0) + 1 };
  },
  entropy_bits: (g) => entropyBits(g.p),
  noisy_or: (g) =>
    noisyOr(
      g.leak,
      (g.link as number[]).filter((_, i) => g.on[i]),
    ),
};
