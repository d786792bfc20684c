import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { allowedSteps } from '../how-far';
import type { Change, Ctx, DropAnswer } from './context';
import { gates, statesOf } from './gates';
import { type Advice, nextStep } from './next-step';
import { bobbinCase, filled, machine, otherCase } from './world';

const began = filled.now - 600_000;
const own = { by: '', balancing: 'b' };
const place = { balancing: 'b', round: 1 };
const [top, bobbin] = [`top:${machine}`, `bobbin:${bobbinCase}`];

type Parts = {
  readonly score?: readonly number[]; // rays of this round; none: not sewn
  readonly marks?: readonly string[];
  readonly findings?: Readonly<Record<string, string>>;
  readonly drops?: readonly (readonly [DropAnswer, string?])[]; // three alike each, and the case
  readonly changes?: readonly (Partial<Change> & { readonly at?: number })[];
  readonly events?: readonly (readonly [type: string, step?: string, at?: number])[];
  readonly ctx?: Partial<Ctx>;
  readonly skipped?: readonly string[];
};
const looked = { card_spring: 'clean', threading_walk: 'right', pull_top: 'as_usual' };

function advise(p: Parts): Advice {
  const ctx: Ctx = {
    ...filled,
    balancings: [{ id: 'b', by: '', at: began, machine, quilt: filled.bench.quilt }],
    readings: (p.drops ?? [['right']]).map(([answer, c], i) => ({
      ...own,
      id: `r${i}`,
      at: began + 10 + i,
      type: 'drop',
      bobbinCase: c ?? bobbinCase,
      thread: filled.bench.bobbinThread,
      drops: answer === 'creeps' ? [{ answer }, { answer: 'right' }] : [{ answer }, { answer }, { answer }],
    })),
    samples: p.score
      ? [
          {
            ...own,
            ...place,
            id: 's',
            at: began + 40,
            allAlike: new Set(p.score).size === 1,
            rays: p.score.map((score, i) => ({
              direction: p.score?.length === 2 ? i * 180 : i * 45,
              score,
              marks: p.marks,
            })),
          },
        ]
      : [],
    findings: Object.entries(p.findings ?? looked).map(([finding, state], i) => ({
      ...own,
      ...place,
      id: `f${i}`,
      at: began + 20,
      finding,
      state,
    })),
    changes: (p.changes ?? []).map((c, i) => ({
      id: `c${i}`,
      by: '',
      at: began + 30 + i,
      screw: top,
      type: 'move',
      after: i > 0 ? [`c${i - 1}`] : [],
      ...c,
    })),
    events: (p.events ?? []).map(([type, step, at], i) => ({
      ...own,
      id: `e${i}`,
      at: at ?? began + 50 + i,
      type,
      step,
    })),
    ...p.ctx,
  };
  return nextStep(ctx, place, p.skipped ?? []);
}
const said = (a: Advice) => {
  const what =
    'finding' in a
      ? a.finding
      : 'action' in a
        ? a.action
        : 'minutes' in a
          ? `${a.screw.split(':')[0]} ${a.minutes}`
          : 'screw' in a
            ? a.screw.split(':')[0]
            : undefined;
  return `${[a.do, what].filter((x) => x !== undefined).join(' ')}: ${a.why}`;
};
const quilts = (work: 'show' | 'custom' | 'edge-to-edge' | 'practice') => ({
  quilts: filled.quilts.map((q) => ({ ...q, work })),
});
const good = ['good', undefined, began - 1000] as const;
const earlier = (screw: string, minutes = 5) => ({ screw, minutes, at: began - 500, after: [] });

describe('by feel, before anything is sewn', () => {
  const light = { card_spring: 'clean', threading_walk: 'right', pull_top: 'light', floss_discs: 'clean' };
  const stiff = { ...looked, pull_top: 'stiff' };
  const turnedIt = { changes: [earlier(top)], events: [good] };
  it.each<[string, Parts, string]>([
    ['light: a turn tighter', { findings: light }, 'turn top 60: by-feel'],
    ['stiff: a turn looser', { findings: stiff }, 'turn top -60: by-feel'],
    ['discs before the knob', { findings: { ...looked, pull_top: 'light' } }, 'check floss_discs: pull_top'],
    ['lint and path before it', { findings: { pull_top: 'stiff' } }, 'check card_spring: before-knobs'],
    ['as usual: sew', {}, 'sew: not-sewn'],
    ['the bobbin is not proven', { findings: stiff, drops: [] }, 'drop: bobbin-first'],
    ['the drop is out too: no single screw', { findings: stiff, drops: [['short']] }, 'sew: not-sewn'],
    ['sewn already: by the lines', { findings: stiff, score: [0, 0] }, 'good: balanced'],
    ['what was named says the other side', { findings: { ...stiff, top_on_back: 'dots' } }, 'sew: not-sewn'],
    ['a gate stands', { findings: { ...stiff, pattern_time: 'start_only' } }, 'sew: not-sewn'],
    ['nothing was changed since it was good', { findings: stiff, events: [good] }, 'sew: not-sewn'],
    ['but the top was', { findings: stiff, ...turnedIt }, 'turn top -60: by-feel'],
  ])('%s', (_name, parts, wanted) => {
    expect(said(advise(parts))).toBe(wanted);
  });
});

