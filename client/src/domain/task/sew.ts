/**
 * Sew and rate. Two lines, away and toward, are enough while they are alike; the star (eight directions, two circles) comes
 * when they differ, at a quilt's start, or on request. Nothing is tapped while the machine can stitch: each sewing step's
 * one button says that it was sewn and has stopped.
 */

import { tooAlike } from '../colour';
import { machineOf } from '../machine';
import { need } from './ask';
import type { Ctx } from './context';
import { main, notNow, pick, picked, small, tiles } from './offer';
import { place } from './place';
import type { Move, Offer, Step, Task, TaskState, Writer } from './task';
import { gate } from './way-in';

/** −2 bobbin colour stands up on top … 0 neither colour on the other face … +2 top colour stands up on the back. */
export const scores = ['-2', '-1', '0', '1', '2'] as const;
export type ScoreTile = (typeof scores)[number];
export const marks = ['both-faces', 'lifts', 'draws-in', 'cant-tell'] as const;
export type Mark = (typeof marks)[number];

export const lines = ['0', '180'] as const;
export const star = ['0', '45', '90', '135', '180', '225', '270', '315', 'circle-left', 'circle-right'] as const;

/** By touch, where both threads look the same. Pin and tug are states of the finding `firmness`. */
const touches = {
  finger: ['smooth', 'ridge-top', 'ridge-back', 'cant-tell'],
  pin: ['snug', 'slack_top', 'slack_back', 'slack_both', 'cant-tell'],
  tug: ['gives', 'snaps', 'gapes', 'cant-tell'],
} as const;
type TouchTest = keyof typeof touches;

type SewMode = 'regulated' | 'manual';
type Rated = { readonly score?: ScoreTile; readonly marks?: readonly Mark[] };

export type SewData = {
  readonly form?: 'lines' | 'star';
  readonly mode?: SewMode;
  readonly sewn?: readonly SewMode[]; // star modes done
  readonly rays?: { readonly [direction: string]: Rated };
  readonly all?: Rated; // what the rays that are not tapped have
  readonly touch?: { readonly [test in TouchTest]?: string };
  readonly sample?: string;
  readonly testColour?: true; // one of two threads alike was changed for the test
};
type S = TaskState<SewData>;

const directions = (s: S) => (s.data.form === 'star' ? star : lines);
const clear = { rays: undefined, all: undefined, touch: undefined } as const;

export const sew: Task<SewData> = {
  name: 'sew',
  caution: ['moving', 'still'],
  sews: true,
  first(s, ctx) {
    const asks = need(ctx, ['body', 'modes']);
    if (asks) return asks;
    const can = sewModes(ctx);
    const data = { mode: s.data.mode ?? can[0], form: s.data.form ?? 'lines', sewn: [] } as const;
    return { to: tooAlikeNow(ctx) && !s.data.testColour ? 'colours' : 'stitch', data };
  },
  /** From a question: look again what is needed. */
  returned: (s, o) => ({ to: o.task === 'ask' ? gate : s.step }),
  steps: {
    colours: {
      kind: 'choose',
      offers: () => [main, small('go-on'), notNow],
      act(_s, a) {
        if (a.do === 'next') return { to: 'stitch', data: { testColour: true } };
        if (picked(a, ['go-on'])) return { to: 'stitch' };
        return picked(a, ['not-now']) ? { end: 'not-now' } : undefined;
      },
    },
    stitch: {
      kind: 'tick',
      cautions: ['moving'],
      offers: (s) => [main, small(s.data.form === 'lines' ? 'star' : 'lines'), small('happened'), notNow],
      act(s, a) {
        if (a.do === 'next') return { to: 'rate', data: clear };
        const form = picked(a, ['star', 'lines'] as const);
        if (form) return { to: 'stitch', data: { form } };
        if (picked(a, ['happened'])) return { call: 'stop' };
        return picked(a, ['not-now']) ? { end: 'not-now', with: { form: s.data.form } } : undefined;
      },
    },
    rate: {
      kind: 'tiles',
      cautions: ['still'],
      offers: rateOffers,
      again: () => ({ to: 'rate', data: clear }),
      act(s, a, ctx, w) {
        if (a.do === 'next') return isRated(s) ? rated(s, ctx, w) : undefined;
        if (picked(a, ['same-colours'])) return { to: 'finger' };
        if (a.do !== 'pick' || a.of === undefined) return undefined;
        return rate(s, a.of, a.value, ctx, w);
      },
    },
    finger: touch('finger', 'pin'),
    pin: touch('pin', 'tug'),
    tug: touch('tug', undefined),
    differ: {
      kind: 'choose',
      offers: () => [main, notNow],
      act(s, a) {
        if (a.do === 'next') return { to: 'stitch', data: { ...clear, form: 'star' } };
        return picked(a, ['not-now']) ? sewn(s) : undefined;
      },
    },
    'other-mode': {
      kind: 'choose',
      offers: () => [main, notNow],
      act(s, a, ctx) {
        if (a.do === 'next') return { to: 'stitch', data: { ...clear, mode: modesLeft(s, ctx)[0] } };
        return picked(a, ['not-now']) ? sewn(s) : undefined;
      },
    },
  },
};

function rateOffers(s: S): readonly Offer[] {
  const row = (of: string, r: Rated | undefined) => [
    ...tiles(scores, of, r?.score),
    ...tiles(marks, of, r?.marks ?? []),
  ];
  return [
    ...row('all', s.data.all),
    ...directions(s).flatMap((d) => row(d, s.data.rays?.[d])),
    { action: pick('same-colours'), as: 'tile' },
    ...(isRated(s) ? [main] : []),
  ];
}

