import { describe, expect, it } from 'vitest';
import type { Ctx } from './context';
import { gates, mending, remedies, statesOf } from './gates';
import { type Advice, nextStep } from './next-step';
import { filled, machine } from './world';

const top = `top:${machine}`;
const own = { by: '', balancing: 'b' };
type Parts = {
  readonly scores?: readonly (readonly number[])[]; // a row of rays per round
  readonly marks?: readonly string[];
  readonly findings?: readonly (readonly [string, string])[]; // of the last round
  readonly moves?: readonly number[];
  readonly events?: readonly string[]; // steps done, or "new-needle"
  readonly undropped?: true;
  readonly minutes?: number;
};
const right = [1, 2, 3].map(() => ({ answer: 'right' as const }));
const looked: readonly (readonly [string, string])[] = [
  ['card_spring', 'clean'],
  ['threading_walk', 'right'],
  ['pull_top', 'as_usual'],
];

function advise(p: Parts, skipped: readonly string[] = []): Advice {
  const scores = p.scores ?? [[0, 0]];
  const round = scores.length;
  const began = filled.now - (p.minutes ?? 10) * 60_000;
  const ctx: Ctx = {
    ...filled,
    balancings: [{ id: 'b', by: '', at: began, machine }],
    readings: p.undropped
      ? []
      : [{ ...own, id: 'r', at: began + 1, type: 'drop', drops: right, bobbinCase: filled.bench.bobbinCase }],
    samples: scores.map((rays, i) => ({
      ...own,
      id: `s${i}`,
      at: began + 2 * i,
      round: i + 1,
      allAlike: new Set(rays).size === 1,
      rays: rays.map((score, d) => ({ direction: d * 45, score, marks: i === round - 1 ? p.marks : undefined })),
    })),
    findings: (p.findings ?? looked).map(([finding, state], i) => ({
      ...own,
      id: `f${i}`,
      at: began + i,
      round,
      finding,
      state,
    })),
    changes: (p.moves ?? []).map((minutes, i) => ({
      ...own,
      id: `m${i}`,
      at: began + 2 * i + 1, // after that round, before the next
      screw: top,
      type: 'move' as const,
      minutes,
      after: [],
    })),
    events: (p.events ?? []).map((e, i) => ({
      ...own,
      id: `e${i}`,
      at: began + (e === 'checked' ? 60 : i), // after what was found
      type: e === 'new-needle' ? e : 'step',
      step: e,
    })),
  };
  return nextStep(ctx, { balancing: 'b', round }, skipped);
}
const short = (a: Advice) =>
  [
    a.do,
    'finding' in a
      ? a.finding
      : 'action' in a
        ? a.action
        : 'minutes' in a
          ? a.minutes
          : 'happened' in a
            ? a.happened
            : undefined,
  ]
    .filter((x) => x !== undefined)
    .join(' ');
const plus = (...more: readonly (readonly [string, string])[]) => [...looked, ...more];

