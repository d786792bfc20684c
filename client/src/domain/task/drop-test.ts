/**
 * The guided drop test. Both hands are busy between Start and the end: sound paces three drops, nothing is tapped, and
 * the answers come by tiles when the hands are free. The finger-pad check is its equal; the gauge is for who owns one.
 * A result that is not in band leads to its first act and a new test, so the bobbin is settled before this task ends.
 */

import { caseOf } from '../bench';
import { findingStates } from '../knowledge/findings';
import { need } from './ask';
import type { Ctx, DropAnswer, Fill, Gaps } from './context';
import { type DropVerdict, dropVerdict } from './drop-verdict';
import { bobbinScrew, write } from './ledger';
import { adjust, main, notNow, pick, picked, small, tiles, within } from './offer';
import { dropAt, dropsPerStart, fitGaps, usualGaps } from './pace';
import { place } from './place';
import { position } from './screws';
import type { Action, Fields, Move, Offer, Step, Task, TaskState, Writer } from './task';
import { gate } from './way-in';

const fills = ['full', 'half', 'low'] as const;
const dropAnswers = ['falls', 'creeps', 'nothing', 'short', 'right', 'far'] as const;
const fingerAnswers = ['tips', 'lifts', 'flat'] as const;
/** Lengths are set by half inches, or by 10 mm (0.4 in); the first tap stands in the middle of the usual 4 to 6 in. */
const halfInch = 5;
const tenMm = 4;
const firstTenthsIn = 50;
const mostTenthsIn = 400;
/** Unfinished for longer than this it is filed as it is (24 h: our choice). */
const fileMs = 24 * 3_600_000;

/** One drop: nothing in it yet, an answer, or marked because the page was hidden while it ran. */
export type Row = {
  readonly answer?: DropAnswer;
  readonly tenthsIn?: number;
  readonly out?: boolean;
  readonly hidden?: boolean;
};

export type DropData = {
  readonly fill?: Fill;
  readonly gaps?: Gaps; // as they were at Start
  readonly rows?: readonly Row[];
  readonly run?: readonly number[]; // rows that this Start runs, in order
  readonly passed?: number; // of those, how many are over
  readonly gauge?: number; // tenths of a gram-force
  readonly reading?: string;
  readonly verdict?: DropVerdict;
  readonly checked?: boolean; // the looks before any screw were gone through in this task
  readonly measure?: boolean; // a reading is all that is wanted: no verdict, no act
  readonly cut?: boolean; // a drop was cut by a hidden page, Stop or a crash
};
type S = TaskState<DropData>;

/** Before any screw: what a changed drop usually comes from. Each is a finding when it was done. */
export const checks = {
  card: { finding: 'card_spring', states: findingStates.card_spring },
  thread: { finding: 'pull_bobbin', states: findingStates.pull_bobbin },
  bobbin: { finding: 'bobbin_look', states: findingStates.bobbin_look },
} as const;
type Check = keyof typeof checks;
const checkOrder: readonly Check[] = ['card', 'thread', 'bobbin'];

const toSetup: Move<DropData> = { to: 'setup' };

