/**
 * One question about the machine, asked just before the first act that needs the answer. Each can be skipped; the answer
 * stands on the machine's page. Which way a screw tightens is tried out, once per screw: a small move, a pull, back.
 */
import { caseOf, fitting } from '../bench';
import { machineOf, turns } from '../machine';
import type { Ctx } from './context';
import { bobbinScrew, isBobbin, screwCautions, topScrew, write } from './ledger';
import { main, notNow, picked, small, tile, tiles } from './offer';
import type { Action, Move, Step, Task, TaskState, Writer } from './task';
import { nameLimit, taken, writes } from './typed';

export const questions = ['body', 'top-knob', 'modes', 'bobbin-case', 'tightens'] as const;
export type Question = (typeof questions)[number];
export const bodies = ['frame', 'sit-down'] as const;
const topKnobs = ['turns', 'dial', 'screen'] as const;
export const modes = ['hand-guided', 'regulated', 'manual', 'computer'] as const;
type Mode = (typeof modes)[number];

export type AskData = {
  readonly question?: Question;
  readonly screw?: string; // which one, for 'tightens'
  readonly anew?: true; // asked for by the person, whatever is known
  readonly modes?: readonly Mode[];
  readonly text?: string; // a new bobbin case's label
  readonly feel?: 'tighter' | 'looser' | 'cant-tell';
  readonly lost?: string; // the ledger record that holds the position open while the screw is off its place
};
type S = TaskState<AskData>;

/** How far the trial turns: the normal step of that screw, in clock-minutes. */
const trialMinutes = (screw: string) => (isBobbin(screw) ? 5 : 30);

/** Whether the answer is known already. */
export function known(question: Question, ctx: Ctx, screw?: string): boolean {
  const machine = machineOf(ctx);
  switch (question) {
    case 'body':
      return machine?.body !== undefined;
    case 'top-knob':
      return machine?.topKnob !== undefined;
    case 'modes':
      return (machine?.modes ?? []).length > 0;
    case 'bobbin-case':
      return caseOf(ctx) !== undefined;
    case 'tightens':
      if (screw === undefined || screw === topScrew(ctx.machine)) return machine?.topTightens !== undefined;
      return ctx.bobbinCases.find((c) => bobbinScrew(c.id) === screw)?.tightens !== undefined;
  }
}

/** A skipped question is not asked again for this long (12 h: our choice, a day at the frame). */
const skipMs = 12 * 3_600_000;
const skipStep = (q: Question, screw?: string) => (screw ? `skipped ${q} ${screw}` : `skipped ${q}`);

/** The move that asks the first of these questions that is neither known nor lately skipped. */
export function need(ctx: Ctx, qs: readonly Question[], screw?: string) {
  const question = qs.find(
    (q) => !known(q, ctx, screw) && !ctx.events.some((e) => e.step === skipStep(q, screw) && e.at > ctx.now - skipMs),
  );
  return question && ({ call: 'ask', with: { question, screw } } as const);
}

function choice(field: 'body' | 'topKnob', values: readonly string[]): Step<AskData> {
  return {
    kind: 'choose',
    offers: () => [...tiles(values), notNow],
    act(s, a, _ctx, w) {
      const value = picked(a, values);
      if (value) w.put('machine', { [field]: value }, s.machine);
      return value ? answered : skipped(s, a, w);
    },
  };
}

const answered: Move<AskData> = { end: 'answered', with: { wrote: true } };

function skipped(s: S, a: Action, w: Writer): Move<AskData> | undefined {
  return picked(a, ['not-now']) && skip(s, w);
}

function skip(s: S, w: Writer): Move<AskData> {
  w.put('event', { machine: s.machine, type: 'step', step: skipStep(s.data.question ?? 'body', s.data.screw) });
  return { end: 'skipped', with: { wrote: true } };
}

