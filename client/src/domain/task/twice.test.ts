import { describe, expect, test } from 'vitest';
import type { Change, Ctx, Kept } from './context';
import { position } from './screws';
import { concurrent } from './twice';
import { bare } from './world';

const screw = 'top:x';
let at = 0;
const entry = (id: string, after: string[], more: Partial<Change>): Kept<Change> => ({
  screw,
  type: 'move',
  after,
  id,
  at: ++at,
  by: '',
  ...more,
});
const world = (...changes: Kept<Change>[]): Ctx => ({ ...bare, changes });

describe('two phones turned the same screw apart', () => {
  const flush = entry('n', [], { type: 'neutral' });
  const mine = entry('a', ['n'], { minutes: 30 });
  const theirs = entry('b', ['n'], { minutes: 30 });

  test('both count, and it is asked', () => {
    const w = world(flush, mine, theirs);
    expect(position(w, screw)).toEqual({ known: 60 });
    expect(concurrent(w, screw)).toEqual([['a', 'b']]);
  });
  test('said to be the same, they count once and it is not asked again', () => {
    const w = world(flush, mine, theirs, entry('s', ['a', 'b'], { type: 'same', sameAs: ['a', 'b'] }));
    expect(position(w, screw)).toEqual({ known: 30 });
    expect(concurrent(w, screw)).toEqual([]);
  });
  test('said to be two, both count and it is not asked again', () => {
    const w = world(flush, mine, theirs, entry('s', ['a', 'b'], { type: 'same' }));
    expect(position(w, screw)).toEqual({ known: 60 });
    expect(concurrent(w, screw)).toEqual([]);
  });
  test('one after the other is no question', () => {
    expect(concurrent(world(flush, mine, entry('b', ['a'], { minutes: 30 })), screw)).toEqual([]);
  });
  test('two numbers of one dial ask for a look at it', () => {
    const one = entry('a', [], { type: 'dial', dialTenths: 30 });
    const other = entry('b', [], { type: 'dial', dialTenths: 35 });
    expect(concurrent(world(one, other), screw)).toEqual([['a', 'b']]);
    expect(concurrent(world(one, other, entry('c', ['a', 'b'], { type: 'dial', dialTenths: 35 })), screw)).toEqual([]);
  });
});
