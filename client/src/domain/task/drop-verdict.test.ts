import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import type { Change, Ctx, Drop, Kept, Reading } from './context';
import { bandOf, type DropVerdict, dropState, dropsAlike, dropVerdict } from './drop-verdict';
import { bobbinCase, filled, otherCase } from './world';

const thread = 'thread-now';
const reading = (id: string, at: number, more: Partial<Reading>): Kept<Reading> => ({
  id,
  at,
  by: '',
  type: 'drop',
  bobbinCase,
  thread,
  ...more,
});
const drops = (...answers: Drop['answer'][]) => answers.map((answer) => ({ answer }));
const right = drops('right', 'right', 'right');

/** Five facts, 32 rows: what the same three drops lead to. */
function verdict(inBand: boolean, turned: boolean, newThread: boolean, agree: boolean, other: boolean) {
  const ctx: Ctx = {
    ...filled,
    readings: [
      reading('before', 10, {
        drops: inBand ? right : drops('short', 'short', 'short'),
        thread: newThread ? 'thread-before' : thread,
      }),
      ...(other ? [reading('other', 11, { bobbinCase: otherCase, drops: right })] : []),
      reading('now', 30, { drops: agree ? drops('falls', 'falls', 'falls') : drops('falls', 'nothing', 'right') }),
    ],
    changes: turned
      ? [{ id: 'c', at: 20, by: '', screw: `bobbin:${bobbinCase}`, type: 'move', minutes: -10, after: [] }]
      : [],
  };
  const v = dropVerdict(ctx, 'now');
  return [
    v.why === 'other-case' && v.state === 'jerky' ? 'new thread, three disagree' : says[v.why],
    v.act === 'turn' && v.why === 'turned-since' ? `turn it back: ${v.minutes} tighter` : acts(v),
  ];
}
const says: { readonly [why in DropVerdict['why']]: string } = {
  'in-band': 'in band',
  disagree: 'three disagree',
  'nobody-turned': 'in band before, nobody turned it',
  'turned-since': 'turned since it was in band',
  'not-proven': 'never in band, nobody turned it',
  'new-thread': 'new thread',
  'other-case': 'new thread',
  'no-gain': 'three turns, no gain',
  out: 'turned, and out of band still',
};
const acts = (v: DropVerdict) =>
  ({
    on: 'on',
    checks: 'card under the spring',
    turn: `turn the screw ${v.minutes} tighter`,
    case: 'put in the case that was in band with it',
    technician: 'technician',
  })[v.act];

const table = readFileSync(new URL('../../../../testdata/trade/verdicts.txt', import.meta.url), 'utf8')
  .split('\n')
  .filter((l) => /^(yes|no) /.test(l))
  .map((l) => l.split(/\s{2,}/));

describe('the verdict reads the ledger', () => {
  it('has all 32 rows', () => {
    expect(new Set(table.map((cells) => cells.slice(0, 5).join())).size).toBe(32);
    expect(table).toHaveLength(32);
  });
  it.each(table)('in band %s, turned %s, thread %s, agree %s, other %s: %s → %s', (...cells) => {
    const [b, s, t, a, o] = cells.slice(0, 5).map((c) => c === 'yes') as [boolean, boolean, boolean, boolean, boolean];
    expect(verdict(b, s, t, a, o)).toEqual(cells.slice(5));
  });

  const turned = (...moves: readonly Partial<Change>[]): Ctx => ({
    ...filled,
    readings: [
      reading('before', 10, { drops: right }),
      reading('now', 30, { drops: drops('falls', 'falls', 'falls') }),
    ],
    changes: moves.map((m, i) => ({
      id: `c${i}`,
      at: 20 + i,
      by: '',
      screw: `bobbin:${bobbinCase}`,
      type: 'move',
      after: i > 0 ? [`c${i - 1}`] : [],
      ...m,
    })),
  });
  const why = (ctx: Ctx, looked = false) => dropVerdict(ctx, 'now', looked).why;
  it('a struck move turned nothing, nor did one that was turned back', () => {
    expect(why(turned({ minutes: -10 }, { type: 'strike', strikes: 'c0' }))).toBe('nobody-turned');
    expect(why(turned({ minutes: -10 }, { type: 'back', minutes: 10 }))).toBe('nobody-turned');
  });
  it('where nobody turned it, tells when it was in band and how far it fell', () => {
    const inBandThen = (was: Partial<Reading>) => {
      const known = turned();
      const readings = [reading('before', 10, was), ...known.readings.slice(1)];
      return dropVerdict({ ...known, readings }, 'now').before;
    };
    const long = [55, 45, 50].map((tenthsIn): Drop => ({ answer: 'right', tenthsIn }));
    expect(inBandThen({ drops: long })).toEqual({ at: 10, tenthsIn: 50 });
    expect(inBandThen({ drops: [...long, { answer: 'right', tenthsIn: 55, out: true }] })).toEqual({
      at: 10,
      tenthsIn: 50,
    });
    expect(inBandThen({ drops: right })).toEqual({ at: 10 });
    expect(inBandThen({ type: 'finger', answer: 'tips' })).toEqual({ at: 10 });
    expect(dropVerdict(turned({ minutes: -10 }), 'now').before).toBeUndefined();
  });
  it('a move the other way is not undone', () => {
    expect(dropVerdict(turned({ minutes: 10 }), 'now')).toMatchObject({ act: 'turn', minutes: 5, why: 'out' });
  });
  it('a lost count can not be turned back', () => {
    expect(dropVerdict(turned({ minutes: -10 }, { type: 'lost' }), 'now')).toMatchObject({ minutes: 5, why: 'out' });
  });
  it('after the looks the screw is offered', () => {
    expect(dropVerdict(turned(), 'now')).toMatchObject({ act: 'checks' });
    expect(dropVerdict(turned(), 'now', true)).toMatchObject({ act: 'turn', minutes: 5 });
  });
});