describe('which thread pulls harder', () => {
  it.each<[string, Parts, string]>([
    [
      'a: the bobbin was turned since all was good',
      { score: [1, 1], changes: [earlier(bobbin)], events: [good] },
      'turn bobbin -5: just-changed',
    ],
    ['a: the top was', { score: [1, 1], changes: [earlier(top)], events: [good] }, 'turn top 30: just-changed'],
    [
      'a: both were, so it tells nothing',
      { score: [1, 1], changes: [earlier(top), earlier(bobbin)], events: [good] },
      'turn top 30: top-on-back',
    ],
    [
      'a: before it was good tells nothing',
      { score: [1, 1], changes: [{ ...earlier(bobbin), at: began - 2000 }], events: [good] },
      'turn top 30: top-on-back',
    ],
    ['b: it falls', { score: [1, 1], drops: [['falls']] }, 'turn bobbin 5: drop-out'],
    ['b: it barely moves', { score: [1, 1], drops: [['short']] }, 'turn bobbin -5: drop-out'],
    [
      'b: small when the last move went too far',
      { score: [1, 1], drops: [['short']], changes: [{ screw: bobbin, minutes: 5, at: began + 1, balancing: 'b' }] },
      'turn bobbin -2: drop-out',
    ],
    [
      'b: turned since that test: drop again',
      { score: [1, 1], drops: [['short']], changes: [{ screw: bobbin, minutes: -5, at: began + 30, balancing: 'b' }] },
      'drop: bobbin-first',
    ],
    [
      'b: and not on the old test, where no new one is made',
      {
        score: [1, 1],
        drops: [['short']],
        skipped: ['drop'],
        changes: [{ screw: bobbin, minutes: -5, at: began + 30, balancing: 'b' }],
      },
      'turn bobbin -5: loosen-first',
    ],
    [
      'b: a test of another case is not of this one',
      { score: [1, 1], drops: [['short', otherCase]] },
      'turn bobbin -5: loosen-first',
    ],
    [
      'c: stiff and bobbin on top',
      { score: [-1, -1], findings: { ...looked, pull_top: 'stiff' } },
      'turn top -45: bobbin-on-top',
    ],
    [
      'c: stiff and top on the back',
      { score: [1, 1], findings: { ...looked, pull_top: 'stiff' } },
      'check floss_discs: feel-disagrees',
    ],
    [
      'c: all looked at and nothing found: what is stiff is not tightened',
      {
        score: [1, 1],
        findings: { ...looked, pull_top: 'stiff', floss_discs: 'clean', hook_look: 'clean', supply_look: 'fine' },
      },
      'check needle_size: tells',
    ],
    ['d: both in band', { score: [1, 1] }, 'turn top 30: top-on-back'],
    [
      'e: both out',
      { score: [2, 2], drops: [['falls']], findings: { ...looked, pull_top: 'light', floss_discs: 'clean' } },
      'neutral bobbin: both-out',
    ],
    [
      'e: both out and yet balanced, but slack',
      { score: [0, 0], marks: ['lifts'], drops: [['falls']], findings: { ...looked, pull_top: 'light' } },
      'neutral bobbin: both-out',
    ],
    [
      'f: it draws in, and the drop is in band',
      { score: [1, 1], marks: ['draws-in'] },
      'check floss_discs: drop-disagrees',
    ],
    [
      'f: no drop was made',
      { score: [1, 1], marks: ['draws-in'], drops: [], skipped: ['drop'] },
      'turn bobbin -5: loosen-winner',
    ],
    [
      'f: the bobbin thread breaks',
      { score: [1, 1], findings: { ...looked, bobbin_breaks: 'some', overspin: 'stops', bobbin_look: 'fine' } },
      'check floss_discs: drop-disagrees',
    ],
    [
      'g: it lifts',
      { score: [-1, -1], marks: ['lifts'], drops: [], skipped: ['drop'] },
      'turn bobbin 5: tighten-loser',
    ],
    ['g: the top loses', { score: [1, 1], marks: ['lifts'] }, 'turn top 30: tighten-loser'],
    ['h: nothing tested', { score: [1, 1], drops: [], skipped: ['drop'] }, 'turn bobbin -5: loosen-first'],
    [
      'i: the top is at its end',
      { score: [1, 1], changes: [{ type: 'neutral' }, { minutes: 300 }] },
      'turn bobbin -5: top-at-end',
    ],
  ])('%s', (_name, parts, want) => expect(said(advise(parts))).toBe(want));
});

