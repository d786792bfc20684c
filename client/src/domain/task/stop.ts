/**
 * Something happened. Power off first; then the looks of `stopChecks`, one a step, in order. One bad answer marks the machine
 * "do not run" on every phone until somebody lifts it with a reason. A dropped bobbin case stops nothing, but where its
 * screw stands is not known until three drops agree with its record.
 */
import { fitting } from '../bench';
import { need } from './ask';
import type { Ctx } from './context';
import { dropsAlike } from './drop-verdict';
import { bobbinScrew, write } from './ledger';
import { main, notNow, picked, small, tile, tiles } from './offer';
import { newNeedle, place } from './place';
import { type Happening, happenings, type StopCheck, type StopCheckName, stopChecks, stopPaths } from './stop-checks';
import type { Move, Step, Task, TaskState, Writer } from './task';
import { gate } from './way-in';

export type StopData = {
  readonly happened?: Happening;
  readonly event?: string; // the record of what happened
  readonly bobbinCase?: string; // dropped
  readonly lost?: string; // the ledger record that says its count is in doubt
  readonly reason?: string; // check and answer that were bad
  readonly stoodAt?: string;
};
type S = TaskState<StopData>;
type M = Move<StopData>;

/** Two jams within this time are the technician's (common practice: two jams in one day). */
const twiceMs = 24 * 3_600_000;

export const stop: Task<StopData> = {
  name: 'stop',
  first(s, ctx, w) {
    if (!s.data.happened) return { to: 'what' };
    return s.data.happened === 'dropped'
      ? (need(ctx, ['bobbin-case']) ?? fell(s, ctx, w))
      : { to: 'power-off', data: noted(s, w) };
  },
  returned(s, o, ctx, w) {
    if (s.step === gate) return fell(s, ctx, w);
    if (o.task !== 'drop-test' || typeof o.data.reading !== 'string') return { to: s.step };
    return dropsAlike(ctx, o.data.reading) ? proven(s, w) : { to: 'other-case', data: { reason: 'drops' } };
  },
  steps: {
    what: {
      kind: 'choose',
      cautions: ['still'],
      offers: () => [...tiles(happenings), notNow],
      act(s, a, ctx, w) {
        const happened = picked(a, happenings);
        if (!happened) return picked(a, ['not-now']) ? { end: 'nothing' } : undefined;
        const here: S = { ...s, data: { ...s.data, happened } };
        if (happened !== 'dropped') return { to: 'power-off', data: { happened, ...noted(here, w) } };
        const asks = need(ctx, ['bobbin-case']);
        return asks ? { ...asks, data: { happened } } : fell(here, ctx, w);
      },
    },
    'power-off': {
      kind: 'tick',
      cautions: ['moving', 'manual'],
      offers: () => [main, small('cant')],
      act(s, a, ctx, w) {
        if (picked(a, ['cant'])) return marked(s, 'power-off cant', w);
        if (a.do !== 'next') return undefined;
        const h = s.data.happened ?? 'struck';
        const twice = h === 'jam' && ctx.events.filter((e) => e.type === 'jam' && e.at > ctx.now - twiceMs).length > 1;
        return stopPaths[h].length === 0 || twice
          ? marked(s, twice ? 'jam twice' : h, w)
          : { to: stopPaths[h][0] ?? 'technician' };
      },
    },
    ...Object.fromEntries(
      (Object.keys(stopChecks) as StopCheckName[]).map((name) => [name, check(name, stopChecks[name])]),
    ),
    drops: {
      kind: 'tick',
      cautions: ['floor'],
      offers: () => [main, notNow],
      act(s, a) {
        if (a.do === 'next') return { call: 'drop-test', with: { measure: true } };
        return picked(a, ['not-now']) ? lostEnd(s) : undefined;
      },
    },
    'other-case': {
      kind: 'choose',
      cautions: ['floor'],
      offers: (s, ctx) => [...others(s, ctx).map((c) => tile(c.id)), notNow],
      act(s, a, ctx, w) {
        const id = picked(
          a,
          others(s, ctx).map((c) => c.id),
        );
        if (id) w.put('bench', { bobbinCase: id }, s.machine);
        return id || picked(a, ['not-now']) ? lostEnd(s) : undefined;
      },
    },
    unfinished: {
      kind: 'choose',
      cautions: ['technician'],
      offers: () => [main, small('mark')],
      act(s, a, _ctx, w) {
        if (a.do === 'next') return { to: s.data.stoodAt ?? 'power-off' };
        return picked(a, ['mark']) && marked(s, 'checks not finished', w);
      },
    },
    technician: {
      kind: 'result',
      cautions: ['technician', 'manual'],
      offers: () => [main],
      act: (s, a) =>
        a.do === 'next' ? { end: 'do-not-run', with: { reason: s.data.reason, wrote: true } } : undefined,
    },
    clear: {
      kind: 'result',
      cautions: ['manual'],
      offers: () => [main],
      act: (s, a) => (a.do === 'next' ? { end: 'clear', with: { happened: s.data.happened, wrote: true } } : undefined),
    },
  },
};

