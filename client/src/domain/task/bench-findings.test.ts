import { describe, expect, it } from 'vitest';
import { findingStates } from '../knowledge/findings';
import { benchFindings, onsetOf } from './bench-findings';
import type { Ctx } from './context';
import { bare, bobbinCase, filled, machine } from './world';

const good = { id: 'g', by: '', at: 1_000, type: 'good' };
const event = (type: string, at: number) => ({ id: `${type}${at}`, by: '', at, type });
const move = (screw: string, at: number) => ({
  id: `m${screw}${at}`,
  by: '',
  at,
  screw,
  type: 'move' as const,
  minutes: 30,
  after: [],
});
const thread = (number: string, fibre: string): Ctx => ({
  ...filled,
  threads: filled.threads.map((t) => ({ ...t, number, fibre })),
});

describe('what the bench says by itself', () => {
  it.each<[string, Ctx, Record<string, string>]>([
    ['nothing known, nothing said', bare, {}],
    ['a 40 over a 60 on a frame', filled, { thread_kind: 'poly', bobbin_thread: 'fine', machine_kind: 'frame' }],
    ['a fine thread', thread('80', 'polyester'), { thread_kind: 'fine' }],
    ['a heavy one', thread('12', 'cotton'), { thread_kind: 'heavy' }],
    ['clear thread, whatever its number', thread('80', 'clear'), { bobbin_thread: 'slick' }],
    ['a dense backing', { ...filled, bench: { backing: 'Hand-dyed batik' } }, { backing: 'dense' }],
    ['a deep pile', { ...filled, bench: { backing: 'Minky, grey' } }, { backing: 'pile' }],
    ['a high loft', { ...filled, bench: { batting: 'High loft wool' } }, { loft: 'high' }],
    ['what kind of work', filled, { work_kind: 'custom' }],
    ['a needle with many bobbins on it', hours(40), { needle_age: 'late' }],
    ['a needle just in', hours(2), { needle_age: 'fresh' }],
    [
      'another top thread',
      { ...filled, events: [good], benchAt: { topThread: 2_000 } },
      { what_changed: 'top_thread' },
    ],
    ['another cone', { ...filled, events: [good, event('new-cone', 2_000)] }, { what_changed: 'top_thread' }],
    ['no changes', { ...filled, events: [good] }, { what_changed: 'nothing', event: 'none', turned_lately: 'nobody' }],
    [
      'the top was turned',
      { ...filled, events: [good], changes: [move(`top:${machine}`, 2_000)] },
      { turned_lately: 'top' },
    ],
    [
      'both were',
      {
        ...filled,
        events: [good],
        changes: [move(`top:${machine}`, 2_000), move(`bobbin:${bobbinCase}`, 2_001)],
      },
      { turned_lately: 'both' },
    ],
    ['a strike', { ...filled, events: [good, event('struck', 2_000)] }, { event: 'struck' }],
    ['a strike before it was good is over', { ...filled, events: [event('struck', 500), good] }, { event: 'none' }],
  ])('%s', (_name, ctx, want) => expect(benchFindings(ctx)).toMatchObject(want));

  it('is silent where it was never good, and on threads nobody knows', () => {
    expect(benchFindings(bare)).toEqual({});
    expect(benchFindings(filled)).not.toHaveProperty('what_changed');
    expect(benchFindings(thread('gift', 'something'))).not.toHaveProperty('thread_kind');
    expect(benchFindings({ ...filled, bench: { backing: 'Stripes' } })).not.toHaveProperty('backing');
  });

  it('says only states that the model knows', () => {
    const worlds = [filled, hours(40), { ...filled, events: [good, event('jam', 2_000)] }];
    for (const ctx of worlds)
      for (const [f, s] of Object.entries(benchFindings(ctx)))
        expect(findingStates[f as keyof typeof findingStates], f).toContain(s);
  });
});

describe('went wrong, or just changed', () => {
  const since = (events: Ctx['events'], benchAt?: Ctx['benchAt']) => onsetOf({ ...filled, events, benchAt });
  it('is changed with a new thread, needle or quilt, and where it never was good', () => {
    expect(since([])).toBe('changed');
    expect(since([good], { topThread: 2_000 })).toBe('changed');
    expect(since([good, event('new-needle', 2_000)])).toBe('changed');
    expect(since([good], { quilt: 500 })).toBe('wrong');
  });
  it('is not by a new bobbin alone: those come all day', () => {
    expect(since([good, event('new-bobbin', 2_000)])).toBe('wrong');
  });
});

function hours(bobbins: number): Ctx {
  const at = filled.now - 1_000;
  return {
    ...filled,
    bench: { ...filled.bench, needleSince: at },
    events: Array.from({ length: bobbins }, (_, i) => event('new-bobbin', at + 1 + i)),
  };
}
