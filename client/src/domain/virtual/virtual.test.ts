import { describe, expect, it } from 'vitest';
import { faultModel } from '../fault-model';
import { answer, broken, fork, soundMachine, survey, topThreads, type Virtual } from '.';

const machines = Array.from({ length: 12 }, (_, i) => {
  const thread = topThreads[i % topThreads.length];
  if (!thread) throw new RangeError('no thread');
  return soundMachine(i, fork(i, 1), thread);
});
/** Of how many machines with this cause a finding has one of these states. */
const share = (cause: string, finding: string, states: readonly string[], much = 0.7) => {
  const shows = (v: Virtual, i: number) => {
    const r = fork(i, 2);
    return states.includes(answer(survey(broken(v, { cause, much }), faultModel, r), finding, r) ?? '');
  };
  return machines.filter(shows).length / machines.length;
};

describe('the virtual machine behaves as the trade says', () => {
  it('hangs big loops where nothing pulls on the top, and draws a tight bobbin to a wire', () => {
    expect(share('not_in_discs', 'top_on_back', ['big_loops'])).toBeGreaterThan(0.8);
    expect(share('bobbin_too_tight', 'top_on_back', ['big_loops'])).toBe(0);
    expect(share('bobbin_too_tight', 'top_on_back', ['pulled_down', 'flatline'])).toBeGreaterThan(0.7);
  });

  it('is calmer at half speed where something is thrown, not where every stitch makes it', () => {
    for (const cause of ['speed_too_fast', 'thread_whip', 'backlash'])
      expect(share(cause, 'slow_down', ['better']), cause).toBeGreaterThan(0.6);
    for (const cause of ['hook_timing', 'foot_height'])
      expect(share(cause, 'slow_down', ['better']), cause).toBeLessThan(0.5);
  });

  it('lifts on a pin what little pulls on, and draws in where both pull hard', () => {
    expect(share('top_too_tight', 'firmness', ['slack_top', 'slack_both'])).toBe(0);
    expect(share('both_too_tight', 'firmness', ['puckered'])).toBeGreaterThan(0.5);
    expect(share('both_too_tight', 'bobbin_on_top', ['pulled_up', 'flatline'])).toBeLessThan(0.3);
    expect(share('bobbin_not_in_spring', 'firmness', ['slack_top'])).toBeGreaterThan(0.7);
  });

  it('snaps a thread that is pulled too hard or snags, and no thread at balance', () => {
    expect(share('no_fault', 'top_breaks', ['some', 'often'])).toBe(0);
    expect(share('spool_snag', 'top_breaks', ['some', 'often'])).toBeGreaterThan(0.3);
    expect(share('both_too_tight', 'broken_end', ['clean'], 1)).toBeGreaterThan(0);
  });
});
