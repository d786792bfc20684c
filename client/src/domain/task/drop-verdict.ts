/** What a drop test says, read against the bobbin case's own band and the ledger. */
import { fitting } from '../bench';
import { movedSince } from '../change';
import type { Ctx, Drop, Fill, Kept, Reading } from './context';
import { bobbinScrew } from './ledger';

export type DropState = 'neutral' | 'barely' | 'falls' | 'jerky'; // states of the finding `drop_test`

export type DropVerdict = {
  readonly state: DropState;
  /** on to the top · checks: card, thread, a known good bobbin before any screw · turn this screw · case: put in another one · technician: no turn, no other case */
  readonly act: 'on' | 'checks' | 'turn' | 'case' | 'technician';
  readonly minutes?: number; // for turn, + is tighter
  readonly bobbinCase?: string; // for case
  /** The last test in band, where nobody turned the screw since. */
  readonly before?: { readonly at: number; readonly tenthsIn?: number };
  readonly why:
    | 'in-band'
    | 'disagree'
    | 'nobody-turned'
    | 'turned-since'
    | 'not-proven'
    | 'new-thread'
    | 'other-case'
    | 'no-gain'
    | 'out';
};

export type Band = { readonly from: number; readonly to: number }; // tenths of an inch
/** 4 to 6 in (100 to 150 mm): common practice, no published source. */
export const usualBand: Band = { from: 40, to: 60 };
/** A band learned from one good test is never narrower than 2 in: our choice, no source. */
const narrowest = 20;
/** One normal step of a case screw, in clock-minutes. */
const step = 5;

const isTest = (r: Kept<Reading>) => (r.type === 'drop' || r.type === 'finger') && !r.interrupted;
const counts = (d: Drop) => !d.out && !d.hidden && d.answer !== undefined;

/**
 * The band of one case with one bobbin thread: the usual one until three drops with a length stood under a "Good now",
 * with the screw as it was at the test: then those, lowest to highest. Tiles alone never replace it.
 */
export function bandOf(ctx: Ctx, bobbinCase: string | undefined, thread: string | undefined, fill?: Fill): Band {
  const tests = ctx.readings.filter((r) => r.type === 'drop' && !r.interrupted && r.bobbinCase === bobbinCase);
  for (const [i, r] of [...tests.entries()].toReversed()) {
    const lengths = (r.drops ?? []).filter(counts).flatMap((d) => (d.tenthsIn === undefined ? [] : [d.tenthsIn]));
    if (r.thread !== thread || lengths.length < 3) continue;
    const until = tests[i + 1]?.at ?? Number.POSITIVE_INFINITY;
    const good = ctx.events.some(
      (e) =>
        e.type === 'good' &&
        e.bobbinCase === bobbinCase &&
        e.at >= r.at &&
        e.at < until &&
        movedSince(
          ctx.changes.filter((c) => c.at <= e.at),
          bobbinScrew(bobbinCase ?? ''),
          r.at,
        ) === 0,
    );
    if (!good) continue;
    const [low, high] = [Math.min(...lengths), Math.max(...lengths)];
    const wider = Math.max(0, narrowest - (high - low)) / 2;
    const from = Math.max(0, Math.floor(low - wider));
    return atFill({ from, to: Math.max(Math.ceil(high + wider), from + narrowest) }, r.fill, fill);
  }
  return usualBand;
}

/**
 * A bobbin that has run down is lighter and drops less far at the same screw, a fuller one further: the band reaches so much
 * further that way. Half an inch a step: our choice, no source; it hangs on how heavy bobbin and thread are.
 */
function atFill(band: Band, learned: Fill | undefined, now: Fill | undefined): Band {
  if (learned === undefined || now === undefined) return band;
  const emptier = fills.indexOf(now) - fills.indexOf(learned);
  return {
    from: Math.max(0, band.from - perStep * Math.max(0, emptier)),
    to: band.to + perStep * Math.max(0, -emptier),
  };
}
const fills: readonly Fill[] = ['full', 'half', 'low'];
const perStep = 5;

