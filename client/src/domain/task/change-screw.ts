/**
 * Change a screw. Buttons set the amount, the clock face shows it; one tap writes it down. The same task takes a move already made
 * ("I turned something"), one about to be made, a way back to an earlier point, a lost count, a mark and a neutral.
 */
import { caseOf, casesHere } from '../bench';
import { turns } from '../machine';
import { need } from './ask';
import type { Ctx } from './context';
import { bobbinScrew, isBobbin, screwCautions, topScrew, write } from './ledger';
import { adjust, main, notNow, picked, small, tile, tiles, within } from './offer';
import { place } from './place';
import { markOff, pointsBack } from './screws';
import type { Move, Offer, Task, TaskState, Writer } from './task';
import { gate } from './way-in';

/** Normal and small steps in clock-minutes (`knowledge`: bobbin 5, 2 when near; top 30, 15 when near; common practice). */
export const stepsOf = (screw: string) => (isBobbin(screw) ? { normal: 5, small: 2 } : { normal: 30, small: 15 });
/** One act is at most ten whole turns, and a dial number fits four digits (our choice; more is a slip of the thumb). */
export const mostMinutes = 600;
export const mostDialTenths = 9_999;
/** After a break this long an act about to be done is asked about (60 s: our choice). */
const didYouMs = 60_000;

export type Door = 'turned' | 'about' | 'points' | 'mark' | 'lost' | 'neutral';
export type ChangeData = {
  readonly door?: Door;
  readonly screw?: string;
  readonly minutes?: number; // as set now, + is tighter
  readonly wanted?: number; // as it was proposed
  readonly dial?: number; // tenths
  readonly goneOn?: boolean; // "Test first?" was answered with no
  readonly mark?: number; // clock minute 0..59
  readonly off?: number; // how far the mark is from where the count says, −29..30; none: nothing to compare with
  readonly lost?: string; // the record that says so
  readonly count?: boolean; // the count is in doubt, the mark is looked at for that
  readonly why?: string;
  readonly about?: readonly string[]; // causes that made it advised
  readonly model?: number; // version of the tables that advised it
};
type S = TaskState<ChangeData>;
type M = Move<ChangeData>;

