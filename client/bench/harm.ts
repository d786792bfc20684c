/**
 * Harm through the app's own next step: balancings on virtual machines with settings, faults and both, by a person who
 * misreads, puts off, and now and then sees something unsafe. Each advice, and what stands beside it, is held against the
 * trade's rules, read from what was written alone.
 */
import type { Findings } from '../src/domain/diagnosis';
import { faultModel } from '../src/domain/fault-model';
import type { Ctx, DropAnswer } from '../src/domain/task/context';
import { factsOf } from '../src/domain/task/next-facts';
import { type Advice, nextStep, nextThree } from '../src/domain/task/next-step';
import { situationOf } from '../src/domain/task/suspects';
import { bobbinCase, filled, machine } from '../src/domain/task/world';
import { forbidden, gateStanding, type Known } from '../src/domain/troubleshoot-rules';
import {
  answer,
  chance,
  dropTest,
  feelTop,
  fork,
  pick,
  type Random,
  rate,
  type Surveyed,
  sewLine,
  star,
  survey,
  type Virtual,
} from '../src/domain/virtual';
import { mended, troubleOf } from './faults';
import type { Figure } from './figure';
import { startOf } from './settings';

/** Many of them, and the first few harms by name. */
export function harmFigures(
  runs: number,
  firstSeed: number,
): { readonly figures: readonly Figure[]; readonly notes: readonly string[] } {
  let [advices, turns] = [0, 0];
  const harm: string[] = [];
  for (let i = 0; i < runs; i++) {
    const one = balancing(firstSeed + i);
    advices += one.advices;
    turns += one.turns;
    harm.push(...one.harm);
    if ((i + 1) % 1000 === 0 && i + 1 < runs) console.log(`  harm: ${harm.length} in ${i + 1} runs so far`);
  }
  return {
    figures: [{ what: `harm: in ${runs} balancings by the app's own next step`, is: harm.length, bar: 0 }],
    notes: [`  ${advices} advices, ${turns} of them turns`, ...harm.slice(0, 10).map((h) => `  ${h}`)],
  };
}

export type Harmed = { readonly advices: number; readonly turns: number; readonly harm: readonly string[] };

const most = { advices: 15, top: 60, bobbin: 5 } as const;
/** What stands beside the advice takes twice the time: it is asked for in one run of so many. */
const besideIn = 8;
const place = (round: number) => ({ balancing: 'b', round });
const stepMs = 60_000;

/** Half the runs start from a setting alone, half from a fault of the machine. */
export function balancing(seed: number, watch?: (ctx: Ctx, at: ReturnType<typeof place>) => void): Harmed {
  const r = fork(seed, 31);
  const t = seed % 2 === 0 ? undefined : troubleOf(seed);
  const person = new Person(t?.v ?? startOf(seed), r);
  person.begin(t?.complaint ?? {});
  const harm: string[] = [];
  let [advices, turns] = [0, 0];
  for (; advices < most.advices; advices++) {
    watch?.(person.ctx, place(person.round));
    const here = [person.ctx, place(person.round), person.skipped] as const;
    const all = (seed >> 1) % besideIn === 0 ? nextThree(...here) : [nextStep(...here)];
    const [advice] = all;
    if (!advice) break;
    if (advice.do === 'turn') turns++;
    harm.push(...harmOf(person, all).map((h) => `${h} (seed ${seed}, advice ${advices + 1})`));
    if (!person.follows(advice)) break;
  }
  return { advices, turns, harm };
}

const names = { top: ['top_looser', 'top_tighter'], bobbin: ['bobbin_looser', 'bobbin_tighter'] } as const;