export const dropTest: Task<DropData> = {
  name: 'drop-test',
  caution: ['still', 'floor', 'manual'],
  first(s, ctx) {
    const last = ctx.events.findLast((e) => e.type === 'new-bobbin');
    const lastTest = ctx.readings.findLast((r) => r.type === 'drop' && r.fill !== undefined);
    const fill = last && (!lastTest || last.at > lastTest.at) ? 'full' : (lastTest?.fill ?? 'full');
    return need(ctx, ['bobbin-case']) ?? { to: 'setup', data: { fill: s.data.fill ?? fill } };
  },
  returned(s, o) {
    if (s.step === gate) return { to: gate };
    // Back from the screw: a turned screw is tested again, one left alone leaves the result standing.
    return o.task === 'change-screw' && ['written', 'neutral', 'lost'].includes(o.how) ? toSetup : { to: s.step };
  },
  steps: {
    setup: {
      kind: 'set',
      cautions: ['still', 'floor'],
      opened: filed,
      offers: (s, ctx) => [
        { action: { do: 'start' }, as: 'main' },
        ...tiles(fills, 'fill', s.data.fill),
        small('finger'),
        ...(ctx.gauge ? [small('gauge')] : []),
        notNow,
      ],
      act(s, a, ctx) {
        const fill = picked(a, fills, 'fill');
        if (fill) return { to: s.step, data: { fill } };
        if (a.do === 'start') return start([{}, {}, {}], [0, 1, 2], ctx.gaps);
        const other = picked(a, ctx.gauge ? (['finger', 'gauge'] as const) : (['finger'] as const));
        if (other) return { to: other };
        return picked(a, ['not-now']) ? { end: 'not-now' } : undefined;
      },
    },
    run: {
      kind: 'paced',
      cautions: ['floor'],
      offers: () => [{ action: { do: 'stop' }, as: 'small' }],
      opened: (s, awayMs, ctx, w) => filed(s, awayMs, ctx, w) ?? 'ask', // what was being paced stopped with the page
      again: (s) => start([{}, {}, {}], [0, 1, 2], s.data.gaps),
      carryOn(s) {
        const { rows, left } = afterCut(s);
        return start([...rows, {}], [rows.length, ...left], s.data.gaps);
      },
      act(s, a, ctx) {
        const runs = s.data.run ?? [];
        if (a.do === 'passed') {
          const passed = within(0, Math.max(s.data.passed ?? 0, a.drop + 1), runs.length);
          return passed >= runs.length ? { to: 'answer', data: { passed } } : { to: 'run', data: { passed } };
        }
        if (a.do === 'hidden')
          return {
            ask: 'carry-on',
            data: { passed: dropAt(fitGaps(s.data.gaps ?? ctx.gaps), runs.length, a.atMs), cut: true },
          };
        return a.do === 'stop' ? { to: 'answer', data: { cut: true } } : undefined;
      },
    },
    answer: {
      kind: 'tiles',
      cautions: ['still'],
      offers: answerOffers,
      opened: filed,
      act(s, a, ctx, w) {
        if (picked(a, ['all-right'])) {
          const rows = rowsOf(s).map((r) => (r.hidden || r.out ? r : { ...r, answer: 'right' as const }));
          return measured({ ...s, data: { ...s.data, rows } }, ctx, w);
        }
        if (a.do === 'next') return complete(rowsOf(s)) ? measured(s, ctx, w) : undefined;
        return answer(s, a);
      },
    },
    finger: {
      kind: 'tiles',
      cautions: ['still'],
      offers: () => [...tiles(fingerAnswers), ...tiles(['cant-tell'])],
      act(s, a, ctx, w) {
        const felt = picked(a, fingerAnswers);
        if (felt) {
          const reading = w.put('reading', { type: 'finger', answer: felt, ...setting(s, ctx) });
          return s.data.measure
            ? { end: 'measured', with: { reading, wrote: true } }
            : { to: 'result', data: { reading } };
        }
        return picked(a, ['cant-tell']) ? toSetup : undefined;
      },
    },
    gauge: {
      kind: 'set',
      cautions: ['still'],
      offers: (s) => [...[-50, -5, 5, 50].map((by) => adjust(by)), ...(s.data.gauge === undefined ? [] : [main])],
      act(s, a, ctx, w) {
        if (a.do === 'add' || a.do === 'set') {
          const to = a.do === 'set' ? a.to : within(0, (s.data.gauge ?? firstTenthsGf) + a.by, mostTenthsGf);
          return Number.isInteger(to) && to >= 0 && to <= mostTenthsGf
            ? { to: s.step, data: { gauge: to } }
            : undefined;
        }
        if (a.do !== 'next' || s.data.gauge === undefined) return undefined;
        w.put('reading', { type: 'gauge', tenthsGf: s.data.gauge, ...setting(s, ctx) });
        return toSetup;
      },
    },
    result: {
      kind: 'result',
      cautions: ['still', 'screw'],
      enter: (s, ctx) =>
        s.data.reading
          ? { verdict: dropVerdict(ctx, s.data.reading, s.data.checked === true || looksLeft(s, ctx).length === 0) }
          : {},
      offers: () => [main, small('again'), small('go-on')],
      act(s, a, ctx, w) {
        const v = s.data.verdict;
        if (picked(a, ['again'])) return toSetup;
        if (picked(a, ['go-on'])) return { end: 'left', with: { ...v, reading: s.data.reading, wrote: true } };
        if (a.do !== 'next' || !v) return undefined;
        if (v.act === 'on') {
          // In its drop band is what neutral means for a bobbin case: a lost count starts again from here.
          const own = caseOf(ctx);
          if (own && position(ctx, bobbinScrew(own.id)) === 'lost')
            write(w, bobbinScrew(own.id), { type: 'neutral', why: 'drop band' }, s);
          return { end: 'in-band', with: { reading: s.data.reading, wrote: true } };
        }
        if (v.act === 'technician') return { end: 'technician', with: { reading: s.data.reading, wrote: true } };
        if (v.act === 'checks') return { to: nextLook(s, ctx) };
        const other = v.act === 'case' ? v.bobbinCase : undefined;
        if (other !== undefined) {
          w.put('bench', { bobbinCase: other }, s.machine);
          return toSetup;
        }
        const own = caseOf(ctx);
        return own
          ? {
              call: 'change-screw',
              with: { door: 'about', screw: bobbinScrew(own.id), minutes: v.minutes, why: v.why },
            }
          : { call: 'ask', with: { question: 'bobbin-case' } };
      },
    },
    card: check('card'),
    thread: check('thread'),
    bobbin: check('bobbin'),
  },
};

