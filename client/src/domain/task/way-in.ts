/** The steps before a task's own first one, alike for every task. */
import type { Ctx } from './context';
import type { Move, Outcome, Step, TaskData } from './task';
import { cautionStep } from './writer';

/** Not a step: where a task stands until its way in is clear. */
export const gate = 'gate';

export const wayIn: { readonly [step: string]: Step<TaskData> } = {
  /** The full caution, acknowledged once per person and task; it says only what was not acknowledged with another task. */
  caution: {
    kind: 'tick',
    offers: () => [{ action: { do: 'next' }, as: 'main' }],
    act(s, a, _ctx, w) {
      if (a.do !== 'next') return undefined;
      w.put('event', { machine: s.machine, type: 'step', step: cautionStep(s.task) });
      return { to: gate };
    },
  },
  /** The machine is marked "do not run". */
  blocked: {
    kind: 'result',
    cautions: ['technician'],
    offers: () => [
      { action: { do: 'next' }, as: 'main' },
      { action: { do: 'pick', value: 'not-now' }, as: 'small' },
    ],
    act(_s, a) {
      if (a.do === 'next') return { call: 'lift' };
      return a.do === 'pick' && a.value === 'not-now' ? { end: 'blocked' } : undefined;
    },
  },
};

export function afterBlocked(done: Outcome, resume: string | undefined): Move<TaskData> {
  return done.how === 'lifted' ? { to: resume ?? gate } : { to: 'blocked' };
}

/** The events that mark this machine "do not run" and were not lifted since. */
export function standing(ctx: Ctx): readonly string[] {
  const lifted = new Set(ctx.events.filter((e) => e.type === 'lifted').map((e) => e.of));
  return ctx.events.filter((e) => e.type === 'do-not-run' && !lifted.has(e.id)).map((e) => e.id);
}