describe('the rules around it', () => {
  const jerky = [['creeps']] as const;
  const bobbinLooks = { ...looked, bobbin_look: 'fine', swap_bobbin: 'no_change' };
  it.each<[string, Parts, string]>([
    ['three that disagree come before anything sewn', { drops: jerky, findings: {} }, 'check card_spring: disagree'],
    ['then the bobbin', { drops: jerky }, 'check bobbin_look: disagree'],
    ['then another case', { drops: jerky, findings: bobbinLooks }, 'act swap_case: disagree'],
    [
      'which is dropped too',
      { drops: jerky, findings: bobbinLooks, events: [['step', 'swap_case']] },
      'drop: bobbin-first',
    ],
    [
      'two cases that disagree are no case',
      { drops: [['creeps'], ['creeps', otherCase]], findings: bobbinLooks },
      'technician: two-cases',
    ],
    [
      'a lost count asks for neutral before a knob',
      { score: [1, 1], changes: [{ type: 'neutral' }, { type: 'lost' }] },
      'neutral top: lost-count',
    ],
    [
      'two phones that disagree too',
      { score: [1, 1], changes: [{ type: 'neutral' }, { type: 'neutral' }, { minutes: 30, after: ['c0'] }] },
      'neutral top: two-phones',
    ],
    [
      'two jams that somebody has lifted the machine from since',
      { score: [1, 1], events: [['jam'], ['jam'], ['lifted']] },
      'turn top 30: top-on-back',
    ],
    [
      'a dial that went up and was too much comes down by a small step',
      {
        score: [-1, -1],
        changes: [
          { type: 'dial', dialTenths: 30, balancing: 'b' },
          { type: 'dial', dialTenths: 35, balancing: 'b' },
        ],
      },
      'turn top -15: bobbin-on-top',
    ],
    [
      'a new needle since it was good is looked at first',
      { score: [1, 1], events: [good, ['new-needle', undefined, began - 10]] },
      'check needle_look: since-good',
    ],
    ['no neutral yet is no lost count', { score: [1, 1], changes: [] }, 'turn top 30: top-on-back'],
    [
      'put off, the knob turns all the same',
      { score: [1, 1], changes: [{ type: 'lost' }], skipped: ['neutral'] },
      'turn top 30: top-on-back',
    ],
    ['two jams in a day', { score: [1, 1], events: [['jam'], ['jam']] }, 'technician: two-jams'],
    [
      'one today and one the day before',
      { score: [0, 0], events: [['jam'], ['jam', undefined, began - 24 * 3_600_000]] },
      'good: balanced',
    ],
    [
      'a knob that does nothing, thread in the discs',
      { score: [1, 1], findings: { ...looked, top_knob_response: 'no_change' } },
      'technician: knob-dead',
    ],
    ['dots pass for edge to edge', { score: [1, 1], ctx: quilts('edge-to-edge') }, 'good: tolerance'],
    ['not for custom in two colours', { score: [1, 1] }, 'turn top 30: top-on-back'],
    [
      'for custom in like colours',
      { score: [1, 1], ctx: { threads: filled.threads.map((t) => ({ ...t, colour: '#113388' })) } },
      'good: tolerance',
    ],
    ['show wants all directions', { score: [0, 0], ctx: quilts('show') }, 'star: all-directions'],
    ['or what there is', { score: [0, 0], ctx: quilts('show'), skipped: ['star'] }, 'good: balanced'],
    [
      'in the middle of a quilt: the look before the sample',
      { findings: { ...looked, nest: 'start', random_loops: 'back' }, ctx: middle() },
      'check supply_look: random_loops',
    ],
    ['at its start: the sample first', { findings: { ...looked, random_loops: 'back' } }, 'sew: not-sewn'],
  ])('%s', (_name, parts, want) => expect(said(advise(parts))).toBe(want));
});