function noted(s: S, w: Writer): Partial<StopData> {
  return { event: w.put('event', { machine: s.machine, type: s.data.happened ?? 'struck', ...place(s) }) };
}

/** The bobbin case fell. Its count is held as lost from now on, and given back when the drops prove it. */
function fell(s: S, ctx: Ctx, w: Writer): M {
  const bobbinCase = ctx.bench.bobbinCase;
  const event = w.put('event', { machine: s.machine, type: 'dropped', bobbinCase, ...place(s) });
  const lost = bobbinCase ? write(w, bobbinScrew(bobbinCase), { type: 'lost', why: 'dropped' }, s) : undefined;
  return { to: 'dent', data: { happened: 'dropped', event, bobbinCase, lost } };
}

function marked(s: S, reason: string, w: Writer): M {
  w.put('event', {
    machine: s.machine,
    type: 'do-not-run',
    reason,
    of: s.data.event,
    ...place(s),
  });
  return { to: 'technician', data: { reason } };
}

function check(name: StopCheckName, c: StopCheck): Step<StopData> {
  const [only, ...more] = c.states;
  const act = more.length === 0 ? only : undefined;
  return {
    kind: act ? 'tick' : 'tiles',
    cautions: c.sews
      ? ['moving', 'eyes']
      : name === 'pieces' || name === 'needle'
        ? ['still', 'pieces', 'eyes']
        : ['still', 'needle'],
    offers: () => [...(act ? [main] : tiles(c.states)), notNow],
    act(s, a, ctx, w) {
      if (picked(a, ['not-now'])) return { to: 'unfinished', data: { stoodAt: name } };
      const state = act ? (a.do === 'next' ? act : undefined) : picked(a, c.states);
      if (!state) return undefined;
      if (c.finding) w.put('finding', { machine: s.machine, finding: c.finding, state, ...place(s) });
      if (state === 'new-needle') newNeedle(s, ctx.now, w);
      const fall = s.data.happened === 'dropped';
      if (c.bad.includes(state))
        return fall ? { to: 'other-case', data: { reason: `${name} ${state}` } } : marked(s, `${name} ${state}`, w);
      const path = stopPaths[s.data.happened ?? 'struck'];
      const next = path[path.indexOf(name) + 1];
      if (next) return { to: next };
      if (fall) return { to: 'drops' };
      w.put('event', {
        machine: s.machine,
        type: 'step',
        step: 'checked',
        of: s.data.event,
        ...place(s),
      });
      return { to: 'clear' };
    },
  };
}

/** Three drops as on its record: the count stands. */
function proven(s: S, w: Writer): M {
  if (s.data.lost && s.data.bobbinCase)
    write(w, bobbinScrew(s.data.bobbinCase), { type: 'strike', strikes: s.data.lost });
  return { to: 'clear' };
}

const lostEnd = (s: S): M => ({ end: 'count-lost', with: { bobbinCase: s.data.bobbinCase, wrote: true } });

const others = (s: S, ctx: Ctx) => fitting(ctx).filter((c) => c.id !== s.data.bobbinCase);