export const changeScrew: Task<ChangeData> = {
  name: 'change-screw',
  caution: ['still', 'screw', 'one-change'],
  first(s, ctx, w) {
    return s.data.screw === undefined ? { to: 'screw' } : toward(s, ctx, w);
  },
  returned(s, o, ctx, w) {
    if (o.task === 'drop-test') return o.how === 'in-band' ? { end: 'neutral', with: { wrote: true } } : lostEnd(s);
    return s.step === gate && s.data.screw === undefined ? { to: gate } : toward(s, ctx, w);
  },
  steps: {
    screw: {
      kind: 'choose',
      offers: (_s, ctx) => [...screws(ctx).map((id) => tile(id)), notNow],
      act(s, a, ctx, w) {
        const screw = picked(a, screws(ctx));
        if (screw) return toward({ ...s, data: { ...s.data, screw } }, ctx, w);
        return picked(a, ['not-now']) ? { end: 'not-turned' } : undefined;
      },
    },
    'test-first': {
      kind: 'choose',
      cautions: ['one-change'],
      offers: () => [main, small('go-on')],
      act(s, a, ctx, w) {
        if (a.do === 'next') return { end: 'test-first' };
        return picked(a, ['go-on']) && toward({ ...s, data: { ...s.data, goneOn: true } }, ctx, w);
      },
    },
    amount: {
      kind: 'set',
      cautions: (s) => screwCautions(s.data.screw),
      offers: amountOffers,
      opened(s, awayMs) {
        if (awayMs <= didYouMs) return undefined;
        return s.data.door === 'about' || s.data.door === 'points' ? { to: 'did-you' } : 'ask';
      },
      again: (s) => ({ to: 'amount', data: { minutes: s.data.wanted ?? 0 } }),
      act(s, a, ctx, w) {
        const { minutes = 0, wanted = 0 } = s.data;
        if (a.do === 'add' && a.of === undefined) return setMinutes(within(-mostMinutes, minutes + a.by, mostMinutes));
        if (a.do === 'set' && a.of === undefined) return setMinutes(a.to);
        if (a.do === 'next') return minutes === 0 ? undefined : moved(s, w);
        if (a.do !== 'pick') return undefined;
        if (a.value === 'home') return setMinutes(wanted);
        if (a.value === 'not-turned') return { end: 'not-turned' };
        if (a.value === 'dial' && !isBobbin(screwOf(s))) {
          w.put('machine', { topKnob: 'dial' }, s.machine);
          return { to: 'dial' };
        }
        return otherDoor(s, a.value, ctx, w);
      },
    },
    dial: {
      kind: 'set',
      cautions: ['still'],
      enter: (s, ctx) => ({ dial: s.data.dial ?? lastDial(s, ctx) }),
      offers: (s) => [
        ...[-10, -5, -1, 1, 5, 10].map((by) => adjust(by)),
        ...(s.data.dial === undefined ? [] : [main]),
        small('not-turned'),
      ],
      again: () => ({ to: 'dial', data: { dial: undefined } }),
      act(s, a, _ctx, w) {
        if (a.do === 'add' || a.do === 'set') {
          const dial = a.do === 'set' ? a.to : within(0, (s.data.dial ?? 0) + a.by, mostDialTenths);
          return Number.isInteger(dial) && dial >= 0 && dial <= mostDialTenths
            ? { to: 'dial', data: { dial } }
            : undefined;
        }
        if (picked(a, ['not-turned'])) return { end: 'not-turned' };
        const { dial } = s.data;
        if (a.do !== 'next' || dial === undefined) return undefined;
        return written(s, write(w, screwOf(s), { type: 'dial', dialTenths: dial, ...why(s) }, s));
      },
    },
    points: {
      kind: 'choose',
      offers: (s, ctx) => [...pointsBack(ctx, screwOf(s)).map((p) => tile(p.change)), notNow],
      act(s, a, ctx) {
        const point = pointsBack(ctx, screwOf(s)).find((p) => a.do === 'pick' && a.value === p.change);
        if (point) return { to: 'amount', data: { door: 'points', minutes: point.minutes, wanted: point.minutes } };
        return picked(a, ['not-now']) ? { end: 'not-turned' } : undefined;
      },
    },
    'did-you': {
      kind: 'choose',
      cautions: ['still'],
      offers: () => tiles(['turned', 'not-turned', 'not-sure']),
      act(s, a, _ctx, w) {
        if (picked(a, ['turned'])) return moved(s, w);
        if (picked(a, ['not-turned'])) return { to: 'amount' };
        return picked(a, ['not-sure']) ? { to: 'mark', data: { count: true } } : undefined;
      },
    },
    mark: {
      kind: 'set',
      cautions: ['still', 'screw'],
      offers: (s) => [
        ...[-5, -1, 1, 5].map((by) => adjust(by)),
        ...(s.data.mark === undefined ? [] : [main]),
        small('no-mark'),
      ],
      again: () => ({ to: 'mark', data: { mark: undefined } }),
      act(s, a, ctx, w) {
        if (a.do === 'set')
          return a.to >= 0 && a.to < 60 && Number.isInteger(a.to) ? { to: 'mark', data: { mark: a.to } } : undefined;
        if (a.do === 'add')
          return Number.isInteger(a.by)
            ? { to: 'mark', data: { mark: onClock((s.data.mark ?? 0) + a.by) } }
            : undefined;
        if (picked(a, ['no-mark'])) return s.data.count ? lose(s, w) : { end: 'not-turned' };
        if (a.do !== 'next' || s.data.mark === undefined) return undefined;
        return marked(s, s.data.mark, ctx, w);
      },
    },
    'mark-says': {
      kind: 'result',
      cautions: ['still'],
      offers: (s) =>
        s.data.off === 0
          ? [main, small('whole-turn')] // the minutes agree; a whole turn would not show
          : [main, small('lost')],
      act(s, a, _ctx, w) {
        if (picked(a, ['lost', 'whole-turn'])) return lose(s, w);
        if (a.do !== 'next') return undefined;
        const minutes = s.data.off ?? 0;
        if (minutes === 0) return { end: 'count-stands', with: { wrote: true } };
        return written(
          { ...s, data: { ...s.data, minutes } },
          write(w, screwOf(s), { type: 'move', minutes, why: 'mark' }, s),
        );
      },
    },
    neutral: {
      kind: 'tick',
      cautions: (s) => screwCautions(s.data.screw),
      offers: () => [main, notNow],
      act(s, a, _ctx, w) {
        if (picked(a, ['not-now'])) return lostEnd(s);
        if (a.do !== 'next') return undefined;
        if (!isBobbin(screwOf(s)))
          return written(s, write(w, screwOf(s), { type: 'neutral', ...why(s) }, s), 'neutral');
        // A bobbin case is at neutral when its drop is in band. The test that opened this one comes next anyway.
        return s.back?.task === 'drop-test' ? lostEnd(s) : { call: 'drop-test' };
      },
    },
  },
};

const screwOf = (s: S) => s.data.screw ?? topScrew(s.machine);
const why = ({ data }: S) => ({ why: data.why, about: data.about, model: data.model });
const onClock = (minute: number) => ((minute % 60) + 60) % 60;

/** Top first, then the bobbin case in the machine, then the others that fit it. */
function screws(ctx: Ctx): readonly string[] {
  const own = caseOf(ctx);
  const cases = [...(own ? [own] : []), ...casesHere(ctx).filter((c) => c !== own)];
  return [topScrew(ctx.machine), ...cases.map((c) => bobbinScrew(c.id))];
}

