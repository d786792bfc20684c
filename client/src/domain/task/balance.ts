/**
 * A balancing: get ready, bobbin first, top feel, sew two lines, next step, round again, until it is good enough, left for now or
 * a technician's. Each round's records carry the balancing and the round.
 */

import { cureOf } from '../cures';
import type { Findings } from '../diagnosis';
import { findingStates } from '../knowledge/findings';
import type { Ctx } from './context';
import { isBobbin } from './ledger';
import { factsOf } from './next-facts';
import { type Advice, nextThree, suspectsNow } from './next-step';
import { turningByFeel } from './next-turn';
import { main, notNow, picked, small, tile, tiles } from './offer';
import { newNeedle, place } from './place';
import { curedOtherwise, putBack } from './put-back';
import { recipeName, recipeNow } from './recipe-now';
import type { Suspect } from './suspects';
import type { Move, Outcome, Step, Task, TaskState, Writer } from './task';
import { nameLimit, taken, writes } from './typed';

export const works = ['show', 'custom', 'edge-to-edge', 'practice'] as const;
type Work = (typeof works)[number];

/** Get ready: what is looked at, as a finding and its states, normal first. */
const ready = {
  'ready-card': { finding: 'card_spring', states: findingStates.card_spring, next: 'ready-bobbin' },
  'ready-bobbin': { finding: 'bobbin_way', states: findingStates.bobbin_way, next: 'ready-path' },
  'ready-path': { finding: 'threading_walk', states: findingStates.threading_walk, next: 'drop' },
} as const;

export type BalanceData = {
  readonly advice?: Advice;
  readonly others?: readonly Advice[]; // that stand beside it
  readonly suspects?: readonly Suspect[]; // the likeliest causes, for "why" and "why not"
  readonly model?: number; // version of the tables that the advice is from
  readonly inQuilt?: true; // this quilt was good before
  readonly skipped?: readonly string[]; // checks and acts answered with "not now" in this balancing
  readonly felt?: true; // the top was felt once
  readonly testColour?: true; // the lines were sewn with a thread that the quilt will not have
  readonly star?: true; // a quilt's start: the whole star first
  readonly work?: Work;
  readonly text?: string; // the recipe's name
  readonly recipe?: string;
  readonly told?: Findings; // what was named and looked at before it began
  readonly stoodAt?: string;
};
type S = TaskState<BalanceData>;
type M = Move<BalanceData>;