describe('next step', () => {
  it.each<[string, Parts, string, string?]>([
    ['a tick is safety, whatever else', { findings: plus(['noise', 'tick']), scores: [[2, 2]] }, 'stop knock'],
    ['a knock too', { findings: plus(['noise', 'knock']) }, 'stop knock'],
    ['a smell', { findings: plus(['warning', 'smell']), scores: [[1, 1]] }, 'stop heat'],
    ['an error shown', { findings: plus(['warning', 'error']) }, 'stop runs-by-itself'],
    ['a loose case is safety', { findings: plus(['case_seat', 'loose']) }, 'stop knock'],
    ['a wad is safety', { findings: plus(['nest', 'any']) }, 'stop jam'],
    ['a motor that does not obey is safety', { findings: plus(['command_check', 'no']) }, 'stop runs-by-itself'],
    ['not again once gone through', { findings: plus(['noise', 'tick']), events: ['checked'] }, 'good'],
    ['what was found is mended first', { findings: plus(['push_up', 'drum']), scores: [[1, 1]] }, 'act loosen_rollers'],
    ['and once only', { findings: plus(['push_up', 'drum']), scores: [[1, 1]], events: ['loosen_rollers'] }, 'turn 30'],
    ['a nick is a technician’s', { findings: plus(['hook_look', 'nick']) }, 'technician'],
    ['the bobbin comes first', { undropped: true, scores: [[1, 1]] }, 'drop'],
    ['balanced', { scores: [[0, 0]] }, 'good'],
    ['lint and path before a knob', { findings: [], scores: [[1, 1]] }, 'check card_spring'],
    ['then the path', { findings: [['card_spring', 'clean']], scores: [[1, 1]] }, 'check threading_walk'],
    ['then the feel', { findings: looked.slice(0, 2), scores: [[1, 1]] }, 'feel'],
    [
      'no drag is the discs before the knob',
      { findings: [...looked.slice(0, 2), ['pull_top', 'light']], scores: [[2, 2]] },
      'check floss_discs',
    ],
    ['top dots on the back: tighten the top', { scores: [[1, 1]] }, 'turn 30'],
    ['top loops on the back: further, one turn at most', { scores: [[2, 2]] }, 'turn 60'],
    ['bobbin dots on top: loosen it', { scores: [[-1, -1]] }, 'turn -30'],
    ['bobbin loops on top: further', { scores: [[-2, -2]] }, 'turn -60'],
    [
      'gone too far: back by less than it came',
      {
        scores: [
          [1, 1],
          [-1, -1],
        ],
        moves: [30],
      },
      'turn -15',
    ],
    ['all off to one side is a setting, however unlike', { scores: [[1, 2]] }, 'turn 45'],
    ['one direction only is no setting: the star', { scores: [[0, 2]] }, 'star'],
    ['then the look that promises most', { scores: [[0, 2, 0, 0]] }, 'check needle_look'],
    ['at random is no setting', { findings: plus(['pattern_time', 'random']), scores: [[1, 1]] }, 'check supply_look'],
    ['at starts only: the tails', { findings: plus(['nest', 'start']), scores: [[1, 1]] }, 'check tails'],
    ['over patches only', { findings: plus(['patch_only', 'yes']), scores: [[1, 1]] }, 'act patch_care'],
    ['puckered: loosen the winner', { marks: ['draws-in'], scores: [[0, 0]] }, 'turn -30'],
    ['lifts: tighten the loser', { marks: ['lifts'], scores: [[0, 0]] }, 'turn 30'],
    ['dots on both faces: needle before knobs', { marks: ['both-faces'], scores: [[0, 0]] }, 'check needle_size'],
    ['nothing to be told by eye', { marks: ['cant-tell'], scores: [[0, 0]] }, 'see'],
    [
      'but slack on the back by the pin',
      { marks: ['cant-tell'], findings: plus(['firmness', 'slack_back']) },
      'turn 30',
    ],
    ['and slack on top', { marks: ['cant-tell'], findings: plus(['firmness', 'slack_top']) }, 'turn -30'],
    ['and snug', { marks: ['cant-tell'], findings: plus(['firmness', 'snug']) }, 'good'],
    [
      'three moves without a gain: stop turning',
      {
        scores: [
          [1, 1],
          [1, 1],
          [1, 1],
          [1, 1],
        ],
        moves: [30, 30, 30],
      },
      'check check_spring',
    ],
    [
      'back and forth: stop turning',
      {
        scores: [
          [1, 1],
          [-1, -1],
          [1, 1],
        ],
        moves: [30, -15],
      },
      'check check_spring',
    ],
    [
      'then the needle',
      {
        scores: [
          [2, 2],
          [2, 2],
          [2, 2],
          [2, 2],
        ],
        moves: [30, 30, 30],
        findings: plus(['check_spring', 'full'], ['hook_look', 'clean']),
      },
      'act new_needle',
    ],
    [
      'then neutral',
      {
        scores: [
          [2, 2],
          [2, 2],
          [2, 2],
          [2, 2],
        ],
        moves: [30, 30, 30],
        findings: plus(['check_spring', 'full'], ['hook_look', 'clean']),
        events: ['new-needle'],
      },
      'neutral',
    ],
    [
      'long and no better: a technician',
      {
        scores: [
          [1, 1],
          [1, 1],
          [2, 2],
          [2, 2],
        ],
        minutes: 50,
        moves: [30],
      },
      'technician',
    ],
    [
      'not before its time',
      {
        scores: [
          [1, 1],
          [1, 1],
          [2, 2],
          [2, 2],
        ],
        minutes: 40,
        moves: [30],
      },
      'check floss_discs', // it got worse by being tightened: thread and path before the knob
    ],
  ])('%s', (_name, parts, wanted) => {
    expect(short(advise(parts))).toBe(wanted);
  });

  it('goes through the circle to the end: neutral, a thread one trusts, accept, technician', () => {
    const parts: Parts = {
      scores: [
        [1, 1],
        [1, 1],
        [1, 1],
        [1, 1],
      ],
      moves: [30, 30, 30],
      findings: plus(['check_spring', 'full'], ['hook_look', 'clean']),
      events: ['new-needle'],
    };
    const seen: string[] = [];
    const skipped: string[] = [];
    for (let i = 0; i < 4; i++) {
      const a = advise(parts, skipped);
      seen.push(short(a));
      skipped.push(a.do === 'act' ? a.action : a.do === 'good' ? 'accept' : a.do);
    }
    expect(seen).toEqual(['neutral', 'act known_thread', 'good', 'technician']);
  });

  it('accepts dots that dense cloth can’t hide, and does not call dots on both faces balanced', () => {
    const marks = ['both-faces'];
    const fine = plus(['needle_size', 'fits'], ['push_up', 'soft'], ['batting_side', 'right']);
    const dense = { marks, findings: [...fine, ['backing', 'dense'] as const] };
    expect(advise(dense)).toEqual({ do: 'good', why: 'dense' });
    expect(advise(dense, ['accept'])).not.toMatchObject({ do: 'good' });
    expect(advise({ marks, findings: fine }).why).not.toBe('balanced');
  });

  it('forgets what was seen in a round that is over', () => {
    const one = advise({
      scores: [
        [1, 1],
        [0, 0],
      ],
      findings: looked,
    });
    expect(short(one)).toBe('good');
  });

  it('knows the states of every look it can ask for, and an act for nothing that is normal', () => {
    const looks = [...gates.flatMap((g) => g[2]).filter((l) => !l.startsWith('!')), ...mending];
    expect(looks.filter((l) => !statesOf(l))).toEqual([]);
    for (const [finding, state] of remedies) {
      const states = statesOf(finding) ?? [];
      expect(states.indexOf(state), `${finding} ${state}`).toBeGreaterThan(0);
    }
  });
});
