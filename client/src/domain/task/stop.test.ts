import { describe, expect, it } from 'vitest';
import { cautionsOf, offers } from './run';
import { position } from './screws';
import { stopChecks, stopPaths } from './stop-checks';
import type { TaskState } from './task';
import { bobbinCase, filled, machine, otherCase, play } from './world';

const events = (story: ReturnType<typeof play>) =>
  story.written
    .filter((d) => d.kind === 'event')
    .map((d) => [d.set.type, d.set.reason ?? d.set.step].filter(Boolean).join(' '));
const bobbin = `bobbin:${bobbinCase}`;

describe('something happened', () => {
  it.each(Object.entries(stopPaths).filter(([h]) => h !== 'dropped'))('%s: power off comes first', (happened) => {
    const story = play('stop', filled, [], { happened });
    expect(story.steps).toEqual(['stop.power-off']);
    expect(events(story)).toEqual([happened]);
  });

  it.each<[happened: string, more: string[]]>([
    ['struck', []],
    ['jam', ['cut-free']],
    ['knock', ['seat']],
  ])('%s: through the looks in order, and clear when all are good', (happened, more) => {
    const good: { readonly [look: string]: string } = { 'cut-free': 'free', seat: 'latched' };
    const words = ['next', ...more.map((look) => good[look] ?? ''), 'all-found', 'next', 'clean', 'smooth', 'next'];
    const story = play('stop', filled, [...words, 'picks_up', 'next', 'sews-well', 'next'], { happened });
    expect(story.steps.map((s) => s.replace('stop.', ''))).toEqual([
      'power-off',
      ...more,
      'pieces',
      'needle',
      'look',
      'cotton',
      'thread',
      'turn',
      'sew-scrap',
      'scrap',
      'clear',
      '',
    ]);
    expect(events(story)).toEqual([happened, 'new-needle', 'step checked']);
    expect(story.done?.how).toBe('clear');
  });

  it('asks for no answer while the machine can stitch: one button, and the look comes after it', () => {
    const words = ['next', 'all-found', 'next', 'clean', 'smooth', 'next', 'picks_up'];
    const story = play('stop', filled, words, { happened: 'struck' });
    const shown = offers(story.state as TaskState, story.ctx).map((o) => JSON.stringify(o.action));
    expect(shown).toContain('{"do":"next"}');
    expect(shown.join()).not.toMatch(/ticks|misses-stitches|sews-well/);
    expect(cautionsOf(story.state as TaskState, story.ctx)).toEqual(['moving', 'eyes']);
    expect(play('stop', filled, [...words, 'next'], { happened: 'struck' }).state?.step).toBe('scrap');
  });

  it('threads the new needle before anything is turned', () => {
    const path = stopPaths.struck;
    expect(path.indexOf('thread')).toBeGreaterThan(path.indexOf('needle'));
    expect(path.indexOf('thread')).toBeLessThan(path.indexOf('turn'));
  });

  const bad = Object.entries(stopPaths).flatMap(([happened, path]) =>
    happened === 'dropped'
      ? []
      : path.flatMap((check, i) =>
          stopChecks[check].bad.map((state) => [happened, path.slice(0, i), check, state] as const),
        ),
  );
  it.each(bad)('%s, then %s good, %s says %s: marked do not run', (happened, before, check, state) => {
    const good = before.map((c) => (stopChecks[c].states.length > 1 ? stopChecks[c].states[0] : 'next'));
    const story = play('stop', filled, ['next', ...good, state, 'next'], { happened });
    expect(events(story).at(-1)).toBe(`do-not-run ${check} ${state}`);
    expect(story.done?.how).toBe('do-not-run');
    expect(play('sew', story.ctx, [], undefined, 1).steps).toEqual(['sew.blocked']);
  });

  it.each(['heat', 'runs-by-itself'])('%s is a technician’s at once', (happened) => {
    expect(events(play('stop', filled, ['next'], { happened }))).toEqual([happened, `do-not-run ${happened}`]);
  });

  it('gives a second jam in a day to the technician', () => {
    const before = { id: 'e'.repeat(32), at: filled.now - 3_600_000, by: '', type: 'jam' };
    expect(play('stop', { ...filled, events: [before] }, ['next'], { happened: 'jam' }).steps.at(-1)).toBe(
      'stop.technician',
    );
    const old = { ...before, at: filled.now - 25 * 3_600_000 };
    expect(play('stop', { ...filled, events: [old] }, ['next'], { happened: 'jam' }).steps.at(-1)).toBe(
      'stop.cut-free',
    );
  });

  it('marks the machine when the looks are not finished and nobody goes on', () => {
    const story = play('stop', filled, ['next', 'all-found', 'not-now', 'mark'], { happened: 'struck' });
    expect(events(story).at(-1)).toBe('do-not-run checks not finished');
    expect(play('stop', filled, ['next', 'all-found', 'not-now', 'next'], { happened: 'struck' }).steps.at(-1)).toBe(
      'stop.needle',
    );
  });

  it('is lifted with a reason, and the task that was refused opens', () => {
    const marked = play('stop', filled, ['next'], { happened: 'heat' }).ctx;
    const story = play('sew', marked, ['next', '"A technician changed the belt."', 'next'], undefined, 1);
    expect(story.steps).toEqual(['sew.blocked', 'lift.reason', 'lift.reason', 'sew.stitch']);
    const [lifted] = story.written;
    expect(lifted?.set).toMatchObject({
      type: 'lifted',
      machine,
      of: marked.events.at(-1)?.id,
      reason: 'A technician changed the belt.',
    });
    expect(play('sew', marked, ['next', '"   "', 'not-now'], undefined, 1).steps.at(-1)).toBe('sew.blocked');
  });
});

