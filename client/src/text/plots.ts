/** The two plots in words: each point is a line, and the whole is one sentence. */
import type { Past, RoundAt, RoundCourse } from '../domain/task/history';
import { far, lengthIn, move, type Units } from './amount';
import { when } from './shell';

const fills: { readonly [fill: string]: string } = { full: 'full bobbin', half: 'half bobbin', low: 'low bobbin' };

export const text = {
  inWords: 'In words',
  dropsTitle: 'Drops over time',
  dropSigns:
    'Dot: a test, its bar from shortest to longest. Dashed line: screw turned. Tick: good now. Hatched: the band.',
  roundsTitle: 'Rounds so far',
  looser: 'Looser',
  tighter: 'Tighter',
  onTop: 'Bobbin on top',
  onBack: 'Top on the back',
  roundSigns:
    'Figures are rounds, from looser at the left to tighter at the right. Arrow: where it stands. Hatched: seen to be bad.',
  disagree: 'The rounds contradict one another: neither side is known to be bad.',
} as const;

export function pastWords(p: Past, units: Units | undefined): string {
  const at = when(p.at);
  switch (p.was) {
    case 'drops': {
      const ends = p.low === p.high ? '' : ` (${lengthIn(p.low, units)} to ${lengthIn(p.high, units)})`;
      return `${at}: ${lengthIn(p.middle, units)}${ends}${p.fill ? `, ${fills[p.fill]}` : ''}`;
    }
    case 'turned':
      return `${at}: ${move(p.minutes)}`;
    case 'new-count':
      return `${at}: the count begins anew`;
    case 'good':
      return `${at}: good now`;
  }
}

/** "5 tests, the last 5 in; the band is 4 in to 6 in." */
export function dropsSay(
  past: readonly Past[],
  band: { readonly from: number; readonly to: number },
  units: Units | undefined,
): string {
  const tests = past.filter((p) => p.was === 'drops');
  const last = tests.at(-1);
  const length = last ? `, the last ${lengthIn(last.middle, units)}` : '';
  return `${tests.length} tests${length}; the band is ${lengthIn(band.from, units)} to ${lengthIn(band.to, units)}.`;
}

const scores = [
  'bobbin colour plainly on top',
  'bobbin dots on top',
  'balanced',
  'top dots on the back',
  'top colour plainly on the back',
] as const;

/** A place from the first round: "5 on the clock (one hour mark) looser than at first". */
const placeWords = (minutes: number): string =>
  minutes === 0 ? 'as at first' : `${far(minutes)} ${minutes > 0 ? 'tighter' : 'looser'} than at first`;

export const roundWords = (r: RoundAt, i: number): string =>
  `Round ${i + 1}, ${placeWords(r.place)}: ${scores[Math.round(r.score) + 2]}`;

/** Where it stands, and what is known of each side. */
export function roundsSay(c: RoundCourse): string {
  const sides = c.disagree
    ? [text.disagree]
    : [
        ...(c.tooTight === undefined ? [] : [`Too tight: ${placeWords(c.tooTight)}.`]),
        ...(c.tooLoose === undefined ? [] : [`Too loose: ${placeWords(c.tooLoose)}.`]),
      ];
  return [`It stands ${placeWords(c.here)}.`, ...sides].join(' ');
}
