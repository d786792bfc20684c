/**
 * Pure setting faults on the virtual machine: how many sewn samples until it is good enough, by the advice and by the plain
 * rule of thumb. Both set the bobbin first, by dropping the case, which sews nothing; both meet the same machine, the same
 * start and the same person.
 */
import { type Felt, type HowFar, howFar, learnedSlope, type Sewn, type Slope } from '../src/domain/how-far';
import {
  between,
  dropTest,
  feelTop,
  fork,
  isGood,
  type Random,
  rate,
  sewLine,
  soundMachine,
  starts,
  topThreads,
  trueScore,
  type Virtual,
} from '../src/domain/virtual';

export type Walk = {
  readonly samples: number;
  readonly ended: boolean;
  readonly drops: number;
  readonly rounds: readonly Sewn[];
  readonly harm: readonly string[];
};

/** Where a walker turns next, in clock-minutes. 0: another look, nothing turned. */
export type Walker = {
  readonly screw: (tests: readonly Tested[], here: number) => number;
  /** Before anything is sewn, by the pull alone; 0: sew. */
  readonly byFeel: (feels: readonly Felt[], here: number) => number;
  readonly top: (rounds: readonly Sewn[], feels: readonly Felt[], here: number) => number;
};
export type Tested = { readonly place: number; readonly score: -2 | -1 | 1 | 2 };

/** After so many samples, drops and feels it has not ended; the sample then counts as the last. */
const most = { samples: 30, drops: 12, feels: 6 };
const lines = [0, 180] as const;

/** Every thread in turn, four turns of the top and twenty minutes of the case screw each way. */
export function startOf(seed: number): Virtual {
  const r = fork(seed, 1);
  const thread = topThreads[seed % topThreads.length];
  if (!thread) throw new RangeError('no thread');
  const v = soundMachine(seed, r, thread);
  return {
    ...v,
    top: Math.round(between(r, -starts.top, starts.top)),
    bobbin: Math.round(between(r, -starts.bobbin, starts.bobbin)),
  };
}

/** From a start until it reads as good and is. Read as good and not so, the quilt shows it, which costs a sample more. */
export function walk(start: Virtual, walker: Walker): Walk {
  const r = fork(start.seed, 2);
  const harm: string[] = [];
  const bobbin = setBobbin(start, walker, r, harm);
  let v = bobbin.v;
  const feels: Felt[] = [];
  for (let i = 0; i < most.feels; i++) {
    const is = feelTop(v, r);
    if (is === 'jerky') break;
    feels.push({ place: v.top, is });
    const turn = walker.byFeel(feels, v.top);
    if (turn === 0) break;
    v = turned(v, turn, 60, harm);
  }
  const rounds: Sewn[] = [];
  let onQuilt = false;
  for (let samples = 1; samples <= most.samples; samples++) {
    const scores: readonly number[] = onQuilt ? lines.map((d) => trueScore(v, d)) : looked(v, r);
    const good = scores.every((x) => x === 0);
    rounds.push({ place: v.top, scores });
    if (good && isGood(v, false, lines)) return { samples, ended: true, drops: bobbin.drops, rounds, harm };
    if (!good) v = turned(v, walker.top(rounds, feels, v.top), 60, harm);
    onQuilt = good;
  }
  return { samples: most.samples, ended: false, drops: bobbin.drops, rounds, harm };
}

/** Two lines as this person reads them. Dots on both faces of a line are seen as neither. */
const looked = (v: Virtual, r: Random) =>
  rate(
    v,
    lines.map((d) => sewLine(v, d, r)),
    r,
  ).map((x) => x.score);

function turned(v: Virtual, minutes: number, cap: number, harm: string[]): Virtual {
  if (Math.abs(minutes) > cap) harm.push(`top by ${minutes}`);
  return { ...v, top: v.top + minutes };
}

function setBobbin(
  start: Virtual,
  walker: Walker,
  r: Random,
  harm: string[],
): { readonly v: Virtual; readonly drops: number } {
  let v = start;
  const tests: Tested[] = [];
  for (let drops = 1; drops <= most.drops; drops++) {
    const { state, word } = dropTest(v, r);
    if (state === 'neutral') return { v, drops };
    if (state === 'jerky') continue; // no screw: dropped again
    tests.push({
      place: v.bobbin,
      score: word === 'nothing' ? 2 : word === 'falls' ? -2 : state === 'barely' ? 1 : -1,
    });
    const minutes = walker.screw(tests, v.bobbin);
    if (Math.abs(minutes) > 5) harm.push(`case screw by ${minutes}`);
    v = { ...v, bobbin: v.bobbin + minutes };
  }
  return { v, drops: most.drops };
}

const sum = (s: Sewn | undefined) => (s?.scores ?? []).reduce((n, x) => n + x, 0);
const flipped = (a: number, b: number) => a !== 0 && b !== 0 && Math.sign(a) !== Math.sign(b);

/** The plain walk: five minutes of the case screw, half turns of the top, less when it came out on the other side. */
export const ruleOfThumb: Walker = {
  screw: (tests) => {
    const [now, before] = [tests.at(-1)?.score ?? 0, tests.at(-2)?.score ?? 0];
    return -Math.sign(now) * (flipped(now, before) ? 2 : 5);
  },
  byFeel: () => 0,
  top: (rounds) => {
    const [now, before] = [sum(rounds.at(-1)), sum(rounds.at(-2))];
    return Math.sign(now) * (flipped(now, before) ? 15 : 30);
  },
};

/** The advice. */
export const advised = (slope?: Slope): Walker => ({
  screw: (tests, here) =>
    minutesOf(howFar({ knob: 'bobbin', here, rounds: tests.map((t) => ({ place: t.place, scores: [t.score] })) })),
  byFeel: (feels, here) =>
    feels.at(-1)?.is === 'as_usual' ? 0 : minutesOf(howFar({ knob: 'top', here, rounds: [], feels, slope })),
  top: (rounds, feels, here) => minutesOf(howFar({ knob: 'top', here, rounds, feels, slope })),
});
/** In doubt it is sewn once more before anything is turned. */
const minutesOf = (a: HowFar) => (a.doubt && !a.doubt.sewnAgain ? 0 : a.minutes);

/** What this studio would have learned of the knob from three earlier balancings with other threads. */
export function history(seed: number): Slope {
  const v = startOf(seed);
  const earlier = [1, 2, 3].map((n) => {
    const other = startOf(seed * 7 + n);
    const thread = topThreads[(seed + 5 * n) % topThreads.length] ?? v.thread;
    const same = soundMachine(seed, fork(seed, 1), thread);
    return walk({ ...same, seed: seed * 7 + n, top: other.top, bobbin: other.bobbin }, advised()).rounds;
  });
  return learnedSlope('top', earlier);
}
