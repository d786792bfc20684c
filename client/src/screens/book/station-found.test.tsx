import { describe, expect, it } from 'vitest';
import { boardOf, type Visit } from '../../domain/class-board';
import { asText, find, fire } from '../../ui/as-text';
import { OnBoard } from './station-found';

const stations = [3, 4].map((number) => ({ id: `s${number}`, number }));
const visit = (at: number, station: string, state: Visit['state']): Visit => ({ id: `v${at}`, at, station, state });

/** What stands there, and what its buttons wrote, as a board of the same stations. */
function shown(visits: readonly Visit[], card: { station?: number; at: number; state: Visit['state'] }) {
  const put: string[] = [];
  const board = boardOf(stations, visits);
  const part = OnBoard({ card: { seen: [], ...card }, board, at: 'c', name: 'Evening', onPut: (s) => put.push(s) });
  for (const button of find(part, (type) => type === 'button')) fire(button, 'onClick');
  const after = boardOf(stations, [...visits, ...put.map((s) => visit(99, s, card.state))]);
  return { words: asText(part), put, after: after.find((s) => s.id === 's4') };
}
const stop = visit(50, 's4', 'stop');

describe('a station’s card on the board', () => {
  it('lifts no stop, be it older or newer', () => {
    for (const at of [10, 90]) {
      const { words, put, after } = shown([stop], { station: 4, at, state: 'good' });
      expect(words).toContain('Station 4 stands at stop. A card does not lift it: change it on the board.');
      expect(words).toContain('href="/class/c"');
      expect(put).toEqual([]);
      expect(after?.state).toBe('stop');
    }
  });

  it('lifts no stop where its station is chosen by hand', () => {
    const { words, put } = shown([stop], { at: 90, state: 'waiting' });
    expect(words).toContain('Station 4 stands at stop.');
    expect(put).toEqual(['s3']);
  });

  it('brings a stop to any station, and anything to one that does not stand at stop', () => {
    expect(shown([stop], { station: 4, at: 90, state: 'stop' })).toMatchObject({
      put: ['s4'],
      after: { state: 'stop' },
    });
    const { words, put } = shown([visit(50, 's4', 'waiting')], { station: 4, at: 90, state: 'good' });
    expect(put).toEqual(['s4']);
    expect(words).not.toContain('older');
  });

  it('says that it is older than the last visit', () => {
    const { words, put } = shown([visit(50, 's4', 'waiting')], { station: 4, at: 10, state: 'good' });
    expect(words).toContain('This card is older than the last visit at Station 4.');
    expect(put).toEqual(['s4']);
  });
});
