/**
 * What the bench, the records and the ledger tell by themselves, as findings: what the person need not be asked. Names that
 * people type are read for a few plain words; what says nothing is left out, which is no evidence.
 */
import { needleHours, runningHours, usualMinutesPerBobbin } from '../care';
import { ledger } from '../change';
import type { Findings, Onset } from '../diagnosis';
import type { FindingId, findingStates } from '../knowledge/findings';
import { machineOf } from '../machine';
import { type SinceWhat, sinceGood } from '../since-good';
import { texOf } from '../thread';
import type { Ctx, Thread } from './context';
import { bobbinScrew, topScrew } from './ledger';

type State<F extends FindingId> = (typeof findingStates)[F][number];
type Told = { readonly [F in FindingId]?: State<F> | undefined };

export function benchFindings(ctx: Ctx): Findings {
  const { bench } = ctx;
  const thread = (id: string | undefined) => threadKind(ctx.threads.find((t) => t.id === id));
  const machine = machineOf(ctx);
  const hours = needleHours(ctx)?.hours;
  const told: Told = {
    thread_kind: thread(bench.topThread),
    bobbin_thread: thread(bench.bobbinThread),
    backing: worded(bench.backing, backings),
    loft: worded(bench.batting, lofts),
    machine_kind: machine?.body === 'sit-down' ? 'sit_down' : machine?.body,
    drive: machine?.modes?.every((m) => m === 'computer') ? 'computer' : undefined,
    work_kind: ({ show: 'show', custom: 'custom', 'edge-to-edge': 'edge_to_edge', practice: 'practice' } as const)[
      ctx.quilts.find((q) => q.id === bench.quilt)?.work ?? ('' as 'show')
    ],
    needle_age: hours === undefined ? undefined : hours < 8 ? 'fresh' : hours < 16 ? 'due' : 'late',
    oil_clean: sinceCleaned(ctx),
    what_changed: whatChanged(ctx),
    event: happened(ctx),
    turned_lately: turnedLately(ctx),
  };
  return Object.fromEntries(Object.entries(told).flatMap(([f, s]) => (s === undefined ? [] : [[f, s]])));
}

/** Just changed: a thread, a needle or a quilt since it was good, or it never was good. */
export function onsetOf(ctx: Ctx): Onset {
  const since = sinceGood(ctx);
  if (!since) return 'changed';
  return since.items.some((i) => changes[i.what] !== undefined && i.what !== 'new-bobbin') ? 'changed' : 'wrong';
}

/** Weight numbers as sold: to 30 is heavy, from 60 is fine. The same words as the fault model's. */
function threadKind(t: Thread | undefined): State<'thread_kind'> | undefined {
  if (!t) return undefined;
  const fibre = t.fibre?.toLowerCase() ?? '';
  if (/clear|metallic|mono/.test(fibre)) return 'slick';
  const tex = texOf(t)?.tex;
  if (tex !== undefined && tex >= 1000 / 30) return 'heavy';
  if (tex !== undefined && tex <= 1000 / 60) return 'fine';
  return /cotton/.test(fibre) ? 'cotton' : /poly|rayon|silk|nylon/.test(fibre) ? 'poly' : undefined;
}

const backings: readonly (readonly [words: RegExp, state: State<'backing'>])[] = [
  [/minky|fleece|plush|fus(ed|ible)|pile|fur\b/i, 'pile'],
  [/batik|sheet|sateen|percale|wide ?back|dense|tight/i, 'dense'],
  [/cotton|muslin|calico|plain/i, 'plain'],
];
const lofts: readonly (readonly [words: RegExp, state: State<'loft'>])[] = [
  [/two layers|double|layers/i, 'layers'],
  [/high|puffy|\bloft\b|wool/i, 'high'],
  [/thin|low|flat|hard/i, 'thin'],
];
const worded = <S>(name: string | undefined, words: readonly (readonly [RegExp, S])[]): S | undefined =>
  name === undefined ? undefined : words.find(([w]) => w.test(name))?.[1];

function sinceCleaned(ctx: Ctx): State<'oil_clean'> | undefined {
  const at = ctx.events.findLast((e) => e.type === 'cleaned')?.at;
  if (at === undefined) return undefined;
  const hours = runningHours(ctx.events, machineOf(ctx)?.minutesPerBobbin ?? usualMinutesPerBobbin, at, ctx.now);
  return hours < 8 ? 'fresh' : hours <= 20 ? 'due' : 'late';
}

const changes: { readonly [what in SinceWhat]?: State<'what_changed'> } = {
  'new-bobbin': 'bobbin',
  'new-cone': 'top_thread',
  'new-needle': 'needle',
  topThread: 'top_thread',
  bobbinThread: 'bobbin',
  bobbinKind: 'bobbin',
  bobbinCase: 'bobbin',
  needle: 'needle',
  quilt: 'quilt',
  batting: 'quilt',
  backing: 'quilt',
};

/** The newest that was changed since it was good. A bobbin is put in so often that anything else goes before it. */
function whatChanged(ctx: Ctx): State<'what_changed'> | undefined {
  const since = sinceGood(ctx);
  if (!since) return undefined;
  const told = since.items.filter((i) => changes[i.what] !== undefined);
  const first = told.find((i) => i.what !== 'new-bobbin') ?? told[0];
  return first ? changes[first.what] : 'nothing';
}

/** What happened since it was good, the worst first; an old one that the looks after it found innocent is over. */
function happened(ctx: Ctx): State<'event'> | undefined {
  const goodAt = sinceGood(ctx)?.goodAt;
  if (goodAt === undefined) return undefined;
  const since = (type: string) => ctx.events.some((e) => e.type === type && e.at > goodAt);
  return since('struck') ? 'struck' : since('jam') ? 'jam' : since('dropped') ? 'dropped' : 'none';
}

/** Screws turned since it was good, apart from what this balancing turned; "somebody" where the count was lost to one. */
function turnedLately(ctx: Ctx): State<'turned_lately'> | undefined {
  const goodAt = sinceGood(ctx)?.goodAt;
  if (goodAt === undefined) return undefined;
  const { bobbinCase } = ctx.bench;
  const began = ctx.balancings.findLast((b) => b.ended === undefined)?.at ?? ctx.now;
  const records = (screw: string) =>
    ledger(ctx.changes, screw).lines.filter((l) => !l.struck && l.record.at > goodAt && l.record.at < began);
  const top = records(topScrew(ctx.machine));
  const bobbin = bobbinCase === undefined ? [] : records(bobbinScrew(bobbinCase));
  if ([...top, ...bobbin].some((l) => l.record.type === 'lost')) return 'somebody';
  const moved = (all: typeof top) => all.some((l) => ['move', 'back', 'dial'].includes(l.record.type));
  if (moved(top)) return moved(bobbin) ? 'both' : 'top';
  return moved(bobbin) ? 'bobbin' : 'nobody';
}
