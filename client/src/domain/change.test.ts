import { describe, expect, test } from 'vitest';
import {
  type ChangeRecord,
  ledger,
  movedSince,
  positionAt,
  positionsOfRounds,
  takeBacks,
  toStrike,
  turnBack,
  wayBack,
} from './change';

const screw = 'top:m';
type Row = readonly [id: string, what: string, after: string, more?: Partial<ChangeRecord>];

/** Rows in the order of their time: "+5", "-30", "neutral", "lost", "dial 35", "strike a", "same a b", "two". */
function book(...rows: readonly Row[]): ChangeRecord[] {
  return rows.map(([id, what, after, more], i) => ({
    id,
    at: (i + 1) * 10,
    screw,
    after: after === '' ? [] : after.split(' '),
    ...written(what),
    ...more,
  }));
}
function written(what: string): Pick<ChangeRecord, 'type'> & Partial<ChangeRecord> {
  const [word = '', a, b] = what.split(' ');
  if (/^[+-]\d+$/.test(word)) return { type: 'move', minutes: Number(word) };
  if (word === 'dial') return { type: 'dial', dialTenths: Number(a) };
  if (word === 'strike') return { type: 'strike', strikes: a };
  if (word === 'two') return { type: 'same', sameAs: [] };
  if (word === 'same') return { type: 'same', sameAs: [a ?? '', b ?? ''] };
  return { type: word as ChangeRecord['type'] };
}
const position = (...rows: readonly Row[]) => ledger(book(...rows), screw).position;
const known = (minutes: number) => ({ state: 'known', minutes });
const lost = (why: string) => ({ state: 'lost', why });