describe('another case is offered to a new thread', () => {
  const out = drops('falls', 'falls', 'falls');
  const then = (...others: readonly Kept<Reading>[]) =>
    dropVerdict(
      {
        ...filled,
        readings: [
          reading('before', 10, { drops: right, thread: 'thread-before' }),
          ...others,
          reading('now', 30, { drops: out }),
        ],
      },
      'now',
    ).act;
  const other = (id: string, at: number, more: Partial<Reading> = {}) =>
    reading(id, at, { bobbinCase: otherCase, drops: right, ...more });

  it('where it was in band with this same thread', () => {
    expect(then(other('a', 11))).toBe('case');
    expect(then(other('a', 11, { thread: 'a third' }))).toBe('turn');
    expect(then(other('a', 11, { bobbinCase: undefined }))).toBe('turn');
  });
  it('where that was its last test: neither out of band since, nor set for another thread since', () => {
    expect(then(other('a', 11), other('b', 12, { drops: out }))).toBe('turn');
    expect(then(other('a', 11), other('b', 12, { thread: 'a third' }))).toBe('turn');
    expect(then(other('a', 11, { drops: out }), other('b', 12))).toBe('case');
    expect(then(other('a', 11), other('b', 12, { drops: out, interrupted: true }))).toBe('case'); // cut off: no test
  });
});

describe('finger pads', () => {
  it.each([
    ['tips', 'neutral'],
    ['lifts', 'barely'],
    ['flat', 'falls'],
    ['constructor', undefined],
  ] as const)('%s says %s', (answer, wanted) => {
    expect(dropState(filled, { ...reading('r', 1, {}), type: 'finger', answer } as never)).toBe(wanted);
  });
});

describe('tiles and lengths', () => {
  const state = (...rows: Drop[]) => dropState(filled, reading('r', 1, { drops: rows }));
  it.each<[Drop, string]>([
    [{ answer: 'falls' }, 'falls'],
    [{ answer: 'far' }, 'falls'],
    [{ answer: 'creeps' }, 'jerky'],
    [{ answer: 'nothing' }, 'barely'],
    [{ answer: 'short' }, 'barely'],
    [{ answer: 'right' }, 'neutral'],
    [{ answer: 'right', tenthsIn: 70 }, 'falls'],
    [{ answer: 'short', tenthsIn: 45 }, 'neutral'],
    [{ answer: 'falls', tenthsIn: 45 }, 'falls'],
  ])('%j → %s', (drop, says) => {
    expect(state(drop, drop, drop)).toBe(says);
  });
  it.each<[string, readonly number[], string]>([
    ['all in band, and too far apart for one length', [41, 50, 59], 'jerky'],
    ['apart by a reading', [45, 50, 55], 'neutral'],
    ['on both edges of the band, and one length', [38, 42, 44], 'neutral'],
    ['the middle one out of it', [33, 37, 42], 'barely'],
  ])('three lengths %s', (_name, lengths, says) => {
    expect(state(...lengths.map((tenthsIn) => ({ answer: 'right' as const, tenthsIn })))).toBe(says);
  });
  it('leaves out what was thrown out or hidden, and says nothing of nothing', () => {
    expect(state({ answer: 'right' }, { answer: 'falls', out: true }, { hidden: true })).toBe('neutral');
    expect(state()).toBeUndefined();
  });
});

