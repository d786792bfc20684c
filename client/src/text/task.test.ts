import { describe, expect, it } from 'vitest';
import { cautionsOf, offers, steps, type TaskState } from '../domain/task';
import { explore, ways } from '../domain/task/explore';
import { stopChecks, stopPaths } from '../domain/task/stop-checks';
import { where } from '../domain/task/world';
import { far, lengthIn, move, way } from './amount';
import { actSay, checkSay } from './checks';
import { stopWhy } from './reasons';
import { cautionLine, heading, saying } from './task';
import { doneLine } from './task-done';
import { offerWords } from './task-offers';

const blank: TaskState = {
  id: '',
  task: 'balance',
  step: 'next',
  data: {},
  machine: '',
  round: 1,
  startedAt: 0,
  touchedAt: 0,
  trail: [],
};
const words = (line: string) => line.split(/\s+/).filter((w) => /[\p{L}\p{N}]/u.test(w)).length;

describe('every step, from every way in', () => {
  it.each(ways.map((w) => [`${w[0]} ${JSON.stringify(w[2] ?? {})}`, w] as const))('%s', (_name, way) => {
    const bare = new Set<string>();
    const long = new Set<string>();
    for (const { here } of explore(way).values()) {
      const { state, ctx } = here;
      if (!state) continue;
      const { say, more } = saying(state, ctx);
      if (words(say) > 12 || words(say) === 0) long.add(`${where(state)}: ${say}`);
      if (more !== undefined && more.trim() === '') bare.add(`${where(state)}: empty second line`);
      if (heading(state, ctx).trim() === '') bare.add(`${where(state)}: no heading`);
      for (const c of cautionsOf(state, ctx)) if (!cautionLine[c]) bare.add(c);
      for (const o of offers(state, ctx)) {
        const said = offerWords(o, state, ctx);
        const raw = o.action.do === 'pick' && said === o.action.value;
        if (said.trim() === '' || raw) bare.add(`${where(state)}: ${JSON.stringify(o.action)}`);
      }
    }
    expect([...long]).toEqual([]);
    expect([...bare]).toEqual([]);
  });

  it('says looks and acts in at most twelve words', () => {
    const all = [...Object.values(checkSay).map((c) => c.say), ...Object.values(actSay)];
    expect(all.filter((line) => words(line) > 12)).toEqual([]);
  });
});

describe('amounts', () => {
  it.each([
    [5, 'tighten 5 on the clock (one hour mark)'],
    [-5, 'loosen 5 on the clock (one hour mark)'],
    [2, 'tighten 2 on the clock'],
    [15, 'tighten 15 on the clock (a quarter turn)'],
    [30, 'tighten 30 on the clock (half a turn)'],
    [45, 'tighten 45 on the clock (three quarters of a turn)'],
    [60, 'tighten one whole turn'],
    [-75, 'loosen one whole turn and 15 on the clock (a quarter turn)'],
    [120, 'tighten two whole turns'],
    [600, 'tighten ten whole turns'],
    [0, 'leave it where it is'],
  ])('%i', (minutes, wanted) => {
    expect(move(minutes)).toBe(wanted);
  });

  it('says which way the hand goes, and that it is a guess while the screw is untried', () => {
    expect(way(5, 'clockwise')).toBe('to the right, tighter');
    expect(way(5, 'counter')).toBe('to the left, tighter');
    expect(way(-5, 'clockwise')).toBe('to the left, looser');
    expect(way(-5, 'counter')).toBe('to the right, looser');
    expect(way(5, undefined)).toBe('to the right, tighter on most machines');
  });

  it('says lengths as a strip shows them', () => {
    expect([45, 40, 5, 43, 0].map((t) => lengthIn(t, 'in'))).toEqual(['4½ in', '4 in', '½ in', '4.3 in', '0 in']);
    expect([0, 39, 50, 51, 59].map((t) => lengthIn(t, 'mm'))).toEqual(['0 mm', '100 mm', '125 mm', '130 mm', '150 mm']);
    expect(far(10)).toBe('10 on the clock (two hour marks)');
  });
});

describe('the line that says what was done', () => {
  it('knows only steps that there are', () => {
    const all = new Set(steps.map((r) => `${r.task}.${r.step}`));
    const lines = [...all].filter((did) => doneLine({ ...blank, did }) !== undefined);
    expect(lines.length).toBeGreaterThan(45);
    expect(doneLine({ ...blank, did: 'balance.ready-path' })).toBe('Done: top threaded.');
    expect(doneLine({ ...blank, did: 'constructor' })).toBeUndefined();
  });
});

describe('what records keep as codes', () => {
  it('has words for every reason a stop path can write', () => {
    const reasons = Object.entries(stopPaths).flatMap(([, path]) =>
      path.flatMap((c) => stopChecks[c].bad.map((b) => `${c} ${b}`)),
    );
    const all = [
      ...reasons,
      'heat',
      'runs-by-itself',
      'jam twice',
      'power-off cant',
      'checks not finished',
      'technician',
    ];
    expect(all.filter((r) => stopWhy(r) === r)).toEqual([]);
    expect(stopWhy('Written by a person')).toBe('Written by a person');
    expect(stopWhy('__proto__')).toBe('__proto__');
  });
});