describe('where a screw stands', () => {
  test.each<[string, object, ...Row[]]>([
    ['nothing written', lost('no-neutral')],
    ['moves and no neutral', lost('no-neutral'), ['a', '+5', '']],
    ['neutral and moves', known(3), ['n', 'neutral', ''], ['a', '+5', 'n'], ['b', '-2', 'a']],
    ['a move before the neutral is behind it', known(5), ['a', '+30', ''], ['n', 'neutral', 'a'], ['b', '+5', 'n']],
    ['lost count', lost('lost-count'), ['n', 'neutral', ''], ['l', 'lost', 'n'], ['a', '+5', 'l']],
    ['a new neutral after a lost count', known(0), ['l', 'lost', ''], ['n', 'neutral', 'l']],
    ['struck', known(0), ['n', 'neutral', ''], ['a', '+5', 'n'], ['s', 'strike a', 'a']],
    [
      'struck twice counts once',
      known(2),
      ['n', 'neutral', ''],
      ['a', '+5', 'n'],
      ['b', '+2', 'a'],
      ['s', 'strike a', 'b'],
      ['t', 'strike a', 'b'],
    ],
    [
      'a struck lost count',
      known(5),
      ['n', 'neutral', ''],
      ['a', '+5', 'n'],
      ['l', 'lost', 'a'],
      ['s', 'strike l', 'l'],
    ],
    [
      'a strike can not be struck',
      known(0),
      ['n', 'neutral', ''],
      ['a', '+5', 'n'],
      ['s', 'strike a', 'a'],
      ['t', 'strike s', 's'],
    ],
    ['two phones: both moves count', known(10), ['n', 'neutral', ''], ['a', '+5', 'n'], ['b', '+5', 'n']],
    ['a move beside a neutral', lost('two-phones'), ['n', 'neutral', ''], ['m', 'neutral', 'n'], ['a', '+5', 'n']],
    [
      'and a neutral by somebody who saw both',
      known(0),
      ['n', 'neutral', ''],
      ['m', 'neutral', 'n'],
      ['a', '+5', 'n'],
      ['o', 'neutral', 'm a'],
    ],
    [
      'a further move does not tell which came first',
      lost('two-phones'),
      ['n', 'neutral', ''],
      ['m', 'neutral', 'n'],
      ['a', '+5', 'n'],
      ['b', '+5', 'm a'],
    ],
    [
      'a lost count beside a neutral',
      lost('two-phones'),
      ['n', 'neutral', ''],
      ['m', 'neutral', 'n'],
      ['l', 'lost', 'n'],
    ],
    ['two neutrals beside one another', known(5), ['n', 'neutral', ''], ['m', 'neutral', ''], ['a', '+5', 'n m']],
    [
      'a move that saw one of two neutrals',
      lost('two-phones'),
      ['n', 'neutral', ''],
      ['m', 'neutral', ''],
      ['a', '+5', 'n'],
    ],
    ['a record not arrived yet is no news', known(5), ['n', 'neutral', 'zz'], ['a', '+5', 'n yy']],
    [
      'joined counts once',
      known(5),
      ['n', 'neutral', ''],
      ['a', '+5', 'n'],
      ['b', '+5', 'n'],
      ['j', 'same a b', 'a b'],
    ],
    [
      'joined on both phones, each keeping the other',
      known(5),
      ['n', 'neutral', ''],
      ['a', '+5', 'n'],
      ['b', '+5', 'n'],
      ['j', 'same a b', 'a b'],
      ['k', 'same b a', 'a b'],
    ],
    [
      'joined, of which one is struck: the other counts',
      known(5),
      ['n', 'neutral', ''],
      ['a', '+5', 'n'],
      ['b', '+5', 'n'],
      ['j', 'same a b', 'a b'],
      ['s', 'strike a', 'j'],
    ],
    [
      'three that are one, of which the one that counts was struck: once still',
      known(5),
      ['n', 'neutral', ''],
      ['a', '+5', 'n'],
      ['b', '+5', 'n'],
      ['c', '+5', 'n'],
      ['j', 'same a', 'a b c', { sameAs: ['a', 'b', 'c'] }],
      ['s', 'strike a', 'j'],
    ],
    [
      'the amount that was said to count',
      known(10),
      ['n', 'neutral', ''],
      ['a', '+5', 'n'],
      ['b', '+10', 'n'],
      ['j', 'same b a', 'a b'],
    ],
    [
      'moves in a row are never the same one',
      known(10),
      ['n', 'neutral', ''],
      ['a', '+5', 'n'],
      ['b', '+5', 'a'],
      ['j', 'same a b', 'b'],
    ],
    [
      'turned back is a move of its own',
      known(0),
      ['n', 'neutral', ''],
      ['a', '+5', 'n'],
      ['b', 'back', 'a', { minutes: -5, backOf: 'a' }],
    ],
    ['a circle of records does not hang', known(5), ['n', 'neutral', 'a'], ['a', '+5', 'n']],
  ])('%s', (_name, want, ...rows) => {
    // A circle has no right reading; all that counts is that there is one.
    if (rows.some(([id, , after]) => id === 'n' && after === 'a')) expect(position(...rows)).toHaveProperty('state');
    else expect(position(...rows)).toEqual(want);
  });

  test.each<[string, object, ...Row[]]>([
    ['the number last read', { state: 'dial', tenths: 40 }, ['a', 'dial 35', ''], ['b', 'dial 40', 'a']],
    [
      'two numbers are kept and asked about',
      { state: 'dial', tenths: 40, ask: { why: 'two-numbers', numbers: [35, 40] } },
      ['z', 'dial 30', ''],
      ['a', 'dial 35', 'z'],
      ['b', 'dial 40', 'z'],
    ],
    ['the same number twice is one', { state: 'dial', tenths: 35 }, ['a', 'dial 35', ''], ['b', 'dial 35', '']],
    [
      'read again by somebody who saw both',
      { state: 'dial', tenths: 38 },
      ['a', 'dial 35', ''],
      ['b', 'dial 40', ''],
      ['c', 'dial 38', 'a b'],
    ],
    [
      'never lost, only to be looked at',
      { state: 'dial', tenths: 35, ask: { why: 'moved-since', numbers: [35] } },
      ['a', 'dial 35', ''],
      ['l', 'lost', 'a'],
    ],
    [
      'a struck number gives way to the one before',
      { state: 'dial', tenths: 35 },
      ['a', 'dial 35', ''],
      ['b', 'dial 40', 'a'],
      ['s', 'strike b', 'b'],
    ],
  ])('a dial: %s', (_name, want, ...rows) => expect(position(...rows)).toEqual(want));

  test('the line of a strike is never shown as struck', () => {
    const rows = book(['a', '+5', ''], ['s', 'strike a', 'a'], ['t', 'strike s', 's']);
    expect(ledger(rows, screw).lines.map((l) => l.struck)).toEqual([true, false, false]);
  });

  test('another screw is another ledger', () => {
    const records = [...book(['n', 'neutral', '']), ...book(['a', '+5', '', { screw: 'bobbin:c' }])];
    expect(ledger(records, screw).position).toEqual(known(0));
    expect(ledger(records, 'bobbin:c').heads).toEqual(['a']);
  });
});