export const balance: Task<BalanceData> = {
  name: 'balance',
  caution: ['still', 'needle', 'moving', 'manual'],
  sews: true,
  first(s, ctx, w) {
    const quilt = ctx.bench.quilt;
    const fresh = quilt !== undefined && !ctx.balancings.some((b) => b.quilt === quilt);
    const balancing = w.put('balancing', { machine: s.machine, quilt });
    // What was told on the way here is not asked again.
    for (const [finding, state] of Object.entries(s.data.told ?? {}))
      w.put('finding', { machine: s.machine, finding, state, balancing, round: 1 });
    const work = works.find((v) => v === ctx.quilts.find((q) => q.id === quilt)?.work);
    return {
      to: 'ready-card',
      data: { work, star: fresh || undefined, told: undefined },
      place: { balancing, round: 1 },
    };
  },
  returned: (s, o, ctx, w) => back(s, o, ctx, w),
  steps: {
    'ready-card': readyStep('ready-card'),
    'ready-bobbin': readyStep('ready-bobbin'),
    'ready-path': readyStep('ready-path'),
    drop: rest(
      'drop',
      () => ({ call: 'drop-test' }),
      (s) => top(s),
    ),
    top: rest(
      'feel',
      (s) => top(s, true),
      (s) => sewNow(s),
    ),
    sew: rest(
      'sew',
      (s) => sewNow(s),
      () => ({ to: 'next' }),
    ),
    next: {
      kind: 'result',
      cautions: ['one-change'],
      enter: (s, ctx) => weighed(s, ctx),
      offers: (s) => [
        ...(s.data.advice ? [main] : []),
        ...(s.data.others ?? []).map((_, i) => tile(String(i), 'or')),
        ...(s.data.suspects?.length ? [small('why')] : []),
        ...['see', 'turn', 'star', 'good-enough', 'left', 'technician'].map((v) => small(v)),
        ...(s.data.inQuilt ? [small('how-far-back')] : []),
      ],
      act(s, a, ctx, w) {
        if (a.do === 'next') return s.data.advice && follow(s, s.data.advice, ctx);
        const others = s.data.others ?? [];
        const other =
          others[
            Number(
              picked(
                a,
                others.map((_, i) => String(i)),
                'or',
              ) ?? -1,
            )
          ];
        if (other) return instead(s, other, ctx);
        if (picked(a, ['why']) && s.data.suspects?.length) return { to: 'why' };
        if (picked(a, ['how-far-back']) && s.data.inQuilt) return { to: 'how-far-back' };
        switch (picked(a, ['see', 'turn', 'star', 'good-enough', 'left', 'technician'] as const)) {
          case 'see':
            return { call: 'see' };
          case 'turn':
            return { call: 'change-screw', with: { door: 'about' } };
          case 'star':
            return { call: 'sew', at: 'sew', with: { form: 'star', testColour: s.data.testColour } };
          case 'good-enough':
            return enough(s, ctx);
          case 'technician':
            return { to: 'technician' };
          case 'left':
            w.put('balancing', { ended: 'left' }, s.balancing);
            return { end: 'left', with: { balancing: s.balancing } };
          default:
            return undefined;
        }
      },
    },
    why: {
      kind: 'result',
      offers: () => [main],
      act: (_s, a) => (a.do === 'next' ? { to: 'next' } : undefined),
    },
    'how-far-back': {
      kind: 'result',
      cautions: ['still', 'moving'],
      offers: () => [main],
      act: (_s, a) => (a.do === 'next' ? { to: 'next' } : undefined),
    },
    check: {
      kind: 'tiles',
      cautions: ['still'],
      offers: (s) => [...tiles(checkOf(s)?.states ?? []), ...tiles(['cant-tell']), notNow],
      act(s, a, _ctx, w) {
        const advice = checkOf(s);
        if (!advice) return { to: 'next' };
        const state = picked(a, advice.states);
        if (!state) return picked(a, ['cant-tell', 'not-now']) && skip(s, advice.finding);
        w.put('finding', { machine: s.machine, finding: advice.finding, state, ...advised(s), ...place(s) });
        return advice.mends && state !== advice.states[0] ? sewNow(s, s.round + 1) : { to: 'next' };
      },
    },
    act: {
      kind: 'tick',
      cautions: ['still', 'needle'],
      offers: () => [main, notNow],
      act(s, a, ctx, w) {
        const advice = s.data.advice;
        if (advice?.do !== 'act') return { to: 'next' };
        if (a.do !== 'next') return picked(a, ['not-now']) && skip(s, advice.action);
        const event = advice.event ? { type: advice.event } : { type: 'step', step: advice.action };
        if (advice.event === 'new-needle') newNeedle(s, ctx.now, w);
        else w.put('event', { machine: s.machine, ...event, ...advised(s), ...place(s) });
        return sewNow(s, s.round + 1);
      },
    },
    technician: {
      kind: 'choose',
      cautions: ['technician', 'manual'],
      offers: () => [main, small('mark'), small('go-on')],
      act(s, a, _ctx, w) {
        if (picked(a, ['go-on'])) return { to: 'next' };
        const mark = picked(a, ['mark']);
        if (a.do !== 'next' && !mark) return undefined;
        if (mark) w.put('event', { machine: s.machine, type: 'do-not-run', reason: 'technician', ...place(s) });
        return ended(s, 'technician', w);
      },
    },
    work: {
      kind: 'choose',
      offers: () => tiles(works),
      act(s, a, ctx) {
        const work = picked(a, works);
        return work && enough({ ...s, data: { ...s.data, work } }, ctx);
      },
    },
    'put-back': {
      kind: 'choose',
      cautions: ['still', 'one-change'],
      offers: () => [main, notNow],
      act(s, a, ctx) {
        const move = curedOtherwise(ctx, s.balancing ?? '');
        if (picked(a, ['not-now']) || !move) return { to: pairOrKeep(s) };
        return a.do === 'next'
          ? {
              call: 'change-screw',
              with: { door: 'about', ...move, why: putBack, goneOn: true },
            }
          : undefined;
      },
    },
    pair: {
      kind: 'tick',
      cautions: ['moving'],
      offers: () => [main, notNow],
      act(_s, a) {
        if (a.do === 'next') return { to: 'pair-look' };
        return picked(a, ['not-now']) ? { to: 'keep' } : undefined;
      },
    },
    'pair-look': {
      kind: 'choose',
      cautions: ['still'],
      offers: () => [main, small('not-good')],
      act(s, a) {
        if (picked(a, ['not-good']))
          return sewNow(s.data.advice?.do === 'good' ? without(s, 'accept') : s, s.round + 1);
        return a.do === 'next' ? { to: 'keep' } : undefined;
      },
    },
    keep: {
      kind: 'text',
      enter: (s, ctx) => ({ text: s.data.text ?? recipeName(ctx) }),
      offers: (s) => [writes(s.data.text ?? ''), ...(taken(s.data.text, nameLimit) ? [main] : []), notNow],
      act(s, a, ctx, w) {
        if (a.do === 'type') return { to: 'keep', data: { text: a.text } };
        if (picked(a, ['not-now'])) return ended(s, 'good-enough', w);
        const name = a.do === 'next' ? taken(s.data.text, nameLimit) : undefined;
        if (!name) return undefined;
        return ended(s, 'good-enough', w, w.put('recipe', { name, work: s.data.work, ...recipeNow(ctx) }));
      },
    },
  },
};