export const ask: Task<AskData> = {
  name: 'ask',
  first: (s, ctx) => {
    const q = s.data.question ?? 'body';
    return known(q, ctx, s.data.screw) && !s.data.anew ? { end: 'answered' } : { to: q };
  },
  steps: {
    body: choice('body', bodies),
    'top-knob': choice('topKnob', topKnobs),
    modes: {
      kind: 'choose',
      offers: (s) => [...tiles(modes, undefined, s.data.modes ?? []), ...(s.data.modes?.length ? [main] : []), notNow],
      act(s, a, _ctx, w) {
        const chosen = s.data.modes ?? [];
        const mode = picked(a, modes);
        if (mode) return { to: s.step, data: { modes: modes.filter((m) => (m === mode) !== chosen.includes(m)) } };
        if (a.do !== 'next' || chosen.length === 0) return skipped(s, a, w);
        w.put('machine', { modes: chosen }, s.machine);
        return answered;
      },
    },
    'bobbin-case': {
      kind: 'choose',
      offers: (s, ctx) => [
        ...fitting(ctx).map((c) => tile(c.id)),
        writes(s.data.text ?? ''),
        ...(taken(s.data.text, nameLimit) ? [main] : []),
        notNow,
      ],
      act(s, a, ctx, w) {
        if (a.do === 'type') return { to: s.step, data: { text: a.text } };
        const label = a.do === 'next' ? taken(s.data.text, nameLimit) : undefined;
        const id = label
          ? w.put('bobbinCase', { label, fits: [s.machine] })
          : picked(
              a,
              fitting(ctx).map((c) => c.id),
            );
        if (id) w.put('bench', { bobbinCase: id }, s.machine);
        return id ? answered : skipped(s, a, w);
      },
    },
    tightens: {
      kind: 'tick',
      cautions: (s) => screwCautions(s.data.screw),
      offers: () => [main, notNow],
      act(s, a, ctx, w) {
        if (a.do !== 'next') return skipped(s, a, w);
        // Until it is turned back nobody knows where the screw stands, also if this is never finished.
        const screw = screwOf(s, ctx);
        const lost = turns(screw, ctx) ? write(w, screw, { type: 'lost', why: 'which way tightens' }) : undefined;
        return { to: 'tightens-feel', data: { lost } };
      },
    },
    'tightens-feel': {
      kind: 'tiles',
      cautions: ['still'],
      offers: () => tiles(['tighter', 'looser', 'cant-tell']),
      act(_s, a) {
        const feel = picked(a, ['tighter', 'looser', 'cant-tell'] as const);
        return feel && { to: 'tightens-back', data: { feel } };
      },
    },
    'tightens-back': {
      kind: 'tick',
      cautions: (s) => screwCautions(s.data.screw),
      offers: (s, ctx) => [main, ...(turns(screwOf(s, ctx), ctx) ? [small('left-there'), small('not-sure')] : [])],
      act(s, a, ctx, w) {
        const left = turns(screwOf(s, ctx), ctx) ? picked(a, ['left-there', 'not-sure'] as const) : undefined;
        if (a.do !== 'next' && !left) return undefined;
        return tried(s, left, ctx, w);
      },
    },
  },
};

/** Stores which way tightens, and sets the ledger right: struck when turned back, a move when left there. */
function tried(s: S, left: 'left-there' | 'not-sure' | undefined, ctx: Ctx, w: Writer): Move<AskData> {
  const screw = screwOf(s, ctx);
  const { feel, lost } = s.data;
  const sign = feel === 'tighter' ? 1 : feel === 'looser' ? -1 : 0;
  if (lost && (!left || (left === 'left-there' && sign !== 0))) write(w, screw, { type: 'strike', strikes: lost });
  if (left === 'left-there' && sign !== 0) write(w, screw, { type: 'move', minutes: sign * trialMinutes(screw) }, s);
  if (sign === 0) return skip(s, w);
  const way = sign > 0 ? 'clockwise' : 'counter';
  if (isBobbin(screw)) w.put('bobbinCase', { tightens: way }, screw.slice('bobbin:'.length));
  else w.put('machine', { topTightens: way }, s.machine);
  return answered;
}

const screwOf = (s: S, ctx: Ctx) => s.data.screw ?? topScrew(ctx.machine);
