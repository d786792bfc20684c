import { describe, expect, it } from 'vitest';
import type { Ctx, Drop, Kept, Reading } from './context';
import { bandOf, dropState, dropsAlike, dropVerdict } from './drop-verdict';
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
      ? [{ id: 'c', at: 20, by: '', screw: `bobbin:${bobbinCase}`, type: 'move', minutes: -5, after: [] }]
      : [],
  };
  const v = dropVerdict(ctx, 'now');
  return `${v.state}: ${v.act} ${v.minutes ?? ''}`.trim();
}

const wanted: readonly (readonly [string, string])[] = [
  // in band before, turned since, thread changed, three agree, other case known
  ['-----', 'jerky: checks'],
  ['----o', 'jerky: checks'],
  ['---a-', 'falls: turn 5'],
  ['---ao', 'falls: turn 5'],
  ['--t--', 'jerky: checks'],
  ['--t-o', 'jerky: case'],
  ['--ta-', 'falls: turn 5'],
  ['--tao', 'falls: case 5'],
  ['-s---', 'jerky: checks'],
  ['-s--o', 'jerky: checks'],
  ['-s-a-', 'falls: turn 5'],
  ['-s-ao', 'falls: turn 5'],
  ['-st--', 'jerky: checks'],
  ['-st-o', 'jerky: case'],
  ['-sta-', 'falls: turn 5'],
  ['-stao', 'falls: case 5'],
  ['b----', 'jerky: checks'],
  ['b---o', 'jerky: checks'],
  ['b--a-', 'falls: checks 5'],
  ['b--ao', 'falls: checks 5'],
  ['b-t--', 'jerky: checks'],
  ['b-t-o', 'jerky: case'],
  ['b-ta-', 'falls: turn 5'],
  ['b-tao', 'falls: case 5'],
  ['bs---', 'jerky: checks'],
  ['bs--o', 'jerky: checks'],
  ['bs-a-', 'falls: turn 5'],
  ['bs-ao', 'falls: turn 5'],
  ['bst--', 'jerky: checks'],
  ['bst-o', 'jerky: case'],
  ['bsta-', 'falls: turn 5'],
  ['bstao', 'falls: case 5'],
];

describe('the verdict reads the ledger', () => {
  it('has all 32 rows', () => {
    expect(new Set(wanted.map(([row]) => row)).size).toBe(32);
  });
  it.each(wanted)('%s → %s', (row, says) => {
    const [b, s, t, a, o] = [...row].map((c) => c !== '-') as [boolean, boolean, boolean, boolean, boolean];
    expect(verdict(b, s, t, a, o)).toBe(says);
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
