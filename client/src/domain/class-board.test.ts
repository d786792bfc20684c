import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { backAfterMs, backTo, boardOf, givenHow, type Station, tellAll, type Visit } from './class-board';

const stations: readonly Station[] = Array.from({ length: 15 }, (_, i) => ({ id: `s${i + 1}`, number: i + 1 }));
const visit = (at: number, n: number, state: Visit['state'], step?: Visit['step']): Visit => ({
  ...{ id: `v${at}`, at, station: `s${n}`, state },
  ...(step && { step }),
});
const numbers = (rows: readonly Station[]) => rows.map((r) => r.number);

describe('the board', () => {
  it('shows each station by its last visit, and those not seen as they are', () => {
    const rows = boardOf(stations, [visit(1, 4, 'waiting'), visit(9, 4, 'good'), visit(5, 2, 'waiting')]);
    expect(rows.slice(0, 4)).toEqual([
      { id: 's1', number: 1 },
      { id: 's2', number: 2, state: 'waiting', at: 5 },
      { id: 's3', number: 3 },
      { id: 's4', number: 4, state: 'good', at: 9 },
    ]);
  });

  it('puts what must stop on top, and the rest by number', () => {
    const rows = boardOf(stations, [visit(1, 12, 'stop'), visit(2, 7, 'stop'), visit(3, 3, 'good')]);
    expect(numbers(rows)).toEqual([7, 12, 1, 2, 3, 4, 5, 6, 8, 9, 10, 11, 13, 14, 15]);
    expect(numbers(boardOf(stations, [visit(1, 12, 'stop'), visit(2, 12, 'waiting')]))[0]).toBe(1);
  });

  it('says whom to go back to, the longest waited for first, until they were visited', () => {
    const given = [visit(100, 5, 'step', 'needle'), visit(50, 9, 'step', 'card')];
    const due = (visits: readonly Visit[], now: number) => numbers(backTo(boardOf(stations, visits), now));
    expect(due(given, 50 + backAfterMs - 1)).toEqual([]);
    expect(due(given, 50 + backAfterMs)).toEqual([9]);
    expect(due(given, 100 + backAfterMs)).toEqual([9, 5]);
    expect(due([...given, visit(200, 9, 'good')], 1e9)).toEqual([5]);
    expect(boardOf(stations, [...given, visit(200, 9, 'good')])[8]).toMatchObject({ state: 'good', step: 'card' });
  });

  it('tells everyone what three stations needed, and not what one needed three times', () => {
    const thrice = [visit(1, 1, 'step', 'card'), visit(2, 2, 'step', 'card'), visit(3, 3, 'step', 'card')];
    expect(tellAll(thrice)).toEqual(['card']);
    expect(tellAll(thrice.map((v) => ({ ...v, station: 's1' })))).toEqual([]);
    expect(tellAll(thrice.slice(1))).toEqual([]);
    expect(givenHow([...thrice, visit(4, 9, 'step', 'needle')])).toEqual([
      ['card', 3],
      ['needle', 1],
    ]);
  });

  it('is the same in whatever order the visits come', () => {
    const some = fc.array(
      fc.record({
        id: fc.uuid(),
        at: fc.integer({ min: 0, max: 3 }),
        station: fc.constantFrom('s1', 's2', 's3'),
        state: fc.constantFrom('waiting' as const, 'good' as const, 'stop' as const),
      }),
    );
    fc.assert(
      fc.property(some, (visits) => {
        expect(boardOf(stations, visits.toReversed())).toEqual(boardOf(stations, visits));
      }),
    );
  });
});