/** The star needs no tap at all: rays nobody taps are like "all", and that is balanced until said otherwise. */
function isRated(s: S): boolean {
  const answered = (r: Rated | undefined) => r?.score !== undefined || (r?.marks ?? []).length > 0;
  return s.data.form === 'star' || answered(s.data.all) || directions(s).every((d) => answered(s.data.rays?.[d]));
}

function rate(s: S, of: string, value: string, ctx: Ctx, w: Writer): Move<SewData> | undefined {
  const all = of === 'all';
  if (!all && !directions(s).some((d) => d === of)) return undefined;
  const score = scores.find((v) => v === value);
  const mark = marks.find((v) => v === value);
  if (!score && !mark) return undefined;
  const old: Rated = (all ? s.data.all : s.data.rays?.[of]) ?? {};
  const had = old.marks ?? [];
  const next: Rated = score
    ? { ...old, score: old.score === score ? undefined : score }
    : { ...old, marks: marks.filter((m) => (m === mark) !== had.includes(m)) };
  const data: Partial<SewData> = all ? { all: next } : { rays: { ...s.data.rays, [of]: next } };
  // "All alike" with a score, or that nothing can be told, says everything there is to say of two lines.
  if (all && s.data.form === 'lines' && (next.score !== undefined || mark === 'cant-tell'))
    return rated({ ...s, data: { ...s.data, all: next, rays: undefined } }, ctx, w);
  return { to: 'rate', data };
}

function rated(s: S, ctx: Ctx, w: Writer): Move<SewData> {
  const rays = directions(s).map((d) => {
    const r: Rated = { ...s.data.all, ...s.data.rays?.[d] };
    const direction = d.startsWith('circle') ? d : Number(d);
    return { direction, score: Number(r.score ?? '0'), ...(r.marks?.length ? { marks: r.marks } : {}) };
  });
  const allAlike = new Set(rays.map((r) => JSON.stringify([r.score, r.marks]))).size === 1;
  const mode = s.data.mode;
  const sample = w.put('sample', { machine: s.machine, mode, rays, allAlike, ...place(s) });
  const done: S = { ...s, data: { ...s.data, sample, sewn: mode ? [...(s.data.sewn ?? []), mode] : [] } };
  const data = { sample, sewn: done.data.sewn };
  if (s.data.form === 'lines') return allAlike ? sewn(done) : { to: 'differ', data };
  return modesLeft(done, ctx).length > 0 ? { to: 'other-mode', data } : sewn(done);
}

const sewn = (s: S): Move<SewData> => ({
  end: 'sewn',
  with: { sample: s.data.sample, testColour: s.data.testColour, wrote: true },
});

function touch(test: TouchTest, next: TouchTest | undefined): Step<SewData> {
  return {
    kind: 'tiles',
    cautions: ['still'],
    offers: () => tiles(touches[test]),
    act(s, a, ctx, w) {
      const felt = picked<string>(a, touches[test]);
      if (!felt) return undefined;
      const touch = { ...s.data.touch, [test]: felt };
      return next ? { to: next, data: { touch } } : byTouch({ ...s, data: { ...s.data, touch } }, ctx, w);
    },
  };
}

/**
 * What the fingertips say goes down as findings; the sample itself says that nothing could be told by eye. A ridge is a
 * wire or a row of bumps: either way the lock lies at that face.
 */
function byTouch(s: S, ctx: Ctx, w: Writer): Move<SewData> {
  const { finger, pin, tug } = s.data.touch ?? {};
  const note = (finding: string, state: string) =>
    w.put('finding', { machine: s.machine, finding, state, ...place(s) });
  if (finger === 'ridge-top') note('bobbin_on_top', 'pulled_up');
  if (finger === 'ridge-back') note('top_on_back', 'pulled_down');
  const unsure = pin === undefined || pin === 'snug' || pin === 'cant-tell';
  if (unsure && tug === 'snaps') note('firmness', 'puckered');
  else if (unsure && tug === 'gapes') note('firmness', 'slack_both');
  else if (pin && pin !== 'cant-tell') note('firmness', pin);
  return rated({ ...s, data: { ...s.data, rays: undefined, all: { marks: ['cant-tell'] } } }, ctx, w);
}

/** Ways of sewing that give a sample of their own on this machine. A hand-guided one without a regulator sews manual. */
function sewModes(ctx: Ctx): readonly SewMode[] {
  const has = machineOf(ctx)?.modes ?? [];
  const can = (['regulated', 'manual'] as const).filter((m) => has.includes(m));
  return can.length > 0 || has.length === 0 ? can : ['manual'];
}

const modesLeft = (s: S, ctx: Ctx) => sewModes(ctx).filter((m) => !s.data.sewn?.includes(m));

/** Whether the two threads on the bench would be hard to tell apart; unknown colours are not said to be. */
function tooAlikeNow(ctx: Ctx): boolean {
  const colour = (id: string | undefined) => ctx.threads.find((t) => t.id === id)?.colour;
  const [top, bobbin] = [colour(ctx.bench.topThread), colour(ctx.bench.bobbinThread)];
  const known = (c: string | undefined): c is string => c !== undefined && /^#[0-9a-f]{6}$/i.test(c);
  return known(top) && known(bobbin) && tooAlike(top, bobbin);
}