function middle(): Partial<Ctx> {
  const { quilt } = filled.bench;
  return {
    balancings: [
      { id: 'a', by: '', at: began - 9000, machine, quilt, ended: 'good-enough' },
      { id: 'b', by: '', at: began, machine, quilt },
    ],
  };
}

describe('whatever is known', () => {
  const found = fc.dictionary(
    fc.constantFrom(
      ...gates.map(([f]) => f),
      ...gates.flatMap((g) => g[2]).filter((l) => !l.startsWith('!')),
      'pull_top',
      'card_spring',
      'threading_walk',
      'noise',
      'hand_turn',
    ),
    fc.nat(4),
    { maxKeys: 8, noNullPrototype: true },
  );
  const parts = fc.record({
    score: fc.option(
      fc.oneof(
        fc.array(fc.integer({ min: -2, max: 2 }), { minLength: 2, maxLength: 8 }),
        fc.integer({ min: -2, max: 2 }).map((n) => [n, n]),
      ),
      { nil: undefined },
    ),
    marks: fc.subarray(['both-faces', 'lifts', 'draws-in', 'cant-tell'], { maxLength: 1 }),
    found: fc.oneof(
      found,
      found.map((f) => ({ ...f, card_spring: 0, threading_walk: 0, pull_top: 0 })),
    ),
    drops: fc.array(fc.constantFrom<DropAnswer>('falls', 'creeps', 'nothing', 'short', 'right', 'far'), {
      maxLength: 2,
    }),
    moves: fc.array(
      fc.record({
        screw: fc.constantFrom(top, bobbin),
        minutes: fc.constantFrom(-30, -5, 5, 30, 400),
        balancing: fc.constantFrom('b', 'a'),
        type: fc.constantFrom<Change['type']>('move', 'neutral', 'lost'),
      }),
      { maxLength: 4 },
    ),
    steps: fc.subarray(['new_needle', 'swap_case', 'known_thread', 'patch_care', 'loosen_rollers', 'checked']),
    skipped: fc.subarray([
      'drop',
      'feel',
      'sew',
      'star',
      'neutral',
      'technician',
      'card_spring',
      'push_up',
      'new_needle',
      'accept',
    ]),
  });

  it('one thing at a time, no knob where a look stands open, nothing done or put off asked again', () => {
    const told: Record<string, number> = {};
    fc.assert(
      fc.property(parts, (p) => {
        const findings = Object.fromEntries(
          Object.entries(p.found).flatMap(([f, n]) => {
            const s = statesOf(f);
            return s ? [[f, s[n % s.length] ?? ''] as const] : [];
          }),
        );
        const a = advise({
          score: p.score,
          marks: p.marks,
          findings,
          drops: p.drops.map((d) => [d] as const),
          changes: p.moves.map((m) => (m.type === 'move' ? m : { screw: m.screw, type: m.type })),
          events: p.steps.map((s) => ['step', s] as const),
          skipped: p.skipped,
        });
        told[a.do] = (told[a.do] ?? 0) + 1;
        const unsafe = findings.noise === 'tick' || findings.hand_turn === 'binds' || findings.nest === 'any';
        if (unsafe && !p.steps.includes('checked')) expect(a.do).toBe('stop');
        if (a.do === 'check') expect([...p.skipped, ...Object.keys(findings)]).not.toContain(a.finding);
        if (a.do === 'act') expect([...p.skipped, ...p.steps]).not.toContain(a.action);
        if (a.do === 'technician' || a.do === 'neutral' || a.do === 'star') expect(p.skipped).not.toContain(a.do);
        if (a.do !== 'turn') return;
        expect(a.screw === top ? allowedSteps.top : [2, 5]).toContain(Math.abs(a.minutes));
        expect(p.drops.length > 0 || p.skipped.includes('drop')).toBe(true);
        expect(p.drops.at(-1) === 'creeps' && !p.moves.some((m) => m.screw === bobbin)).toBe(false);
        expect(new Set((p.score ?? []).map(Math.sign)).size).toBeLessThan(2);
        for (const [finding, states, looks] of gates)
          if (states.includes(findings[finding] ?? ''))
            for (const look of looks) {
              const name = look.replace('!', '');
              expect([...p.skipped, ...p.steps, ...Object.keys(findings)], `${finding} asks for ${look}`).toContain(
                name,
              );
            }
      }),
      { numRuns: 2_000, seed: 7 },
    );
    for (const what of ['turn', 'check', 'act', 'drop', 'sew', 'stop', 'neutral', 'technician', 'good', 'star', 'see'])
      expect(told[what] ?? 0, what).toBeGreaterThan(1);
  }, 60_000);
});
