/**
 * "What do you see?": something happened, or it just looks wrong, or by visible features in any order. Two answers to a question
 * may stand, every question can be skipped, no symptom is dropped by one miss. What was named leads to the cheapest check, and
 * a check that finds nothing to the next suspicion, until something is to be done; inside another task that one goes on itself.
 */

import { mending, statesOf } from './gates';
import { main, notNow, picked, small, tile, tiles } from './offer';
import { newNeedle, place } from './place';
import { happenings } from './stop-checks';
import { lookFor, type Onward, onward } from './suspects';
import { type Answers, bestQuestion, type FeatureId, matches, questions, type Symptom, symptoms } from './symptoms';
import type { Action, Move, Offer, Task, TaskState, Writer } from './task';
import { standing } from './way-in';

/** The first question. "same-colours" turns the rest to finger, pin and tug. */
const firstLooks = ['top', 'back', 'same-colours'] as const;
type FirstLook = (typeof firstLooks)[number];
const noAnswer = ['cant-tell', 'none'] as const;

export type SeeData = {
  readonly look?: FirstLook;
  readonly answers?: Answers;
  readonly corrects?: string; // a path that was named something else: it is named again from the same answers
  readonly path?: string; // the record that the path will be kept as; photos of the stitch name it
  readonly open?: string; // the question on screen
  readonly shown?: readonly string[]; // questions that were on screen, so that one passed over is not asked again
  readonly compare?: readonly string[]; // one or two sides: symptom numbers, or the person's own photo
  readonly whyNot?: string;
  readonly named?: string;
  readonly check?: string; // the look that it ends in, as a finding
  readonly about?: readonly string[]; // causes that this look tells apart
  readonly found?: { readonly [finding: string]: string }; // what the name means and what the looks after it showed
  readonly tried?: readonly string[]; // acts done in vain
  readonly passed?: readonly string[]; // looks that could not be told
  readonly todo?: Onward; // what to do, worked out on the way to it
};
type S = TaskState<SeeData>;
type M = Move<SeeData>;

