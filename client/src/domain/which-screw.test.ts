import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type Pulls, type Which, whichScrew } from './which-screw';

const say = (w: Which | undefined) =>
  w === undefined ? 'nothing' : 'turn' in w ? `${w.turn} ${w.way}: ${w.why}` : 'neutral' in w ? 'neutral' : 'recheck';
const proven = { drop: 'neutral', pull: 'as_usual' } as const;

describe('which screw, and which way', () => {
  test.each<[string, Pulls, string]>([
    ['a: the bobbin was just changed', { ...proven, score: -1, changed: 'bobbin' }, 'bobbin tighter: just-changed'],
    ['a: and top colour on the back', { ...proven, score: 1, changed: 'bobbin' }, 'bobbin looser: just-changed'],
    ['a: the top was', { ...proven, score: 1, changed: 'top' }, 'top tighter: just-changed'],
    ['b: falls, whatever the stitch', { score: 1, drop: 'falls', pull: 'as_usual' }, 'bobbin tighter: drop-out'],
    ['b: barely', { score: 1, drop: 'barely' }, 'bobbin looser: drop-out'],
    ['b: before a', { score: 1, drop: 'barely', changed: 'top' }, 'bobbin looser: drop-out'],
    ['c: stiff and bobbin on top', { score: -1, drop: 'neutral', pull: 'stiff' }, 'top looser: feel-off'],
    ['c: light and top on the back', { score: 2, drop: 'neutral', pull: 'light' }, 'top tighter: feel-off'],
    ['c: stiff and top on the back: no knob explains it', { score: 1, drop: 'neutral', pull: 'stiff' }, 'recheck'],
    ['c: light and bobbin on top', { score: -1, drop: 'neutral', pull: 'light' }, 'recheck'],
    ['d: both in band, bobbin on top', { ...proven, score: -1 }, 'top looser: bobbin-proven'],
    ['d: both in band, top on the back', { ...proven, score: 1 }, 'top tighter: bobbin-proven'],
    ['d: not felt', { score: 1, drop: 'neutral' }, 'top tighter: bobbin-proven'],
    ['e: both out', { score: 2, drop: 'falls', pull: 'light' }, 'neutral'],
    ['e: both out the other way', { score: -1, drop: 'barely', pull: 'stiff' }, 'neutral'],
    ['f: strained, the top wins', { ...proven, score: -1, strained: true }, 'top looser: loosen-winner'],
    ['f: strained, the bobbin wins', { score: 1, strained: true }, 'bobbin looser: loosen-winner'],
    ['f: but its drop is in band', { ...proven, score: 1, strained: true }, 'recheck'],
    ['f: before g', { score: 1, strained: true, lifts: true }, 'bobbin looser: loosen-winner'],
    ['g: lifts, the top loses', { ...proven, score: 1, lifts: true }, 'top tighter: tighten-loser'],
    ['g: lifts, the bobbin loses', { score: -1, lifts: true }, 'bobbin tighter: tighten-loser'],
    ['g: but its drop is in band', { ...proven, score: -1, lifts: true }, 'recheck'],
    ['h: nothing known, the top wins', { score: -1 }, 'top looser: loosen-first'],
    ['h: nothing known, the bobbin wins', { score: 1 }, 'bobbin looser: loosen-first'],
    ['i: nut fully down', { ...proven, score: 1, topEnd: 'tight' }, 'bobbin looser: top-at-end'],
    ['i: nut nearly off', { ...proven, score: -1, topEnd: 'loose' }, 'bobbin tighter: top-at-end'],
    ['i: away from that end it may go', { ...proven, score: 1, topEnd: 'loose' }, 'top tighter: bobbin-proven'],
    ['level is nothing to turn', { ...proven, score: 0 }, 'nothing'],
    ['jerks are no setting', { score: 2, drop: 'jerky', pull: 'stiff' }, 'nothing'],
    ['nor are they on top', { score: 2, drop: 'falls', pull: 'jerky' }, 'nothing'],
  ])('%s', (_name, pulls, want) => expect(say(whichScrew(pulls))).toBe(want));

  test('never a knob past its end, never a tightening where a thread is strained, never the loser loosened', () => {
    const pulls = fc.record<Pulls>({
      score: fc.constantFrom(-2, -1, 0, 1, 2),
      drop: fc.constantFrom(undefined, 'neutral', 'barely', 'falls', 'jerky'),
      pull: fc.constantFrom(undefined, 'as_usual', 'stiff', 'light', 'jerky'),
      changed: fc.constantFrom(undefined, 'top', 'bobbin'),
      strained: fc.boolean(),
      lifts: fc.boolean(),
      topEnd: fc.constantFrom(undefined, 'loose', 'tight'),
    });
    fc.assert(
      fc.property(pulls, (p) => {
        const w = whichScrew(p);
        if (!w || !('turn' in w)) return;
        if (w.turn === 'top') expect(p.topEnd).not.toBe(w.way === 'looser' ? 'loose' : 'tight');
        if (w.turn === 'bobbin' && p.drop === 'neutral') expect(['just-changed', 'top-at-end']).toContain(w.why);
        if (w.why === 'loosen-winner') expect(w.way).toBe('looser');
        if (w.why === 'drop-out') expect(w).toMatchObject({ turn: 'bobbin' });
        else expect((w.turn === 'top') === p.score < 0).toBe(w.way === 'looser');
      }),
      { numRuns: 3_000 },
    );
  });
});
