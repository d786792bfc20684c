/** How long the app's own advice takes, at every step of balancings on virtual machines: what the next-step screen waits for. */
import { nextThree, suspectsNow } from '../src/domain/task/next-step';
import { balancing } from './harm';

/** Milliseconds of each advice: diagnosis with pairs, the step, the two beside it, why and why not. The first is the coldest. */
export function adviceTimes(balancings: number): readonly number[] {
  const all: number[] = [];
  for (let i = 0; i < balancings; i++)
    balancing(5_000 + i, (ctx, at) => {
      const began = performance.now();
      nextThree(ctx, at, []);
      suspectsNow(ctx, at);
      all.push(performance.now() - began);
    });
  return all;
}