describe('same change or two?', () => {
  const two: Row[] = [
    ['n', 'neutral', ''],
    ['a', '+5', 'n'],
    ['b', '+5', 'n'],
  ];
  const asked = (...rows: readonly Row[]) => ledger(book(...rows), screw).questions;
  const pair = [{ first: 'a', second: 'b' }];
  test.each<[string, object, ...Row[]]>([
    ['asked', pair, ...two],
    ['still asked after a further move', pair, ...two, ['c', '+5', 'a b']],
    ['one', [], ...two, ['j', 'same a b', 'a b']],
    ['two', [], ...two, ['j', 'two', 'a b']],
    ['one and two on two phones asks again', pair, ...two, ['j', 'same a b', 'a b'], ['k', 'two', 'a b']],
    ['the last word counts', [], ...two, ['j', 'same a b', 'a b'], ['k', 'two', 'a b'], ['l', 'two', 'j k']],
    ['a struck answer asks again', pair, ...two, ['j', 'same a b', 'a b'], ['s', 'strike j', 'j']],
    ['one of them struck', [], ...two, ['s', 'strike a', 'a b']],
    ['behind a newer neutral', [], ...two, ['m', 'neutral', 'a b']],
    [
      'the same amount is asked first',
      [{ first: 'a', second: 'c' }],
      ['n', 'neutral', ''],
      ['a', '+5', 'n'],
      ['b', '+30', 'n'],
      ['c', '+5', 'b'],
    ],
    ['moves in a row are not asked', [], ['n', 'neutral', ''], ['a', '+5', 'n'], ['b', '+5', 'a']],
  ])('%s', (_name, want, ...rows) => expect(asked(...rows)).toEqual(want));

  test('a joined line is struck with its twin', () => {
    const rows = book(...two, ['j', 'same a b', 'a b']);
    expect(toStrike(rows, 'b')).toEqual(['a', 'b']);
    expect(toStrike(rows, 'n')).toEqual(['n']);
    expect(ledger(rows, screw).lines.find((l) => l.record.id === 'b')?.joinedTo).toBe('a');
  });
});

describe('the way back', () => {
  const rows: Row[] = [
    ['n', 'neutral', ''],
    ['a', '+30', 'n'],
    ['b', '+60', 'a'],
    ['c', '-15', 'b'],
  ];
  test.each<[string, string, object, ...Row[]]>([
    ['to the last is no way', 'c', { way: 'turn', minutes: 0, counted: true }, ...rows],
    ['over two moves', 'a', { way: 'turn', minutes: -45, counted: true }, ...rows],
    ['to neutral', 'n', { way: 'turn', minutes: -75, counted: true }, ...rows],
    ['without any neutral', 'a', { way: 'turn', minutes: -5, counted: true }, ['a', '+30', ''], ['b', '+5', 'a']],
    [
      'a struck move is not undone again',
      'a',
      { way: 'turn', minutes: 15, counted: true },
      ...rows,
      ['s', 'strike b', 'c'],
    ],
    ['over a lost count there is none', 'a', { way: 'none' }, ...rows, ['l', 'lost', 'c']],
    [
      'across a neutral by its marker',
      'b',
      { way: 'turn', minutes: 85, counted: false },
      ...rows,
      ['m', 'neutral', 'c'],
      ['d', '+5', 'm'],
    ],
    ['to a number', 'a', { way: 'dial', tenths: 35 }, ['a', 'dial 35', ''], ['b', 'dial 40', 'a']],
    [
      'a move of another phone since counts',
      'a',
      { way: 'turn', minutes: -10, counted: true },
      ['n', 'neutral', ''],
      ['a', '+30', 'n'],
      ['b', '+5', 'a'],
      ['c', '+5', 'a'],
    ],
    [
      'joined with what was there already',
      'a',
      { way: 'turn', minutes: 0, counted: true },
      ['n', 'neutral', ''],
      ['a', '+5', 'n'],
      ['b', '+5', 'n'],
      ['j', 'same b a', 'a b'],
    ],
    ['to a record nobody has', 'q', { way: 'none' }, ...rows],
  ])('%s', (_name, to, want, ...r) => expect(wayBack(book(...r), screw, to)).toEqual(want));
});