function readyStep(name: keyof typeof ready): Step<BalanceData> {
  const { finding, states, next } = ready[name];
  return {
    kind: 'tiles',
    cautions: ['still', 'screw'],
    offers: () => [...tiles(states), notNow],
    act(s, a, _ctx, w) {
      const state = picked<string>(a, states);
      if (state) w.put('finding', { machine: s.machine, finding, state, ...place(s) });
      if (!state && !picked(a, ['not-now'])) return undefined;
      return next === 'drop' ? { call: 'drop-test', at: 'drop' } : { to: next };
    },
  };
}

/** A place to stand between two tasks: do it, or not now and on. */
function rest(name: 'drop' | 'feel' | 'sew', go: (s: S) => M, on: (s: S) => M): Step<BalanceData> {
  return {
    kind: 'tick',
    cautions: ['still'],
    offers: () => [main, notNow],
    act(s, a) {
      if (a.do === 'next') return go(s);
      if (!picked(a, ['not-now'])) return undefined;
      const move = on(without(s, name));
      return 'end' in move ? move : { ...move, data: { skipped: without(s, name).data.skipped, ...move.data } };
    },
  };
}

/** The top is felt once in a balancing, and again when asked for. */
const top = (s: S, asked = false): M =>
  s.data.felt && !asked ? sewNow(s) : { call: 'top-feel', at: 'top', data: { skipped: s.data.skipped } };

const sewNow = (s: S, round = s.round): M => ({
  call: 'sew',
  at: 'sew',
  with: { ...(s.data.star ? { form: 'star' } : {}), testColour: s.data.testColour },
  data: { star: undefined, skipped: (s.data.skipped ?? []).filter((x) => x !== 'sew') },
  place: { balancing: s.balancing, round },
});

/** The same state with one thing more that was answered "not now". */
const without = (s: S, what: string): S => ({ ...s, data: { ...s.data, skipped: [...(s.data.skipped ?? []), what] } });

function back(s: S, o: Outcome, ctx: Ctx, _w: Writer): M {
  switch (o.task) {
    case 'drop-test':
      if (o.how === 'unfinished') return { to: 'drop' };
      if (o.how === 'technician') return { to: 'technician' };
      return top(o.how === 'not-now' ? without(s, 'drop') : s);
    case 'top-feel':
      return o.how === 'felt' ? (byFeel(s, ctx) ?? felt(s)) : felt(without(s, 'feel'));
    case 'change-screw':
      return turned(s, o, ctx);
    case 'stop':
      return o.how === 'do-not-run' ? { to: 'technician' } : { to: 'next' };
    case 'see':
      return o.how === 'first-five' ? sewNow(s, s.round + 1) : { to: 'next' };
    case 'sew':
      if (o.how === 'not-now') return skip(s, o.data.form === 'star' ? 'star' : 'sew');
      if (o.how === 'blocked') return { to: 'sew' };
      return { to: 'next', data: { testColour: o.data.testColour === true || s.data.testColour || undefined } };
    default:
      return { to: s.step };
  }
}

/** On to the lines, and not to the top again by itself. */
function felt(s: S): M {
  const move = sewNow(s);
  return 'data' in move ? { ...move, data: { ...move.data, felt: true } } : move;
}