/** A length stands against the band; without one, or where the tile says more than a length can, the tile does. */
function one(d: Drop, band: Band): DropState {
  if (d.answer === 'falls' || d.answer === 'creeps' || d.answer === 'nothing')
    return ({ falls: 'falls', creeps: 'jerky', nothing: 'barely' } as const)[d.answer];
  if (d.tenthsIn !== undefined) return d.tenthsIn < band.from ? 'barely' : d.tenthsIn > band.to ? 'falls' : 'neutral';
  return d.answer === 'right' ? 'neutral' : d.answer === 'far' ? 'falls' : 'barely';
}

const byFinger: { readonly [answer: string]: DropState } = { tips: 'neutral', lifts: 'barely', flat: 'falls' };

/** Three that disagree are jerky: that is no setting. Undefined where nothing was measured. */
export function dropState(ctx: Ctx, r: Kept<Reading>): DropState | undefined {
  if (r.type === 'finger')
    return r.answer !== undefined && Object.hasOwn(byFinger, r.answer) ? byFinger[r.answer] : undefined;
  const band = bandOf(ctx, r.bobbinCase, r.thread, r.fill);
  const told = (r.drops ?? []).filter(counts);
  const lengths = lengthsOf(told);
  const middle = middleOf(lengths);
  // Where each has a length they agree or not by it: two on either side of the band's edge may still be one length.
  if (middle && lengths.length > 2 && lengths.length === told.length)
    return span(lengths) > agreeWithin ? 'jerky' : one(middle, band);
  const states = told.map((d) => one(d, band));
  return states.every((x) => x === states[0]) ? states[0] : 'jerky';
}

const lengthsOf = (told: readonly Drop[]) =>
  told.flatMap((d) => (d.tenthsIn === undefined || said(d) ? [] : [d])).sort(byLength);
const middleOf = (sorted: readonly Drop[]) => sorted[Math.floor((sorted.length - 1) / 2)];

/** Says more than a length can. */
const said = (d: Drop) => d.answer === 'falls' || d.answer === 'creeps' || d.answer === 'nothing';
const byLength = (a: Drop, b: Drop) => (a.tenthsIn ?? 0) - (b.tenthsIn ?? 0);
const span = (sorted: readonly Drop[]) => (sorted.at(-1)?.tenthsIn ?? 0) - (sorted[0]?.tenthsIn ?? 0);
/**
 * Three readings of one length lie within 3.31 of their standard deviation of each other in 95 of 100 (range of three
 * normals). Reading by half inches and shaking by hand make that a third of an inch: our choice, no source.
 */
const agreeWithin = 3.31 * 3.5;

/**
 * Three that disagree, or alike and nobody turned this screw since its last test: card under the spring, thread again, a known
 * good bobbin, and a new drop. The screw comes only after those (`looked`), or when the bobbin thread was just changed, or when it was
 * the screw: turned since it was in band it goes back by the ledger, turned and still out of band it goes on. A new thread first offers
 * the case that was last in band with it. Three turns without a gain end the turning: it is not the screw.
 */
export function dropVerdict(ctx: Ctx, reading: string, looked = false): DropVerdict {
  const now = ctx.readings.find((r) => r.id === reading);
  const state = (now && dropState(ctx, now)) ?? 'neutral';
  if (!now || state === 'neutral') return { state, act: 'on', why: 'in-band' };
  const minutes = state === 'jerky' ? undefined : state === 'falls' ? step : -step;
  const before = ctx.readings.filter((r) => isTest(r) && r.id !== now.id && r.at <= now.at);
  const own = before.filter((r) => r.bobbinCase === now.bobbinCase);
  const last = own.at(-1);
  const newThread = last !== undefined && last.thread !== now.thread;
  if (newThread) {
    const other = before.findLast(
      (r) =>
        r.bobbinCase !== undefined &&
        r.bobbinCase !== now.bobbinCase &&
        r.thread === now.thread &&
        lastInBand(ctx, before, r),
    );
    if (other) return { state, act: 'case', minutes, bobbinCase: other.bobbinCase, why: 'other-case' };
  }
  if (state === 'jerky') return { state, act: 'checks', why: 'disagree' };
  if (newThread) return { state, act: 'turn', minutes, why: 'new-thread' };
  const good = own.findLast((r) => dropState(ctx, r) === 'neutral');
  const tested = good ?? last;
  const since = tested ? movedSince(ctx.changes, bobbinScrew(now.bobbinCase ?? ''), tested.at) : 0;
  if (good && minutes !== undefined && since !== 'lost' && since * minutes < 0)
    return { state, act: 'turn', minutes: -since, why: 'turned-since' };
  const stuck = withoutGain(ctx, now);
  if (stuck !== undefined) return { state, ...insteadOfTurning(ctx, now, stuck, looked), why: 'no-gain' };
  if (since !== 0 || looked) return { state, act: 'turn', minutes, why: 'out' };
  if (!good) return { state, act: 'checks', minutes, why: 'not-proven' };
  const { tenthsIn } = middleOf(lengthsOf((good.drops ?? []).filter(counts))) ?? {};
  const inBand = { at: good.at, ...(tenthsIn === undefined ? {} : { tenthsIn }) };
  return { state, act: 'checks', minutes, why: 'nobody-turned', before: inBand };
}

