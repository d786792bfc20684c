import { describe, expect, test } from 'vitest';
import { looksSince, sinceGood } from './since-good';
import type { Change, Ctx } from './task/context';
import { bobbinCase, filled, machine, otherCase } from './task/world';

const event = (type: string, at: number) => ({ id: `${type}${at}`, by: '', at, type });
const change = (at: number, more: Partial<Change>) => ({
  id: `c${at}`,
  by: '',
  at,
  screw: `top:${machine}`,
  type: 'move' as const,
  minutes: 30,
  after: [],
  ...more,
});
const since = (more: Partial<Ctx>) => sinceGood({ ...filled, ...more });

describe('since it was last good', () => {
  test('nothing to say before it ever was', () => {
    expect(since({ events: [event('new-bobbin', 5)] })).toBeUndefined();
    expect(looksSince(undefined)).toEqual([]);
  });

  test('the newest of each fact and of each field of the bench, newest first', () => {
    const got = since({
      events: [
        event('new-needle', 5),
        event('good', 10),
        event('new-bobbin', 20),
        event('cleaned', 30),
        event('new-bobbin', 50),
      ],
      benchAt: { topThread: 40, backing: 9, quilt: 10 },
    });
    expect(got).toEqual({
      goodAt: 10,
      items: [
        { what: 'new-bobbin', at: 50 },
        { what: 'topThread', at: 40 },
        { what: 'cleaned', at: 30 },
      ],
      changes: 0,
    });
    expect(looksSince(got)).toEqual(['bobbin_look', 'threading_walk', 'case_seat']);
  });

  test('changes of the top and of the case that is in, without those struck or older', () => {
    const got = since({
      events: [event('good', 10)],
      changes: [
        change(5, {}),
        change(11, {}),
        change(12, { screw: `bobbin:${bobbinCase}`, minutes: 5 }),
        change(13, { screw: `bobbin:${otherCase}`, minutes: 5 }),
        change(14, { screw: 'top:another' }),
        change(15, { after: ['c11'] }),
        change(16, { type: 'strike', minutes: undefined, strikes: 'c15', after: ['c15'] }),
        change(17, { type: 'neutral', minutes: undefined, after: ['c16'] }),
      ],
    });
    expect(got?.changes).toBe(2);
  });

  test('another cone is noticed, and what was looked at since is not asked again', () => {
    const got = since({ events: [event('good', 1), event('new-bobbin', 5), event('new-cone', 9)] });
    expect(got?.items.map((i) => i.what)).toEqual(['new-cone', 'new-bobbin']);
    expect(looksSince(got)).toEqual(['supply_look', 'bobbin_look']);
    expect(looksSince(got, [{ finding: 'supply_look', at: 8 }])).toEqual(['supply_look', 'bobbin_look']);
    expect(looksSince(got, [{ finding: 'supply_look', at: 10 }])).toEqual(['bobbin_look']);
  });

  test('two things that ask for the same look ask once', () => {
    const got = since({ events: [event('good', 1), event('new-needle', 2)], benchAt: { needle: 3 } });
    expect(looksSince(got)).toEqual(['needle_look']);
  });
});