const firstTenthsGf = 250; // a place to start pressing from, nothing more
const mostTenthsGf = 10_000;

const rowsOf = (s: S): readonly Row[] => s.data.rows ?? [];

const start = (rows: readonly Row[], run: readonly number[], gaps: Gaps | undefined): Move<DropData> => ({
  to: 'run',
  data: { rows, run, passed: 0, cut: undefined, gaps: fitGaps(gaps ?? usualGaps) },
});

/** The drop that was cut is marked and left out; what had not run yet is still to do. */
function afterCut(s: S): { readonly rows: readonly Row[]; readonly left: readonly number[] } {
  const run = s.data.run ?? [];
  const cut = run[s.data.passed ?? 0];
  return {
    rows: rowsOf(s).map((r, i) => (i === cut ? { hidden: true } : r)),
    left: run.slice((s.data.passed ?? 0) + 1),
  };
}

const live = (r: Row) => !r.hidden && !r.out;
const complete = (rows: readonly Row[]) => rows.some(live) && rows.every((r) => !live(r) || r.answer !== undefined);

function answerOffers(s: S, ctx: Ctx): readonly Offer[] {
  const by = ctx.units === 'mm' ? tenMm : halfInch;
  const rows = rowsOf(s);
  const none = rows.every((r) => r.answer === undefined && !r.out);
  return [
    ...(none ? [{ action: pick('all-right'), as: 'main' as const }] : complete(rows) ? [main] : []),
    ...rows.flatMap((r, i) => {
      const of = String(i);
      if (r.hidden) return [];
      const undo: readonly Offer[] = [small('again', of), { ...small('out', of), on: r.out === true }];
      return r.out ? undo : [...tiles(dropAnswers, of, r.answer), adjust(-by, of), adjust(by, of), ...undo];
    }),
    small('start-over'),
  ];
}