describe('band', () => {
  const long = [41, 44, 47].map((tenthsIn) => ({ answer: 'right' as const, tenthsIn }));
  const good = (at: number) => ({ id: `g${at}`, at, by: '', type: 'good', bobbinCase });
  const band = (rows: readonly Kept<Reading>[], events: Ctx['events'], of = thread) =>
    bandOf({ ...filled, readings: rows, events }, bobbinCase, of);

  it('is 4 to 6 in until three lengths stood under a "Good now", then those, at least 2 in wide', () => {
    expect(band([reading('r', 1, { drops: long })], [])).toEqual({ from: 40, to: 60 });
    expect(band([reading('r', 1, { drops: long })], [good(2)])).toEqual({ from: 34, to: 54 });
    const wide = [30, 44, 60].map((tenthsIn) => ({ answer: 'right' as const, tenthsIn }));
    expect(band([reading('r', 1, { drops: wide })], [good(2)])).toEqual({ from: 30, to: 60 });
  });
  it('reaches shorter for a bobbin that has run down, further for a fuller one, and only where both fills are known', () => {
    const at = (learned: 'full' | 'half' | 'low' | undefined, now: 'full' | 'half' | 'low' | undefined) =>
      bandOf(
        { ...filled, readings: [reading('r', 1, { drops: long, fill: learned })], events: [good(2)] },
        bobbinCase,
        thread,
        now,
      );
    expect(at('full', 'full')).toEqual({ from: 34, to: 54 });
    expect(at('full', 'half')).toEqual({ from: 29, to: 54 });
    expect(at('full', 'low')).toEqual({ from: 24, to: 54 });
    expect(at('low', 'full')).toEqual({ from: 34, to: 64 });
    expect(at(undefined, 'low')).toEqual({ from: 34, to: 54 });
    expect(at('full', undefined)).toEqual({ from: 34, to: 54 });
  });
  it('is not learned from a test after which the screw was turned', () => {
    const turned = (at: number) =>
      bandOf(
        {
          ...filled,
          readings: [reading('r', 1, { drops: long })],
          events: [good(3)],
          changes: [{ id: 'c', at, by: '', screw: `bobbin:${bobbinCase}`, type: 'move', minutes: 5, after: [] }],
        },
        bobbinCase,
        thread,
      );
    expect(turned(2)).toEqual({ from: 40, to: 60 });
    expect(turned(4)).toEqual({ from: 34, to: 54 });
  });
  it('never reaches below nothing', () => {
    const short = [2, 3, 4].map((tenthsIn) => ({ answer: 'right' as const, tenthsIn }));
    expect(band([reading('r', 1, { drops: short })], [good(2)])).toEqual({ from: 0, to: 20 });
  });
  it('is replaced by no tiles alone, no two lengths, no other thread, no interrupted test, no later test’s "Good now"', () => {
    const usual = { from: 40, to: 60 };
    expect(band([reading('r', 1, { drops: right })], [good(2)])).toEqual(usual);
    expect(band([reading('r', 1, { drops: long.slice(1) })], [good(2)])).toEqual(usual);
    expect(band([reading('r', 1, { drops: long })], [good(2)], 'another')).toEqual(usual);
    expect(band([reading('r', 1, { drops: long, interrupted: true })], [good(2)])).toEqual(usual);
    expect(band([reading('r', 1, { drops: long }), reading('s', 2, { drops: right })], [good(3)])).toEqual(usual);
  });
});

describe('after a fall', () => {
  const alike = (now: Drop['answer'], last?: Drop['answer']) =>
    dropsAlike(
      {
        ...filled,
        readings: [
          ...(last ? [reading('l', 1, { drops: drops(last, last, last) })] : []),
          reading('n', 2, { drops: drops(now, now, now) }),
        ],
      },
      'n',
    );
  it('three drops agree with the record, or not', () => {
    expect([alike('right'), alike('right', 'right'), alike('short', 'short')]).toEqual([true, true, true]);
    expect([alike('falls'), alike('falls', 'right'), alike('right', 'short')]).toEqual([false, false, false]);
  });
});
