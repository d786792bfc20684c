import { describe, expect, it } from 'vitest';
import { curedOtherwise } from './put-back';
import { filled, machine } from './world';

const top = `top:${machine}`;
const base = { by: '', balancing: 'b', round: 1 };
const move = (at: number, minutes: number, why?: string) => ({
  ...base,
  id: `m${at}`,
  at,
  screw: top,
  type: 'move' as const,
  minutes,
  after: [],
  why,
});
const read = (at: number, dialTenths: number, balancing = 'b') => ({
  ...move(at, 0),
  minutes: undefined,
  type: 'dial' as const,
  dialTenths,
  balancing,
});
const sewn = (at: number) => ({ ...base, id: `s${at}`, at, rays: [], allAlike: true });
const needle = (at: number) => ({ ...base, id: `e${at}`, at, type: 'new-needle' });
const odd = { ...base, id: 'f', at: 9, finding: 'constructor', state: 'x' };
const ctx = (parts: Partial<typeof filled>) => ({ ...filled, ...parts });

describe('after the cure', () => {
  it.each([
    [
      'a needle after two moves',
      { samples: [sewn(1)], changes: [move(2, 30), move(3, 15)], events: [needle(4)] },
      { screw: top, minutes: -45 },
    ],
    [
      'lint after a move',
      {
        samples: [sewn(1)],
        changes: [move(2, 30)],
        findings: [{ ...base, id: 'f', at: 4, finding: 'card_spring', state: 'lint' }],
      },
      { screw: top, minutes: -30 },
    ],
    [
      'a clean card',
      {
        samples: [sewn(1)],
        changes: [move(2, 30)],
        findings: [{ ...base, id: 'f', at: 4, finding: 'card_spring', state: 'clean' }],
      },
      undefined,
    ],
    [
      'a screw turned after the needle',
      { samples: [sewn(1)], changes: [move(2, 30), move(5, 15)], events: [needle(4)] },
      undefined,
    ],
    [
      'put back already',
      { samples: [sewn(1)], changes: [move(2, 30), move(5, -30, 'put back')], events: [needle(4)] },
      undefined,
    ],
    [
      'a dial: the number it had',
      { samples: [sewn(1)], changes: [read(0, 40, 'other'), read(2, 45), read(3, 50)], events: [needle(4)] },
      { screw: top, dial: 40 },
    ],
    [
      'a dial that has its number again',
      { samples: [sewn(1)], changes: [read(0, 40, 'other'), read(2, 45), read(3, 40)], events: [needle(4)] },
      undefined,
    ],
    [
      'a dial that was never read before',
      { samples: [sewn(1)], changes: [read(2, 45)], events: [needle(4)] },
      undefined,
    ],
    [
      'a dial turned after the needle',
      { samples: [sewn(1)], changes: [read(0, 40, 'other'), read(5, 45)], events: [needle(4)] },
      undefined,
    ],
    [
      'struck as wrong',
      {
        samples: [sewn(1)],
        changes: [move(2, 30), { ...move(3, 0), minutes: undefined, type: 'strike' as const, strikes: 'm2' }],
        events: [needle(4)],
      },
      undefined,
    ],
    [
      'a needle before anything was sewn',
      { samples: [sewn(5)], changes: [move(2, 30)], events: [needle(1)] },
      undefined,
    ],
    ['a finding nobody knows', { samples: [sewn(1)], changes: [move(2, 30)], findings: [odd] }, undefined],
    ['nothing turned', { samples: [sewn(1)], events: [needle(4)] }, undefined],
    [
      'another balancing',
      { samples: [sewn(1)], changes: [{ ...move(2, 30), balancing: 'other' }], events: [needle(4)] },
      undefined,
    ],
  ])('%s', (_name, parts, wanted) => {
    expect(curedOtherwise(ctx(parts), 'b')).toEqual(wanted);
  });
});