function answer(s: S, a: Action): Move<DropData> | undefined {
  if (picked(a, ['start-over'])) return toSetup;
  const of = a.do === 'pick' || a.do === 'add' || a.do === 'set' ? Number(a.of ?? 'none') : Number.NaN;
  const row = rowsOf(s)[of];
  if (!row || row.hidden) return undefined;
  const rows = (next: Row) => rowsOf(s).map((r, i) => (i === of ? next : r));
  const put = (next: Row): Move<DropData> => ({ to: 'answer', data: { rows: rows(next) } });
  if (a.do === 'pick') {
    if (a.value === 'again') return { to: 'run', data: { rows: rows({}), run: [of], passed: 0 } };
    if (a.value === 'out') return put({ ...row, out: row.out ? undefined : true });
    const said = row.out ? undefined : dropAnswers.find((v) => v === a.value);
    return said && put({ ...row, answer: said });
  }
  if (row.out || (a.do !== 'add' && a.do !== 'set')) return undefined;
  const to =
    a.do === 'set' ? a.to : within(0, row.tenthsIn === undefined ? firstTenthsIn : row.tenthsIn + a.by, mostTenthsIn);
  return Number.isInteger(to) && to >= 0 && to <= mostTenthsIn ? put({ ...row, tenthsIn: to }) : undefined;
}

/** What a length belongs to: one case, thread, bobbin kind and fill. */
function setting(s: S, ctx: Ctx): Fields {
  const { bobbinCase, bobbinThread, bobbinKind } = ctx.bench;
  return {
    machine: s.machine,
    bobbinCase,
    thread: bobbinThread,
    bobbinKind,
    fill: s.data.fill,
    ...place(s),
  };
}

function record(s: S, ctx: Ctx, w: Writer, interrupted: boolean): string {
  const drops = rowsOf(s).filter((r) => r.answer !== undefined || r.hidden);
  return w.put('reading', { type: 'drop', drops, ...setting(s, ctx), interrupted: interrupted || undefined });
}

function measured(s: S, ctx: Ctx, w: Writer): Move<DropData> {
  const told = rowsOf(s).filter((r) => live(r) && r.answer !== undefined).length;
  const reading = record(s, ctx, w, s.data.cut === true && told < dropsPerStart);
  return s.data.measure
    ? { end: 'measured', with: { reading, wrote: true } }
    : { to: 'result', data: { rows: s.data.rows, reading } };
}

function filed(s: S, awayMs: number, ctx: Ctx, w: Writer): Move<DropData> | undefined {
  if (awayMs <= fileMs) return undefined;
  if (s.step !== 'setup') record(s, ctx, w, true);
  return { end: 'unfinished', with: { wrote: s.step !== 'setup' } };
}

/** Looks that were not answered as all well in this balancing: what was clean minutes ago is not asked again. */
function looksLeft(s: S, ctx: Ctx, from = 0): readonly Check[] {
  return checkOrder.slice(from).filter((name) => {
    const told = ctx.findings.findLast(
      (f) => s.balancing !== undefined && f.balancing === s.balancing && f.finding === checks[name].finding,
    );
    return told?.state !== checks[name].states[0];
  });
}

/** Three that still disagree when all was well: then all of it once more. */
const nextLook = (s: S, ctx: Ctx): Check => looksLeft(s, ctx)[0] ?? 'card';

/** One look before any screw. Anything found is reason enough for a new drop; all as it should be too, after the last. */
function check(name: Check): Step<DropData> {
  const { finding, states } = checks[name];
  return {
    kind: 'tiles',
    cautions: ['still', 'screw'],
    offers: () => [...tiles(states), notNow],
    act(s, a, ctx, w) {
      const at = checkOrder.indexOf(name) + 1;
      const next = looksLeft(s, ctx).length === 0 ? checkOrder[at] : looksLeft(s, ctx, at)[0];
      const on: Move<DropData> = next ? { to: next } : { to: 'setup', data: { checked: true } };
      const state = picked<string>(a, states);
      if (!state) return picked(a, ['not-now']) ? on : undefined;
      w.put('finding', { machine: s.machine, finding, state, ...place(s) });
      // Another bobbin is in by now: nothing that follows need ask for one.
      if (name === 'bobbin') w.put('event', { machine: s.machine, type: 'step', step: 'swap_bobbin', ...place(s) });
      return state === states[0] ? on : toSetup;
    },
  };
}