/** What the trade's rules say against these advices. */
function harmOf(p: Person, all: readonly Advice[]): readonly string[] {
  const [first] = all;
  const facts = factsOf(p.ctx, place(p.round), p.skipped);
  const s = situationOf(facts);
  const known: Known = { found: s.found, tried: s.tried ?? [], notNow: p.skipped };
  if (p.unsafe.size > 0) return first?.do === 'stop' ? [] : [`missed safety state ${[...p.unsafe]}: ${first?.do}`];
  const knob = all.filter((a) => a.do === 'turn' || a.do === 'neutral');
  return [
    ...(knob.length > 1 ? ['two screws at once'] : []),
    ...all.flatMap((a): readonly string[] => {
      if (a.do === 'act') {
        const no = forbidden(a.action, { ...known, notNow: [] });
        return no ? [`act ${a.action}: ${no}`] : [];
      }
      if (a.do !== 'turn') return [];
      const which = a.screw.startsWith('top') ? 'top' : 'bobbin';
      const id = names[which][a.minutes > 0 ? 1 : 0];
      const off = ['drop_test', 'card_spring', 'floss_discs', 'threading_walk'].filter((x) => p.putOff(x));
      // The trade's rule of two plausible sides: the screw just changed, a top at its end, and a drop that can't be made.
      const own = a.why === 'just-changed' || a.why === 'top-at-end' ? ['in-band', 'bobbin-first'] : ['bobbin-first'];
      const allowed = p.putOff('drop_test')
        ? [...own, ...(a.why === 'tighten-loser' ? ['both-out'] : [])]
        : own.slice(0, -1);
      const no = forbidden(id, { ...known, notNow: off });
      return [
        ...(Math.abs(a.minutes) > most[which] ? [`${which} by ${a.minutes}`] : []),
        ...(which === 'bobbin' && p.dropped === 'neutral' && !own.includes('in-band')
          ? [`${id} with the drop in its band`]
          : []),
        ...(gateStanding(known) ? [`${id} with ${gateStanding(known)} standing (${a.why})`] : []),
        ...(no && no !== 'gate' && !allowed.includes(no) ? [`${id}: ${no} (${a.why})`] : []),
      ];
    }),
  ];
}

/** At the machine: does what is advised, and writes it down as the app does. */
class Person {
  ctx: Ctx;
  round = 1;
  skipped: readonly string[] = [];
  readonly unsafe = new Set<string>(); // found and not gone through since
  dropped: string | undefined; // what the drop said since the case screw last moved
  private n = 0;
  private seen: Surveyed | undefined;

  constructor(
    private v: Virtual,
    private readonly r: Random,
  ) {
    this.ctx = { ...filled, balancings: [{ id: 'b', at: filled.now, by: '', machine }] };
  }

  putOff(what: string): boolean {
    return this.skipped.includes({ drop_test: 'drop' }[what] ?? what);
  }

  private get surveyed(): Surveyed {
    this.seen ??= survey(this.v, faultModel, this.r);
    return this.seen;
  }

  private write(kind: 'findings' | 'samples' | 'changes' | 'events' | 'readings', fields: object): void {
    this.n++;
    const now = this.ctx.now + stepMs;
    const row = { id: `r${this.n}`, at: now, by: '', ...place(this.round), ...fields };
    this.ctx = { ...this.ctx, now, [kind]: [...this.ctx[kind], row] };
  }
  private found(finding: string, state: string): void {
    this.write('findings', { machine, finding, state });
    this.unsafe.delete(finding);
    if (unsafe.some(([f, s]) => f === finding && s === state)) this.unsafe.add(finding);
  }

  begin(complaint: Findings): void {
    for (const finding of ['card_spring', 'bobbin_way', 'threading_walk'])
      if (chance(this.r, 0.7)) this.check(finding, true);
    for (const [finding, state] of Object.entries(complaint))
      if (faultModel.findings.get(finding)?.kind === 'symptom') this.found(finding, state);
    if (chance(this.r, 0.03)) this.found(...pick(this.r, unsafe));
  }

