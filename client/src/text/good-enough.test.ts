/** "Good enough?": its yes says yes, nothing is looked for where nothing is wrong, and no card stands there twice. */
import { describe, expect, it } from 'vitest';
import { type Advice, offers, type TaskState } from '../domain/task';
import { explore, ways } from '../domain/task/explore';
import { apart, nextThree } from '../domain/task/next-step';
import { filled, machine, play } from '../domain/task/world';
import { adviceSays, adviceWhy } from './advice';
import { offerWords } from './task-offers';

const settled = { ...filled, balancings: [{ id: 'old', at: 0, by: '', machine, quilt: filled.bench.quilt }] };
const toGood = ['clean', 'right', 'right', 'finger', 'tips', 'next', 'as_usual', 'next', '0@all'];

describe('good enough?', () => {
  it('is answered with yes, and nothing else stands beside it', () => {
    const { state, ctx } = play('balance', settled, toGood);
    const main = offers(state as TaskState, ctx).find((o) => o.as === 'main');
    expect(main && offerWords(main, state as TaskState, ctx)).toBe('Yes, good enough');
    expect(nextThree(ctx, { balancing: state?.balancing ?? '', round: 1 }, [])).toHaveLength(1);
  });

  it('never puts two cards with the same words side by side', () => {
    let seen = 0;
    const twice: string[] = [];
    for (const way of ways.filter(([name]) => name === 'balance'))
      for (const { here } of explore(way).values()) {
        const { advice, others = [] } = (here.state?.data ?? {}) as { advice?: Advice; others?: readonly Advice[] };
        if (here.state?.step !== 'next' || !advice) continue;
        const cards = [advice, ...others].map((a) => adviceSays(a, here.ctx));
        seen += others.length;
        if (new Set(cards).size < cards.length) twice.push(cards.join(' / '));
      }
    expect(seen).toBeGreaterThan(20);
    expect(twice).toEqual([]);
  });

  it('takes a look and an act of the same words for one', () => {
    const look = { do: 'check', finding: 'swap_bobbin', states: [], mends: true, why: 'likely' } as const;
    const act = { do: 'act', action: 'swap_bobbin', why: 'likely' } as const;
    expect(adviceSays(look, filled)).toBe(adviceSays(act, filled));
    expect(apart([{ do: 'see', why: 'nothing-more' }, look, act])).toHaveLength(2);
  });

  it('says what a look shows, never "from nothing wrong"', () => {
    const look = { do: 'check', finding: 'backing', states: [], mends: false, why: 'tells' } as const;
    for (const about of [
      ['backing_dense', 'no_fault'],
      ['no_fault', 'backing_dense'],
    ])
      expect(adviceWhy({ ...look, about })).toBe('Shows whether it is a dense backing or top.');
  });
});