/** The step a door opens, after the questions that an act still to be done needs answered. */
function toward(s: S, ctx: Ctx, w: Writer): M {
  const { door = 'turned', goneOn } = s.data;
  const screw = screwOf(s);
  const data = { screw };
  if (door === 'about' || door === 'points' || door === 'neutral') {
    const asks = need(ctx, isBobbin(screw) ? ['tightens'] : ['top-knob', 'tightens'], screw);
    if (asks) return { ...asks, data };
  }
  if (door === 'about' && !goneOn && secondScrew(s, screw, ctx)) return { to: 'test-first', data };
  if (!turns(screw, ctx)) return { to: 'dial', data: { ...data, goneOn } };
  const minutes = s.data.minutes ?? 0;
  if (door === 'about' || door === 'turned')
    return { to: 'amount', data: { ...data, goneOn, door, minutes, wanted: s.data.wanted ?? minutes } };
  if (door === 'lost') return doubt(s, w);
  return { to: door, data };
}

/** Another screw was turned and nothing was sewn or dropped since: one change at a time is asked about, once. */
function secondScrew(s: S, screw: string, ctx: Ctx): boolean {
  const own = <T extends { readonly balancing?: string }>(rows: readonly T[]) =>
    s.balancing === undefined ? [] : rows.filter((r) => r.balancing === s.balancing);
  const drops = own(ctx.readings).filter((r) => r.type === 'drop' || r.type === 'finger');
  const tested = Math.max(0, ...[...own(ctx.samples), ...drops].map((r) => r.at));
  const moves = own(ctx.changes).filter((c) => c.type === 'move' && c.at > tested);
  return moves.some((c) => c.screw !== screw) && !moves.some((c) => c.screw === screw);
}

function amountOffers(s: S, ctx: Ctx): readonly Offer[] {
  const { normal, small: little } = stepsOf(screwOf(s));
  const { door, minutes = 0, wanted = 0 } = s.data;
  return [
    ...[-normal, normal, -little, little, ...(isBobbin(screwOf(s)) ? [] : [-60, 60])].map((by) => adjust(by)), // a whole turn of a case screw spoils it
    ...(minutes === 0 ? [] : [main]),
    ...(minutes === wanted ? [] : [small('home')]),
    ...(door === 'about' || door === 'points' ? [small('not-turned')] : []),
    small('lost'),
    small('somebody'),
    small('neutral'),
    ...(isBobbin(screwOf(s)) ? [small('mark')] : [small('dial')]),
    ...(pointsBack(ctx, screwOf(s)).length > 0 ? [small('points')] : []),
  ];
}

const setMinutes = (to: number): M | undefined =>
  Number.isInteger(to) && Math.abs(to) <= mostMinutes ? { to: 'amount', data: { minutes: to } } : undefined;

function otherDoor(s: S, value: string, ctx: Ctx, w: Writer): M | undefined {
  switch (value) {
    case 'lost':
    case 'somebody':
      return doubt({ ...s, data: { ...s.data, why: value } }, w);
    case 'mark':
      return isBobbin(screwOf(s)) ? { to: 'mark', data: { door: 'mark' } } : undefined;
    case 'neutral':
    case 'points':
      return toward({ ...s, data: { ...s.data, door: value } }, ctx, w);
    default:
      return undefined;
  }
}

/** The count is in doubt: a bobbin case's mark first, since it still tells the minutes; else it is lost for sure. */
function doubt(s: S, w: Writer): M {
  return isBobbin(screwOf(s)) ? { to: 'mark', data: { ...s.data, door: 'lost', count: true } } : lose(s, w);
}

function lose(s: S, w: Writer): M {
  const lost = write(w, screwOf(s), { type: 'lost', ...why(s) }, s);
  return { to: 'neutral', data: { ...s.data, count: true, lost } };
}

function moved(s: S, w: Writer): M {
  return written(s, write(w, screwOf(s), { type: 'move', minutes: s.data.minutes ?? 0, ...why(s) }, s));
}

function written(s: S, change: string, how = 'written'): M {
  return { end: how, with: { change, screw: screwOf(s), minutes: s.data.minutes, wrote: true } };
}

/** Keeps the mark and holds it against where the count says it must be. */
function marked(s: S, mark: number, ctx: Ctx, w: Writer): M {
  const screw = screwOf(s);
  const off = markOff(ctx, screw, mark);
  const bobbinCase = isBobbin(screw) ? screw.slice('bobbin:'.length) : undefined;
  w.put('reading', { type: 'pen', machine: s.machine, bobbinCase, clockMinute: mark, ...place(s) });
  if (bobbinCase && !ctx.bobbinCases.find((c) => c.id === bobbinCase)?.penLine)
    w.put('bobbinCase', { penLine: true }, bobbinCase);
  if (off !== undefined) return { to: 'mark-says', data: { off } };
  return s.data.count ? lose(s, w) : { end: 'marked', with: { wrote: true } };
}

function lostEnd(s: S): M {
  return s.data.lost
    ? { end: 'lost', with: { change: s.data.lost, screw: screwOf(s), wrote: true } }
    : { end: 'not-turned' };
}

function lastDial(s: S, ctx: Ctx): number | undefined {
  return ctx.changes.findLast((c) => c.screw === screwOf(s) && c.type === 'dial')?.dialTenths;
}