describe('a dropped bobbin case', () => {
  const known = {
    ...filled,
    changes: [{ id: 'n', at: 0, by: '', screw: bobbin, type: 'neutral' as const, after: [] }],
  };
  const looks = ['none', 'true', 'free', 'clicks', 'next'];
  const drops = ['start', 'passed0', 'passed1', 'passed2'];

  it('holds its count as lost until three drops agree with its record', () => {
    const story = play('stop', known, looks, { happened: 'dropped' });
    expect(position(story.ctx, bobbin)).toBe('lost');
    const proven = play('stop', known, [...looks, ...drops, 'all-right'], { happened: 'dropped' });
    expect(proven.steps.at(-1)).toBe('stop.clear');
    expect(position(proven.ctx, bobbin)).toEqual({ known: 0 });
  });

  it('loses it when they do not, and offers another case', () => {
    const story = play('stop', known, [...looks, ...drops, 'falls@0', 'falls@1', 'falls@2', 'next', otherCase], {
      happened: 'dropped',
    });
    expect(story.done?.how).toBe('count-lost');
    expect(position(story.ctx, bobbin)).toBe('lost');
    expect(story.ctx.bench.bobbinCase).toBe(otherCase);
  });

  it.each([[['dent']], [['none', 'wobbles']], [['none', 'true', 'rubs']], [['none', 'true', 'free', 'no-click']]])(
    'goes to another case, without any drop: %j',
    (looks) => {
      const story = play('stop', known, looks, { happened: 'dropped' });
      expect(story.steps.at(-1)).toBe('stop.other-case');
      expect(position(story.ctx, bobbin)).toBe('lost');
      expect(events(story)).toEqual(['dropped']); // the machine may run, with another case
    },
  );

  it('stays lost where nobody drops it now', () => {
    const story = play('stop', known, [...looks.slice(0, 4), 'not-now'], { happened: 'dropped' });
    expect(story.done?.how).toBe('count-lost');
    expect(position(story.ctx, bobbin)).toBe('lost');
  });
});