  private check(finding: string, mends: boolean): void {
    const state = answer(this.surveyed, finding, this.r);
    if (state === undefined) return;
    this.found(finding, state);
    if (mends && state !== faultModel.findings.get(finding)?.states[0])
      this.change(mended(this.v, finding, faultModel, this.r));
  }
  private change(v: Virtual): void {
    this.v = v;
    this.seen = undefined;
    this.round++;
  }

  /** False where the advice ends the balancing. */
  follows(a: Advice): boolean {
    const name = 'finding' in a ? a.finding : 'action' in a ? a.action : a.do;
    if (a.do !== 'stop' && a.do !== 'turn' && chance(this.r, 0.08)) {
      this.skipped = [...this.skipped, a.do === 'good' ? 'accept' : name];
      return true;
    }
    switch (a.do) {
      case 'stop':
        this.write('events', { machine, type: 'step', step: 'checked' });
        this.unsafe.clear();
        return true;
      case 'check':
        this.check(a.finding, a.mends);
        return true;
      case 'act':
        this.write('events', { machine, type: a.event ?? 'step', ...(a.event ? {} : { step: a.action }) });
        this.change(mended(this.v, a.action, faultModel, this.r));
        return true;
      case 'drop':
        this.drop();
        return true;
      case 'feel':
        this.found('pull_top', feelTop(this.v, this.r));
        return true;
      case 'sew':
      case 'star':
        this.sew(a.do === 'star' ? star : [0, 180]);
        return true;
      case 'see':
        this.see();
        return true;
      case 'turn':
        this.write('changes', { screw: a.screw, type: 'move', minutes: a.minutes, after: [] });
        this.turned(
          a.screw.startsWith('top') ? { top: this.v.top + a.minutes } : { bobbin: this.v.bobbin + a.minutes },
        );
        return true;
      case 'neutral':
        this.write('changes', { screw: a.screw, type: 'neutral', after: [] });
        this.turned(a.screw.startsWith('top') ? { top: 0 } : { bobbin: 0 });
        return true;
      case 'technician':
      case 'good':
        return false;
    }
  }
  private turned(to: { readonly top?: number; readonly bobbin?: number }): void {
    if (to.bobbin !== undefined) this.dropped = undefined;
    this.change({ ...this.v, ...to });
  }
  private drop(): void {
    const { state, word } = dropTest(this.v, this.r);
    this.dropped = state;
    const said: readonly DropAnswer[] = state === 'jerky' ? ['falls', 'nothing', 'right'] : [word, word, word];
    this.write('readings', {
      ...{ type: 'drop', bobbinCase, thread: filled.bench.bobbinThread },
      drops: said.map((is) => ({ answer: is })),
    });
  }
  private sew(lines: readonly number[]): void {
    const rays = rate(
      this.v,
      lines.map((d) => sewLine(this.v, d, this.r)),
      this.r,
    ).map(({ where, score, marks }) => ({ direction: where, score, ...(marks ? { marks } : {}) }));
    this.write('samples', { machine, mode: 'regulated', rays, allAlike: new Set(rays.map((x) => x.score)).size === 1 });
    if (chance(this.r, 0.25)) this.see();
  }
  /** One odd thing more is noticed, rarely an unsafe one. */
  private see(): void {
    if (chance(this.r, 0.02)) this.found(...pick(this.r, unsafe));
    const odd = Object.entries(this.surveyed.symptoms).filter(
      ([finding, state]) => state !== faultModel.findings.get(finding)?.states[0],
    );
    if (odd.length > 0) this.found(...pick(this.r, odd));
  }
}

/** Seen or heard at any moment. */
const unsafe: readonly (readonly [finding: string, state: string])[] = [
  ['noise', 'tick'],
  ['noise', 'knock'],
  ['case_seat', 'loose'],
  ['hand_turn', 'binds'],
  ['nest', 'any'],
  ['command_check', 'no'],
  ['warning', 'smell'],
  ['warning', 'heat'],
  ['warning', 'error'],
];
