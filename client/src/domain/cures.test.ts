import { describe, expect, it } from 'vitest';
import { cureOf, oftenCured } from './cures';
import type { Ctx } from './task/context';
import { filled, machine } from './task/world';

const own = { by: '', balancing: 'b', round: 1 };
const sample = (at: number, score: number) => ({
  ...own,
  id: `s${at}`,
  at,
  allAlike: true,
  rays: [{ direction: 0 as const, score }],
});
const bad: Ctx = { ...filled, samples: [sample(10, 1), sample(90, 0)] };
const finding = (at: number, f: string, state: string) => ({ ...own, id: `f${at}`, at, finding: f, state });
const event = (at: number, type: string, step?: string) => ({ ...own, id: `e${at}`, at, type, step });
const move = (at: number, screw: string, minutes: number) => ({
  ...own,
  id: `c${at}`,
  at,
  screw,
  type: 'move' as const,
  minutes,
  after: [],
});

describe('what cured it', () => {
  it.each<[string, Partial<Ctx>, string | undefined]>([
    ['nothing was done', {}, undefined],
    ['lint came out', { findings: [finding(20, 'card_spring', 'lint')] }, 'lint_bobbin_spring'],
    ['nothing came out', { findings: [finding(20, 'card_spring', 'clean')] }, undefined],
    ['a new needle', { events: [event(20, 'new-needle')] }, 'needle_worn'],
    ['an act', { events: [event(20, 'step', 'net_and_centre')] }, 'thread_whip'],
    ['a note is no act', { events: [event(20, 'step', 'toString')] }, undefined],
    ['the top looser', { changes: [move(20, `top:${machine}`, -30)] }, 'top_too_tight'],
    ['the case tighter', { changes: [move(20, 'bobbin:x', 5)] }, 'bobbin_too_loose'],
    [
      'the last of them',
      { changes: [move(20, `top:${machine}`, -30)], findings: [finding(30, 'floss_discs', 'debris')] },
      'lint_discs',
    ],
    ['not what was mended before anything bad was sewn', { findings: [finding(5, 'card_spring', 'lint')] }, undefined],
    [
      'a move written wrong turned nothing',
      {
        changes: [
          move(20, `top:${machine}`, -30),
          { ...own, id: 'x', at: 25, screw: `top:${machine}`, type: 'strike', strikes: 'c20', after: ['c20'] },
        ],
      },
      undefined,
    ],
  ])('%s', (_name, parts, want) => expect(cureOf({ ...bad, ...parts }, 'b')).toBe(want));

  it('is nothing where all was good from the start', () => {
    const good = { ...filled, samples: [sample(10, 0)], events: [event(20, 'new-needle')] };
    expect(cureOf(good, 'b')).toBeUndefined();
  });
});

describe('what cured this machine most', () => {
  const day = 24 * 3_600_000;
  const ended = (cured: string, daysAgo: number, id: string) => ({
    id,
    by: '',
    at: filled.now - daysAgo * day,
    machine,
    ended: 'good-enough',
    cured,
  });
  const told = (...all: readonly (readonly [string, number])[]) =>
    oftenCured({ ...filled, balancings: all.map(([c, d], i) => ended(c, d, String(i))) });
  it('counts a year, from two times, and no settings', () => {
    expect(told(['lint_discs', 3], ['lint_discs', 80], ['needle_worn', 9])).toEqual({ cause: 'lint_discs', times: 2 });
    expect(told(['lint_discs', 3], ['lint_discs', 366])).toBeUndefined();
    expect(told(['top_too_tight', 1], ['top_too_tight', 2], ['lint_hook', 3])).toBeUndefined();
    expect(told()).toBeUndefined();
  });
});