export const see: Task<SeeData> = {
  name: 'see',
  caution: ['still'],
  first: (s, _ctx, w) => ({ to: s.data.corrects ? 'result' : 'start', data: { path: s.data.path ?? w.fresh() } }),
  returned(s, o) {
    if (o.task === 'stop')
      return o.how === 'nothing' ? { to: 'start' } : { end: 'happened', with: { ...o.data, how: o.how } };
    if (o.task === 'balance') return named(s);
    return o.task === 'first-five' ? { end: 'first-five', with: { wrote: true } } : { to: s.step };
  },
  steps: {
    start: {
      kind: 'choose',
      offers: () => [...tiles(['happened', 'looks-wrong']), ...tiles(firstLooks), ...tiles(['cant-tell']), notNow],
      act(s, a) {
        if (picked(a, ['happened'])) return { to: 'happened' };
        if (picked(a, ['looks-wrong'])) return { call: 'first-five' };
        const look = picked(a, firstLooks);
        if (look || picked(a, ['cant-tell'])) return ask({ ...s, data: { ...s.data, look } }, questions(look)[0]?.id);
        return picked(a, ['not-now']) ? { end: 'not-now' } : undefined;
      },
    },
    happened: {
      kind: 'choose',
      cautions: ['still', 'moving'],
      offers: () => [...tiles(happenings), ...tiles(['none'])],
      act(_s, a) {
        const happened = picked(a, happenings);
        if (happened) return { call: 'stop', with: { happened } };
        return picked(a, ['none']) ? { to: 'start' } : undefined;
      },
    },
    features: {
      kind: 'tiles',
      cautions: ['still'],
      offers: featureOffers,
      act(s, a) {
        const asked = questions(s.data.look);
        if (a.do === 'next') return ask(s, nextQuestion(s.data));
        if (picked(a, ['show'])) return { to: 'result' };
        const open = picked(
          a,
          asked.map((f) => f.id),
          'open',
        );
        return open ? ask(s, open) : answered(s, a);
      },
    },
    result: {
      kind: 'result',
      offers(s) {
        const best = matches(answersOf(s));
        return [
          ...best.map((m) => tile(m.symptom)),
          ...tiles(['none']),
          ...best.flatMap((m) => [
            { ...small(m.symptom, 'compare'), on: s.data.compare?.includes(m.symptom) ?? false },
            small(m.symptom, 'why-not'),
          ]),
          ...(best.length > 0
            ? [{ ...small(ownPhoto, 'compare'), on: s.data.compare?.includes(ownPhoto) ?? false }]
            : []),
          small('more'),
        ];
      },
      act(s, a, _ctx, w) {
        const best = matches(answersOf(s)).map((m) => m.symptom);
        const named = picked(a, best);
        if (named) return name(s, named, w);
        if (picked(a, ['none'])) return name(s, undefined, w);
        if (picked(a, ['more'])) return ask(s, nextQuestion(s.data) ?? s.data.open ?? questions(s.data.look)[0]?.id);
        const whyNot = picked(a, best, 'why-not');
        if (whyNot) return { to: 'why-not', data: { whyNot } };
        const sides = [...best, ownPhoto];
        const side = picked(a, sides, 'compare');
        if (!side) return undefined;
        const had = (s.data.compare ?? []).filter((n) => sides.includes(n));
        const compare = had.includes(side) ? had.filter((n) => n !== side) : [...had.slice(-1), side];
        return { to: compare.length === 2 ? 'compare' : 'result', data: { compare } };
      },
    },
    compare: {
      kind: 'choose',
      offers: (s) => [...tiles(symptomsOf(s)), small('close')],
      act(s, a, _ctx, w) {
        const named = picked(a, symptomsOf(s));
        if (named) return name(s, named, w);
        return picked(a, ['close']) ? { to: 'result', data: { compare: [] } } : undefined;
      },
    },
    'why-not': {
      kind: 'result',
      offers: () => [main],
      act: (_s, a) => (a.do === 'next' ? { to: 'result' } : undefined),
    },
    check: {
      kind: 'tiles',
      cautions: ['still'],
      offers: (s) => [...tiles(checkOf(s)?.states ?? []), ...tiles(['cant-tell']), notNow],
      act(s, a, _ctx, w) {
        if (picked(a, ['not-now'])) return named(s);
        const check = checkOf(s);
        if (check && picked(a, ['cant-tell'])) return goOn(s, w, { passed: [...(s.data.passed ?? []), check.finding] });
        const state = check && picked(a, check.states);
        if (!check || !state) return undefined;
        w.put('finding', { machine: s.machine, finding: check.finding, state, ...place(s) });
        const data = { found: { ...s.data.found, [check.finding]: state } };
        return mending.has(check.finding) && state !== check.states[0]
          ? acted(s, w, check.finding === 'threading_walk' ? 'rethread_top' : check.finding, data)
          : goOn(s, w, data);
      },
    },
    // What to do, said plainly: an act, a balancing, a technician, or the looks of a stop.
    act: {
      kind: 'choose',
      cautions: ['still', 'needle'],
      offers: () => [main, notNow],
      act(s, a, ctx, w) {
        const { todo } = s.data;
        if (!todo || picked(a, ['not-now'])) return named(s);
        if (a.do !== 'next') return undefined;
        if (todo.do === 'balance') return { call: 'balance', with: { told: s.data.found } };
        if (todo.do === 'stop') return { call: 'stop' };
        if (todo.do !== 'act') return named(s);
        if (todo.action === 'new_needle') newNeedle(s, ctx.now, w);
        else w.put('event', { machine: s.machine, type: 'step', step: todo.action, ...place(s) });
        return acted(s, w, todo.action);
      },
    },
    'sew-on': {
      kind: 'tick',
      cautions: ['moving'],
      offers: () => [main, notNow],
      act(s, a) {
        if (a.do === 'next') return { to: 'sewn' };
        return picked(a, ['not-now']) ? named(s) : undefined;
      },
    },
    sewn: {
      kind: 'choose',
      cautions: ['still'],
      offers: () => [...tiles(['gone', 'still-there']), notNow],
      act(s, a, _ctx, w) {
        if (picked(a, ['still-there'])) return goOn(s, w, {});
        if (!picked(a, ['gone', 'not-now'])) return undefined;
        if (picked(a, ['gone']))
          for (const [finding] of meant(s.data.named)) {
            const state = statesOf(finding)?.[0];
            if (state) w.put('finding', { machine: s.machine, finding, state, ...place(s) });
          }
        return named(s);
      },
    },
  },
};

/** What a symptom stands for. */
const meant = (symptom: string | undefined) => symptoms[symptom ?? '']?.findings ?? [];

const named = ({ data }: S): M => ({ end: 'named', with: { named: data.named, wrote: true } });

/** The next suspicion: a look, or what to do. A task that asked "What do you see?" goes on by itself. */
function goOn(s: S, w: Writer, more: Partial<SeeData>): M {
  if (s.back) return named(s);
  const data = { ...s.data, ...more };
  const next = onward(w.ctx(), data.found ?? {}, data.tried ?? [], data.passed ?? []);
  return next.do === 'check'
    ? { to: 'check', data: { ...more, check: next.finding, about: next.about } }
    : { to: 'act', data: { ...more, todo: next } };
}

