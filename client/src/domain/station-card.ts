/**
 * A station's card: how one machine stands, as one code on its phone. A teacher's phone reads it at a visit, with no network
 * between them. What a teacher asks first is common practice, no published source.
 *
 *     EVENPULL STATION 1 1A2B3C4D {"u":29583000,"w":"waiting", …}
 *
 * Nobody is named in it. Times are whole minutes since 1970 UTC.
 */
import { caseOf, lastReading } from './bench';
import { mostStations, type StationState } from './class-board';
import { type Json, whole } from './field';
import { handOver } from './hand-over';
import { findingStates } from './knowledge/findings';
import { machineOf, turns } from './machine';
import { nameIn, type PaperName, paperName } from './paper-code';
import { type Fields, faults } from './records';
import { type CodeFault, sealed, unsealed } from './sealed-code';
import type { Ctx, Drop, Event, Kept, Reading } from './task/context';
import { topScrew } from './task/ledger';
import { position } from './task/screws';
import { happenings } from './task/stop-checks';

/** What is seen: a finding and its state, as a record of it has them. */
export type SeenHere = { readonly finding: string; readonly state: string };

export type StationCard = {
  readonly station?: number; // its number in the class
  readonly at: number; // ms UTC, when the card was made
  readonly state: StationState;
  readonly machine?: PaperName;
  readonly bobbinCase?: PaperName;
  readonly needle?: string;
  /** The last word on the bobbin. */
  readonly reading?: Pick<Reading, 'type' | 'drops' | 'answer' | 'fill'> & { readonly at: number };
  /** Where the top screw stands: clock-minutes from flush, + is tighter, or the number on its dial. */
  readonly top?: 'lost' | { readonly minutes: number } | { readonly dialTenths: number };
  readonly seen: readonly SeenHere[]; // newest first
};

const start = 'EVENPULL STATION ';
const minuteMs = 60_000;
/** As much as is read while standing beside somebody (our choice). */
const most = { drops: 6, seen: 6 } as const;
const hurts: readonly string[] = happenings;
/** What nobody sews on after before it was looked at; a bobbin case that fell hurts nobody. */
const stops: readonly string[] = happenings.filter((h) => h !== 'dropped');

/** How the machine of this context stands. "Do not run" is a stop whatever was said later. */
export function stationCard(ctx: Ctx, station?: number): StationCard {
  const page = handOver(ctx);
  const seen = seenIn(page.tried.flatMap((t) => (t.of === 'look' ? [t.record] : [])));
  const turned = page.tried.some((t) => t.of === 'change');
  const hurt = page.happened.filter((e) => hurts.includes(e.type) && e.at > (page.good?.at ?? 0));
  const good = page.good !== undefined && seen.length === 0 && !turned && hurt.length === 0;
  const stop = page.said?.verdict === 'stop' || hurt.some((e) => stops.includes(e.type) && !judged(e, ctx));
  const machine = machineOf(ctx);
  const bobbinCase = caseOf(ctx);
  const reading = readingIn(lastReading(ctx));
  return {
    ...(station === undefined ? {} : { station }),
    at: wholeMinutes(ctx.now),
    state: stop ? 'stop' : good ? 'good' : 'waiting',
    ...(machine ? { machine: paperName(machine.name, machine.id) } : {}),
    ...(bobbinCase ? { bobbinCase: paperName(bobbinCase.label, bobbinCase.id) } : {}),
    ...(ctx.bench.needle ? { needle: ctx.bench.needle } : {}),
    ...(reading ? { reading } : {}),
    top: topOf(ctx),
    seen,
  };
}

/** Looked at since: its checks came to a good end, or "do not run" was lifted after it. */
const judged = (event: Kept<Event>, { events }: Ctx): boolean =>
  events.some(
    (e) => (e.type === 'step' && e.step === 'checked' && e.of === event.id) || (e.type === 'lifted' && e.at > event.at),
  );

const wholeMinutes = (ms: number): number => Math.floor(ms / minuteMs) * minuteMs;

/** The newest state of each finding, where it is not as it should be. */
function seenIn(findings: readonly SeenHere[]): readonly SeenHere[] {
  const newest = new Map(findings.map(({ finding, state }) => [finding, state] as const));
  const order = [...new Set(findings.map((f) => f.finding).toReversed())];
  const odd = order.filter((f) => newest.get(f) !== (findingStates as { [f: string]: readonly string[] })[f]?.[0]);
  return odd.slice(0, most.seen).map((finding) => ({ finding, state: newest.get(finding) ?? '' }));
}

function readingIn(r: ReturnType<typeof lastReading>): StationCard['reading'] {
  const counted = (r?.drops ?? []).filter((d) => !d.out && !d.hidden).slice(-most.drops);
  const drops = counted.flatMap(({ tenthsIn, answer }): readonly Drop[] =>
    tenthsIn !== undefined ? [{ tenthsIn }] : answer ? [{ answer }] : [],
  );
  if (!r || (drops.length === 0 && !r.answer)) return undefined;
  return {
    at: wholeMinutes(r.at),
    type: r.type,
    ...(r.answer ? { answer: r.answer } : { drops }),
    ...(r.fill ? { fill: r.fill } : {}),
  };
}

function topOf(ctx: Ctx): StationCard['top'] {
  const screw = topScrew(ctx.machine);
  if (!turns(screw, ctx)) {
    const dialTenths = ctx.changes.findLast((c) => c.screw === screw && c.dialTenths !== undefined)?.dialTenths;
    return dialTenths === undefined ? 'lost' : { dialTenths };
  }
  const p = position(ctx, screw);
  return p === 'lost' ? p : { minutes: p.known };
}

