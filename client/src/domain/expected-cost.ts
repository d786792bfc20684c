/**
 * Troubleshooting as decisions under uncertainty: what an order of acts costs until one of them cures, and what a question is
 * worth. One cause, each act's result seen at once, costs that do not depend on the order. Heckerman, Breese, Rommelse, CACM
 * 38(3), 1995; the ordering by chance per cost: Kadane and Simon 1977. Derived again; see the published checks.
 */

/** Acts with the chance that each cures, its cost, and how surely it cures what it is for (1 where not given). */
export type Acts = {
  readonly p: readonly number[]; // chance that the act's cause is the one; may sum to less than 1
  readonly c: readonly number[]; // cost, above 0
  readonly e?: readonly number[];
  readonly service?: number; // cost of calling for service once all were tried in vain
};

/** Expected cost of doing the acts in this order until one cures, then service for what is left. */
export function costOfOrder(a: Acts, order: readonly number[]): number {
  let [left, cost] = [1, 0];
  for (const i of order) {
    cost += left * (a.c[i] ?? 0);
    left -= (a.p[i] ?? 0) * (a.e?.[i] ?? 1);
  }
  return cost + Math.max(0, left) * (a.service ?? 0);
}

/** The cheapest order: the largest chance per cost first. */
export function bestOrder(a: Acts): { readonly order: readonly number[]; readonly cost: number } {
  const worth = (i: number) => ((a.p[i] ?? 0) * (a.e?.[i] ?? 1)) / (a.c[i] ?? 1);
  const order = a.p.map((_, i) => i).sort((i, j) => worth(j) - worth(i));
  return { order, cost: costOfOrder(a, order) };
}

export type QuestionValue = {
  readonly yes: {
    readonly chance: number;
    readonly p: readonly number[];
    readonly order: readonly number[];
    readonly cost: number;
  };
  readonly no: QuestionValue['yes'];
  readonly now: number; // cost without asking
  readonly asked: number; // cost of asking first
  readonly worth: number; // what the answer saves, before its own cost
};

/** A question with two answers; `yes[i]` is the chance of "yes" where cause i is the one. */
export function questionValue(a: Acts, yes: readonly number[], cost: number): QuestionValue {
  const after = (like: readonly number[]): QuestionValue['yes'] => {
    const chance = a.p.reduce((sum, p, i) => sum + p * (like[i] ?? 0), 0);
    const p = a.p.map((x, i) => (x * (like[i] ?? 0)) / chance);
    return { chance, p, ...bestOrder({ ...a, p }) };
  };
  const [y, n] = [after(yes), after(yes.map((x) => 1 - x))];
  const now = bestOrder(a).cost;
  const then = y.chance * y.cost + n.chance * n.cost;
  return { yes: y, no: n, now, asked: cost + then, worth: now - then };
}

/** What is left of the chances after act i was done in vain. */
export function afterVain(p: readonly number[], i: number, e: number): readonly number[] {
  const seen = (p[i] ?? 0) * e;
  return p.map((x, j) => (j === i ? x * (1 - e) : x) / (1 - seen));
}

/** Acts that may be repeated: the next is always the one with the largest chance per cost now (Blackwell; Chew 1967). */
export function searchOrder(
  a: Acts,
  steps: number,
): { readonly order: readonly number[]; readonly p: readonly number[] } {
  let p = a.p;
  const order: number[] = [];
  for (let n = 0; n < steps; n++) {
    const next = bestOrder({ ...a, p }).order[0] ?? 0;
    order.push(next);
    p = afterVain(p, next, a.e?.[next] ?? 1);
  }
  return { order, p };
}

/** Chance of a sign with several causes that speak independently, and the chance that it comes of nothing. */
export const noisyOr = (leak: number, links: readonly number[]): number =>
  1 - links.reduce((silent, link) => silent * (1 - link), 1 - leak);

export const entropyBits = (p: readonly number[]): number =>
  p.reduce((sum, x) => sum - (x > 0 ? x * Math.log2(x) : 0), 0);