/** Something was mended: it is sewn and looked at, where the machine may run. */
function acted(s: S, w: Writer, act: string, more: Partial<SeeData> = {}): M {
  if (s.back || standing(w.ctx()).length > 0) return named(s);
  return { to: 'sew-on', data: { ...more, tried: [...(s.data.tried ?? []), act] } };
}

const answersOf = (s: S): Answers => s.data.answers ?? {};

/** The side of a comparison that is no symptom: the person's own stitch. */
export const ownPhoto = 'own';
const symptomsOf = (s: S) => (s.data.compare ?? []).filter((n) => n !== ownPhoto);

/** The best next question of those not answered and not passed over; undefined when the rest would tell nothing. */
export function nextQuestion({ look, answers = {}, open, shown = [] }: SeeData): FeatureId | undefined {
  const asked = questions(look).map((f) => f.id);
  return bestQuestion(
    answers,
    asked.filter((f) => f !== open && !answers[f] && !shown.includes(f)),
  );
}

/** Opens a question, or the list when there is none left to ask. */
const ask = (s: S, open: string | undefined): M =>
  open === undefined
    ? { to: 'result' }
    : { to: 'features', data: { look: s.data.look, open, shown: [...new Set([...(s.data.shown ?? []), open])] } };

function featureOffers(s: S): readonly Offer[] {
  const asked = questions(s.data.look);
  const open = asked.find((f) => f.id === s.data.open);
  return [
    ...(open ? tiles([...open.values, ...noAnswer], open.id, answersOf(s)[open.id] ?? []) : []),
    main,
    ...asked
      .filter((f) => f.id !== s.data.open)
      .map((f) => ({ ...small(f.id, 'open'), on: answersOf(s)[f.id] !== undefined })),
    small('show'),
  ];
}

/** Two answers may stand; a third takes the place of the older. "Can't tell" and "none of these" stand alone. */
function answered(s: S, a: Action): M | undefined {
  const f = questions(s.data.look).find((x) => a.do === 'pick' && x.id === a.of);
  if (!f || a.do !== 'pick') return undefined;
  const none = noAnswer.find((v) => v === a.value);
  if (!none && !f.values.includes(a.value)) return undefined;
  const had = (answersOf(s)[f.id] ?? []).filter((v) => !noAnswer.some((n) => n === v));
  const off = (answersOf(s)[f.id] ?? []).includes(a.value);
  const now = off ? had.filter((v) => v !== a.value) : none ? [none] : [...had.slice(-1), a.value];
  const { [f.id]: _, ...rest } = answersOf(s);
  return { to: 'features', data: { open: f.id, answers: now.length ? { ...rest, [f.id]: now } : rest } };
}

/** The path taken is kept with what it was named, and what that symptom means goes down as findings. */
function name(s: S, symptom: string | undefined, w: Writer): M {
  const path = {
    machine: s.machine,
    answers: answersOf(s),
    named: symptom === undefined ? null : Number(symptom),
    zone: w.ctx().zone,
    corrects: s.data.corrects,
    ...place(s),
  };
  const record = w.put('symptom', path, s.data.path);
  const findings = meant(symptom);
  takeBack(s, findings, w);
  if (symptom === undefined) return { end: 'unnamed', with: { symptom: record, wrote: true } };
  for (const [finding, state] of findings)
    w.put('finding', { machine: s.machine, finding, state, source: record, ...place(s) });
  if (symptom === wad) return { call: 'stop', with: { happened: 'jam' } };
  const found = Object.fromEntries(findings);
  const look = lookFor(w.ctx(), found);
  const check = look?.finding ?? symptoms[symptom]?.check;
  const data = { named: symptom, found };
  if (symptom === balanced) return named({ ...s, data });
  return check === undefined
    ? goOn({ ...s, data }, w, data)
    : { to: 'check', data: { ...data, check, about: look?.about } };
}

/** What the wrong name stood for was not seen: it is noted as it is when all is well, unless the new name says it too. */
function takeBack(s: S, again: Symptom['findings'], w: Writer): void {
  if (!s.data.corrects) return;
  const wrong = w.ctx().findings.filter((f) => f.source === s.data.corrects);
  for (const finding of new Set(wrong.map((f) => f.finding))) {
    const well = statesOf(finding)?.[0];
    if (well !== undefined && !again.some(([f]) => f === finding))
      w.put('finding', { machine: s.machine, finding, state: well, source: s.data.path, ...place(s) });
  }
}

/** A wad under the plate is a stop. */
const wad = '12';

/** Nothing is wrong with it. */
const balanced = '1';

/** The look that this path ends in: the one that pays most with all that is known, else the cheapest for what was named. */
function checkOf({ data }: S) {
  const finding = data.check ?? symptoms[data.named ?? '']?.check;
  const states = finding === undefined ? undefined : statesOf(finding);
  return finding && states ? { finding, states } : undefined;
}