/** The card's code. What was seen first is left out where there is no room; undefined where names alone are too long. */
export function stationCode(card: StationCard): string | undefined {
  for (let n = Math.min(card.seen.length, most.seen); n >= 0; n--) {
    const code = sealed(start, bodyOf({ ...card, seen: card.seen.slice(0, n) }));
    if (code) return code;
  }
  return undefined;
}

function bodyOf({ station, at, state, machine, bobbinCase, needle, reading: r, top, seen }: StationCard): Json {
  const word = r?.answer ?? (r?.drops ?? []).map((d) => d.tenthsIn ?? d.answer ?? 0);
  return {
    ...(station === undefined ? {} : { s: station }),
    u: at / minuteMs,
    w: state,
    ...(machine ? { m: [machine.name, machine.code] } : {}),
    ...(bobbinCase ? { c: [bobbinCase.name, bobbinCase.code] } : {}),
    ...(needle ? { e: needle } : {}),
    ...(r ? { d: [r.at / minuteMs, r.type, word, ...(r.fill ? [r.fill] : [])] } : {}),
    ...(top === 'lost'
      ? { o: 'lost' }
      : top && 'minutes' in top
        ? { o: top.minutes }
        : top
          ? { g: top.dialTenths }
          : {}),
    ...(seen.length > 0 ? { v: seen.map((s) => [s.finding, s.state]) } : {}),
  };
}

export type ReadStation = { readonly card: StationCard } | { readonly fault: CodeFault };

/** The card in a text that was read. Each value is held to the rule of the record that it came from. Never throws. */
export function readStation(text: string): ReadStation {
  const opened = unsealed(start, text);
  if ('fault' in opened) return opened;
  const card = cardIn(opened.read);
  return card ? { card } : { fault: 'unusable' };
}

const minutes = whole(0, 8.64e15 / minuteMs); // the last moment a date can name
const number = whole(1, mostStations);
const fits = (kind: string, set: Fields): boolean => faults(kind, set, false).length === 0;

/** Undefined where anything in it can't be right. */
function cardIn(read: ReadonlyMap<string, Json>): StationCard | undefined {
  const [s, u, w, m, c, e, d, o, g, v = []] = 'suwmcedogv'.split('').map((letter) => read.get(letter));
  const machine = m === undefined ? undefined : nameIn(m, 'machine', 'name');
  const bobbinCase = c === undefined ? undefined : nameIn(c, 'bobbinCase', 'label');
  const reading = d === undefined ? undefined : readingOf(d);
  const top =
    o === 'lost' ? o : typeof o === 'number' ? { minutes: o } : typeof g === 'number' ? { dialTenths: g } : undefined;
  const seen = Array.isArray(v) && v.length <= most.seen ? v.map(seenOf) : [undefined];
  const wrong = [
    s !== undefined && number(s) !== undefined,
    u === undefined || minutes(u) !== undefined,
    typeof w !== 'string' || w === '' || !fits('visit', { state: w }),
    (m !== undefined) !== (machine !== undefined),
    (c !== undefined) !== (bobbinCase !== undefined),
    e !== undefined && (typeof e !== 'string' || e === '' || !fits('bench', { needle: e })),
    (d !== undefined) !== (reading !== undefined),
    (o !== undefined && g !== undefined) || ((o ?? g) !== undefined && top === undefined),
    !fits('recipe', { topMinutesFromFlush: o === 'lost' ? null : (o ?? null), topDialTenths: g ?? null }),
    seen.includes(undefined),
  ];
  if (wrong.includes(true)) return undefined;
  return {
    ...(s === undefined ? {} : { station: s as number }),
    at: (u as number) * minuteMs,
    state: w as StationState,
    ...(machine ? { machine } : {}),
    ...(bobbinCase ? { bobbinCase } : {}),
    ...(e === undefined ? {} : { needle: e as string }),
    ...(reading ? { reading } : {}),
    ...(top === undefined ? {} : { top }),
    seen: seen.filter((x) => x !== undefined),
  };
}

function readingOf(value: Json): StationCard['reading'] {
  if (!Array.isArray(value) || value.length < 3 || value.length > 4) return undefined;
  const [u, type, word, fill] = value as readonly Json[];
  if (u === undefined || minutes(u) !== undefined || (type !== 'drop' && type !== 'finger')) return undefined;
  if (Array.isArray(word) && (word.length === 0 || word.length > most.drops)) return undefined;
  const drops = Array.isArray(word)
    ? (word as readonly Json[]).map((d) => (typeof d === 'number' ? { tenthsIn: d } : { answer: d }))
    : undefined;
  const set = { type, ...(drops ? { drops } : { answer: word ?? null }), ...(fill === undefined ? {} : { fill }) };
  const said = type === 'drop' ? drops !== undefined : typeof word === 'string' && word !== '';
  const whatFill = fill === undefined || (typeof fill === 'string' && fill !== '');
  if (!said || !whatFill || !fits('reading', set as Fields)) return undefined;
  return { ...(set as Pick<Reading, 'type' | 'drops' | 'answer' | 'fill'>), at: (u as number) * minuteMs };
}

function seenOf(value: Json): SeenHere | undefined {
  const [finding, state] = Array.isArray(value) && value.length === 2 ? (value as readonly Json[]) : [];
  if (typeof finding !== 'string' || typeof state !== 'string') return undefined;
  return faults('finding', { machine: '0'.repeat(32), finding, state }, true).length === 0
    ? { finding, state }
    : undefined;
}