describe('taking a line back', () => {
  const moved: Row[] = [
    ['n', 'neutral', ''],
    ['a', '+5', 'n'],
  ];
  const back = (id: string, of: string, after: string): Row => [id, 'back', after, { minutes: -5, backOf: of }];
  test.each<[string, string, object | string, ...Row[]]>([
    ['a move', 'a', { minutes: -5 }, ...moved],
    ['not twice', 'a', 'turned-already', ...moved, back('b', 'a', 'a')],
    ['but the turning back, once', 'b', { minutes: 5 }, ...moved, back('b', 'a', 'a')],
    ['and not twice either', 'b', 'turned-already', ...moved, back('b', 'a', 'a'), back('c', 'b', 'b')],
    [
      'again when the turning back was written wrong',
      'a',
      { minutes: -5 },
      ...moved,
      back('b', 'a', 'a'),
      ['s', 'strike b', 'b'],
    ],
    ['not what was written wrong', 'a', 'turned-already', ...moved, ['s', 'strike a', 'a']],
    [
      'of one change on two phones, once',
      'c',
      'turned-already',
      ...moved,
      ['c', '+5', 'n'],
      ['j', 'same a c', 'a c'],
      back('b', 'a', 'j'),
    ],
    ['a neutral is no move', 'n', 'nothing-to-turn', ...moved],
    ['nor is a strike', 's', 'nothing-to-turn', ...moved, ['s', 'strike a', 'a']],
    ['nor what nobody has', 'q', 'nothing-to-turn', ...moved],
    ['a number gets the one before', 'b', { dialTenths: 35 }, ['a', 'dial 35', ''], ['b', 'dial 40', 'a']],
    [
      'the one before that stands',
      'c',
      { dialTenths: 30 },
      ['a', 'dial 30', ''],
      ['b', 'dial 40', 'a'],
      ['s', 'strike b', 'b'],
      ['c', 'dial 45', 's'],
    ],
    ['the first number has none', 'a', 'nothing-to-turn', ['a', 'dial 35', '']],
    [
      'a number, not twice',
      'b',
      'turned-already',
      ['a', 'dial 35', ''],
      ['b', 'dial 40', 'a'],
      ['c', 'dial 35', 'b', { backOf: 'b' }],
    ],
  ])('%s', (_name, id, want, ...rows) => {
    const records = book(...rows);
    expect(turnBack(records, id)).toEqual(want);
    const offered = takeBacks(records, screw).get(id) ?? [];
    expect(offered.includes('turned-back')).toBe(typeof want !== 'string');
    expect(offered.includes('wrote-wrong')).toBe(toStrike(records, id).length > 0);
  });

  test('says which lines are turned back', () => {
    const rows = book(...moved, back('b', 'a', 'a'));
    expect(ledger(rows, screw).lines.map((l) => l.turnedBack)).toEqual([false, true, false]);
  });
});

test('a struck change is out of every round sewn after it', () => {
  const samples = [{ at: 15 }, { at: 25 }, { at: 45 }];
  const rows: Row[] = [
    ['n', 'neutral', ''],
    ['a', '+30', 'n'],
    ['b', '+15', 'a'],
  ];
  const minutes = (r: readonly Row[]) =>
    positionsOfRounds(book(...r), screw, samples).map(({ position: p }) => p.state === 'known' && p.minutes);
  expect(minutes(rows)).toEqual([0, 30, 45]);
  expect(minutes([...rows, ['s', 'strike a', 'b']])).toEqual([0, 0, 15]);
  expect(positionAt(book(...rows), screw, 25)).toEqual(known(30));
});

test('what was moved since a moment', () => {
  const rows: Row[] = [
    ['n', 'neutral', ''],
    ['a', '+30', 'n'],
    ['b', '-30', 'a'],
  ];
  expect(movedSince(book(...rows), screw, 10)).toBe(0);
  expect(movedSince(book(...rows), screw, 20)).toBe(-30);
  expect(movedSince(book(...rows, ['l', 'lost', 'b']), screw, 20)).toBe('lost');
});

test('ten thousand records in a row, oldest last in time, are read without a deep stack', () => {
  const rows = Array.from({ length: 10_000 }, (_, i) => ({
    id: `r${i}`,
    at: 10_000 - i,
    screw,
    type: i === 0 ? ('neutral' as const) : ('move' as const),
    minutes: i === 0 ? undefined : 1,
    after: i === 0 ? [] : [`r${i - 1}`],
  }));
  expect(ledger(rows, screw).position).toEqual(known(9_999));
});