/** Plainly off before anything was sewn: what to do about it comes first. */
function byFeel(s: S, ctx: Ctx): M | undefined {
  const place = { balancing: s.balancing ?? '', round: s.round };
  return turningByFeel(factsOf(ctx, place, s.data.skipped ?? [])) && { to: 'next', data: { felt: true } };
}

/** After a screw: the bobbin is dropped again before anything is sewn; the top is sewn at once, or felt again where it was turned by feel. */
function turned(s: S, o: Outcome, ctx: Ctx): M {
  if (o.how === 'test-first') return sewNow(s);
  if (o.how !== 'written' && o.how !== 'neutral') return { to: 'next' };
  const bobbin = typeof o.data.screw === 'string' && isBobbin(o.data.screw);
  if (bobbin) return { call: 'drop-test', at: 'drop', place: { balancing: s.balancing, round: s.round + 1 } };
  const sewn = ctx.samples.some((x) => x.balancing === s.balancing);
  const feels = s.data.advice?.do === 'turn' && s.data.advice.why === 'by-feel';
  return feels && !sewn ? { call: 'top-feel', at: 'top', with: { looked: true } } : sewNow(s, s.round + 1);
}

function follow(s: S, advice: Advice, ctx: Ctx): M {
  switch (advice.do) {
    case 'turn':
      return {
        call: 'change-screw',
        with: { door: 'about', screw: advice.screw, minutes: advice.minutes, ...advised(s) },
      };
    case 'neutral':
      return { call: 'change-screw', with: { door: 'neutral', screw: advice.screw } };
    case 'check':
    case 'act':
      return { to: advice.do };
    case 'drop':
      return { call: 'drop-test', at: 'drop' };
    case 'feel':
      return { call: 'top-feel', at: 'top' };
    case 'sew':
      return sewNow(s);
    case 'star':
      return { call: 'sew', at: 'sew', with: { form: 'star', testColour: s.data.testColour } };
    case 'see':
      return { call: 'see' };
    case 'stop':
      return { call: 'stop', with: { happened: advice.happened } };
    case 'technician':
      return { to: 'technician' };
    case 'good':
      return enough(s, ctx);
  }
}

/** What to do next, what else, and why: worked out on the way in, so that what was shown is what is acted on. */
function weighed(s: S, ctx: Ctx): Partial<BalanceData> {
  const place = { balancing: s.balancing ?? '', round: s.round };
  const [advice, ...others] = nextThree(ctx, place, s.data.skipped ?? []);
  const { model, suspects } = suspectsNow(ctx, place);
  const inQuilt = factsOf(ctx, place, []).midQuilt || undefined;
  return { advice, others, suspects: advice?.do === 'stop' ? [] : suspects, model, inQuilt };
}

/** Another advice than the first: from here on it is the advice. */
function instead(s: S, other: Advice, ctx: Ctx): M {
  const move = follow({ ...s, data: { ...s.data, advice: other } }, other, ctx);
  return 'end' in move ? move : { ...move, data: { ...move.data, advice: other } };
}

/** Kept with what was done about an advice. */
const advised = ({ data }: S) => ({ why: data.advice?.why, about: data.advice?.about, model: data.model });

const checkOf = (s: S) => (s.data.advice?.do === 'check' ? s.data.advice : undefined);
const skip = (s: S, what: string): M => ({ to: 'next', data: without(s, what).data });

/** Sewn with a test colour, and the real pair comes before the recipe; else it was sewn already. */
const pairOrKeep = (s: S) => (s.data.testColour ? 'pair' : 'keep');

/** Good enough for which work; what a needle, lint or the path cured is put back first; then the real pair, and the recipe. */
function enough(s: S, ctx: Ctx): M {
  const { work } = s.data;
  if (!work) return { to: 'work' };
  return { to: curedOtherwise(ctx, s.balancing ?? '') ? 'put-back' : pairOrKeep(s), data: { work } };
}

function ended(s: S, how: 'good-enough' | 'technician', w: Writer, recipe?: string): M {
  if (how === 'good-enough') {
    const { bobbinCase } = w.ctx().bench;
    w.put('event', { machine: s.machine, type: 'good', bobbinCase, ...place(s) });
  }
  const work = how === 'good-enough' ? s.data.work : undefined;
  const cured = how === 'good-enough' ? cureOf(w.ctx(), s.balancing ?? '') : undefined;
  w.put('balancing', { ended: how, work, kept: recipe, cured }, s.balancing);
  return { end: how, with: { balancing: s.balancing, recipe, wrote: true } };
}