/** This many moves of one screw without a gain: stop turning (common practice, no published source). */
const manyMoves = 3;

/**
 * When a row of that many moves began, each with its own test, that left the case no nearer to its band; undefined where it came
 * nearer or was in band meanwhile. A count lost or set anew begins a new row.
 */
export function withoutGain(ctx: Ctx, now: Kept<Reading>): number | undefined {
  let places: readonly Kept<Reading>[] = [];
  for (const r of ctx.readings) {
    if (!isTest(r) || r.at > now.at || r.bobbinCase !== now.bobbinCase || r.thread !== now.thread) continue;
    const last = places.at(-1);
    const until = ctx.changes.filter((c) => c.at <= r.at);
    const moved = last && movedSince(until, bobbinScrew(now.bobbinCase ?? ''), last.at);
    if (moved === undefined || moved === 'lost' || dropState(ctx, r) === 'neutral') places = [r];
    else places = [...(moved === 0 ? places.slice(0, -1) : places), r];
  }
  const first = places.at(-1 - manyMoves);
  return first && outBy(ctx, now) >= outBy(ctx, first) ? first.at : undefined;
}

/**
 * How far out of its band, in tenths of an inch. Without lengths "short" and "too far" count one inch, what falls, creeps or
 * does not move at all as much as a drop can be out: only their order matters (our choice).
 */
function outBy(ctx: Ctx, r: Kept<Reading>): number {
  const state = dropState(ctx, r);
  if (state === 'neutral') return 0;
  const told = (r.drops ?? []).filter(counts);
  const length = middleOf(lengthsOf(told))?.tenthsIn;
  const band = bandOf(ctx, r.bobbinCase, r.thread, r.fill);
  if (length !== undefined) return Math.max(band.from - length, length - band.to, 1);
  return state === 'jerky' || told.some(said) ? usualBand.to : 10;
}

/** The looks once more, unless they were gone through meanwhile; then a case not tried since; then a technician. */
function insteadOfTurning(ctx: Ctx, now: Kept<Reading>, began: number, looked: boolean) {
  if (!looked && !ctx.findings.some((f) => f.finding === 'card_spring' && f.at >= began))
    return { act: 'checks' } as const;
  const tried = new Set(ctx.readings.filter((r) => isTest(r) && r.at >= began).map((r) => r.bobbinCase));
  const other = fitting(ctx).find((c) => c.id !== now.bobbinCase && !tried.has(c.id));
  return other ? ({ act: 'case', bobbinCase: other.id } as const) : ({ act: 'technician' } as const);
}

/** In band, and the last test of that case with that thread. */
function lastInBand(ctx: Ctx, tests: readonly Kept<Reading>[], r: Kept<Reading>): boolean {
  return dropState(ctx, r) === 'neutral' && tests.findLast((x) => x.bobbinCase === r.bobbinCase) === r;
}

/** Whether a new test agrees with the case's record: in band now and the time before, or the same way out of it. */
export function dropsAlike(ctx: Ctx, reading: string): boolean {
  const now = ctx.readings.find((r) => r.id === reading);
  const last =
    now &&
    ctx.readings.findLast((r) => isTest(r) && r.id !== now.id && r.at <= now.at && r.bobbinCase === now.bobbinCase);
  if (!now) return false;
  return dropState(ctx, now) === (last ? dropState(ctx, last) : 'neutral');
}
