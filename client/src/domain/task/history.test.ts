import { expect, test } from 'vitest';
import type { Change, Ctx, Kept, Reading, Sample } from './context';
import { dropCourse, roundCourse } from './history';
import { bobbinCase, filled, machine, otherCase } from './world';

const day = 24 * 3_600_000;
const at = (n: number) => filled.now - (30 - n) * day;
const [top, bobbin] = [`top:${machine}`, `bobbin:${bobbinCase}`];
const by = '';

const drops = (n: number, lengths: readonly (number | undefined)[], more: Partial<Reading> = {}): Kept<Reading> => ({
  ...{ id: `r${n}`, at: at(n), by, type: 'drop', bobbinCase },
  drops: lengths.map((tenthsIn) => ({ tenthsIn })),
  ...more,
});
const change = (n: number, more: Partial<Change>): Kept<Change> => ({
  ...{ id: `c${n}`, at: at(n), by, screw: bobbin, type: 'move', after: [] },
  ...more,
});

test('the drops of a case in order, with what was turned and what was called good', () => {
  const ctx: Ctx = {
    ...filled,
    readings: [
      drops(1, [50, 40, undefined, 45], { fill: 'full' }),
      drops(2, [90], { bobbinCase: otherCase }),
      drops(3, [undefined]), // by tiles alone: no length
      drops(4, [30, 31], { interrupted: true }),
      drops(6, [55]),
    ],
    changes: [
      change(5, { minutes: 5 }),
      change(7, { minutes: 9, screw: top }),
      change(8, { minutes: 2 }),
      change(9, { type: 'strike', strikes: 'c8', after: ['c8'] }),
      change(10, { type: 'neutral', after: ['c5'] }),
    ],
    events: [
      { id: 'e1', at: at(2), by, type: 'good', bobbinCase },
      { id: 'e2', at: at(3), by, type: 'good', bobbinCase: otherCase },
    ],
  };
  expect(dropCourse(ctx, bobbinCase)?.past).toEqual([
    { was: 'drops', at: at(1), low: 40, middle: 45, high: 50, fill: 'full' },
    { was: 'good', at: at(2) },
    { was: 'turned', at: at(5), minutes: 5 },
    { was: 'drops', at: at(6), low: 55, middle: 55, high: 55 },
    { was: 'new-count', at: at(10) },
  ]);
  expect(dropCourse(ctx, bobbinCase)?.band).toEqual({ from: 40, to: 60 });
  expect(dropCourse(ctx, otherCase)).toBeUndefined(); // one drop is no course
});

test('rounds by where the knob stood, with the sides that were seen to be bad', () => {
  const sewn = (n: number, score: number): Kept<Sample> => ({
    ...{ id: `s${n}`, at: at(n), by, balancing: 'b', round: n, allAlike: true },
    rays: [0, 180].map((direction) => ({ direction, score })),
  });
  const turned = (n: number, minutes: number) => change(n, { screw: top, minutes, balancing: 'b' });
  const place = { balancing: 'b', round: 3 };
  const begun: Ctx = { ...filled, benchAt: {}, balancings: [{ id: 'b', at: at(0), by, machine }] };
  expect(roundCourse(begun, place)).toBeUndefined();

  // bobbin colour on top, loosened a whole turn too far, then half of it back
  const ctx = { ...begun, samples: [sewn(1, -2), sewn(3, 2)], changes: [turned(2, -60), turned(4, 30)] };
  const course = roundCourse(ctx, place);
  expect(course?.rounds).toEqual([
    { place: 0, score: -2 },
    { place: -60, score: 2 },
  ]);
  expect([course?.here, course?.tooTight, course?.tooLoose, course?.disagree]).toEqual([-30, 0, -60, false]);
  // balanced says nothing of a side, and a knob that worked the wrong way of none
  const last = (score: number) => roundCourse({ ...ctx, samples: [sewn(1, 1), sewn(3, score)] }, place);
  expect([last(0)?.tooTight, last(0)?.tooLoose]).toEqual([undefined, 0]);
  expect([last(-1)?.tooTight, last(-1)?.tooLoose, last(-1)?.disagree]).toEqual([undefined, undefined, true]);

  const numbered = { ...ctx, machines: ctx.machines.map((m) => ({ ...m, topKnob: 'dial' as const })) };
  expect(roundCourse(numbered, place)).toBeUndefined();
});
