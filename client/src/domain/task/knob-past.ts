/** What is known of a knob, as `howFar` reads it: rounds of this balancing, feels or drops, and what earlier ones teach. */
import { ledger } from '../change';
import { type Felt, type HowFarInput, learnedSlope, type Sewn } from '../how-far';
import type { Ctx, Kept, Sample } from './context';
import { bobbinScrew, topScrew } from './ledger';
import { type Facts, type Move, moves, scoreNow } from './next-facts';

/** A slope is learned from at most so many balancings, the newest; enough to know it by, and quick. */
const learnedFrom = 6;

/** Where a knob stood at a moment, counted from its first move ever. */
const placeIn = (turns: readonly Move[]) => (at: number) =>
  turns.reduce((sum, m) => (m.at <= at ? sum + m.minutes : sum), 0);

/** Undefined for a knob that has numbers: what a number does is not known in clock-minutes. */
export function topPast(f: Facts): HowFarInput | undefined {
  const { ctx } = f;
  const numbered = (ctx.machines.find((m) => m.id === ctx.machine)?.topKnob ?? 'turns') !== 'turns';
  if (numbered || ledger(ctx.changes, topScrew(ctx.machine)).position.state === 'dial') return undefined;
  const turns = moves(ctx, topScrew(ctx.machine));
  const place = placeIn(turns);
  const since = Math.max(f.startedAt, changedAt(ctx, f.bobbinMovedAt));
  const here = place(ctx.now);
  const sewn = roundsOf(
    f.samples.filter((s) => s.at >= since),
    place,
  );
  const felt = ctx.findings
    .filter((x) => x.finding === 'pull_top' && x.at >= since)
    .flatMap((x) => feltAt(x.state, place(x.at)))
    .filter((x, i, all) => all.findLastIndex((y) => y.place === x.place) === i); // felt again after a look at the path
  const score = scoreNow(f);
  const rounds = sewn.length === 0 && score !== 0 ? [{ place: here, scores: [score] }] : sewn;
  return {
    knob: 'top',
    here,
    rounds,
    feels: felt,
    slope: learnedSlope('top', earlier(ctx, f.startedAt, place)),
    home: home(ctx, f.startedAt, place),
  };
}

/** The drops of one bobbin case as rounds of its screw: too tight above, too loose below. */
export function dropsOf(f: Facts, bobbinCase: string): HowFarInput {
  const turns = moves(f.ctx, bobbinScrew(bobbinCase));
  const place = placeIn(turns);
  const rounds = f.drops.flatMap((d) => {
    const side = d.state === 'barely' ? 1 : d.state === 'falls' ? -1 : 0;
    return d.bobbinCase === bobbinCase && side !== 0 ? [{ place: place(d.at), scores: [d.far ? 2 * side : side] }] : [];
  });
  return { knob: 'bobbin', here: place(f.ctx.now), rounds };
}

function roundsOf(samples: readonly Kept<Sample>[], place: (at: number) => number): readonly Sewn[] {
  return samples.flatMap((s) => {
    const scores = s.rays
      .filter((r) => !r.marks?.some((m) => m === 'cant-tell' || m === 'both-faces'))
      .map((r) => r.score);
    return scores.length > 0 ? [{ place: place(s.at), scores }] : [];
  });
}

const feltAt = (state: string, place: number): readonly Felt[] =>
  state === 'as_usual' || state === 'stiff' || state === 'light' ? [{ place, is: state }] : [];

/** When anything but the knob last changed, so that rounds from before speak of another machine. */
function changedAt(ctx: Ctx, bobbinMovedAt: number): number {
  const broken = ctx.changes.filter(
    (c) => c.screw === topScrew(ctx.machine) && (c.type === 'neutral' || c.type === 'lost'),
  );
  const done = ctx.events.filter((e) => e.type !== 'good');
  return Math.max(
    bobbinMovedAt,
    ...broken.map((c) => c.at),
    ...done.map((e) => e.at),
    ...Object.values(ctx.benchAt ?? {}),
  );
}

/** Rounds of earlier balancings on this machine, cut where its bobbin was turned in between. */
function earlier(ctx: Ctx, startedAt: number, place: (at: number) => number): readonly (readonly Sewn[])[] {
  const bobbins: readonly Move[] = ctx.bobbinCases.flatMap((c) => moves(ctx, bobbinScrew(c.id)));
  const groups = new Map<string, Kept<Sample>[]>();
  for (const s of ctx.samples) {
    if (s.at >= startedAt || s.balancing === undefined) continue;
    const turned = bobbins.filter((m) => m.at <= s.at).length;
    const key = `${s.balancing} ${turned}`;
    groups.set(key, [...(groups.get(key) ?? []), s]);
  }
  return [...groups.values()].slice(-learnedFrom).map((samples) => roundsOf(samples, place));
}

/** Where it was last good, if the count since holds and the same two threads are on. */
function home(ctx: Ctx, startedAt: number, place: (at: number) => number): number | undefined {
  const good = ctx.events.findLast((e) => e.type === 'good' && e.at < startedAt)?.at;
  if (good === undefined) return undefined;
  const broken = ctx.changes.some(
    (c) => c.screw === topScrew(ctx.machine) && (c.type === 'neutral' || c.type === 'lost') && c.at > good,
  );
  const other = Object.entries(ctx.benchAt ?? {}).some(
    ([field, at]) => at > good && (field === 'topThread' || field === 'bobbinThread' || field === 'bobbinCase'),
  );
  return broken || other ? undefined : place(good);
}
