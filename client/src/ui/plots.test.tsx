import { expect, test } from 'vitest';
import type { Past, RoundCourse } from '../domain/task/history';
import { dropsSay, pastWords, roundsSay, roundWords, text } from '../text/plots';
import { asText } from './as-text';
import { DropPlot, RoundPlot } from './plots';

const at = Date.UTC(2026, 3, 1, 9);
const past: readonly Past[] = [
  { was: 'drops', at, low: 40, middle: 45, high: 50, fill: 'full' },
  { was: 'turned', at, minutes: 5 },
  { was: 'new-count', at },
  { was: 'good', at },
  { was: 'drops', at, low: 50, middle: 50, high: 50 },
];
const band = { from: 40, to: 60 };
const course: RoundCourse = {
  rounds: [
    { place: 0, score: -2 },
    { place: -60, score: 1 },
  ],
  here: -30,
  tooTight: 0,
  tooLoose: -60,
  disagree: false,
};
const count = (svg: string, sign: string) => svg.split(`class="${sign}"`).length - 1;

test('all that the drops show is said too', () => {
  const svg = asText(<DropPlot past={past} band={band} label="said" scale={(n) => `${n / 10} in`} />);
  expect(['dot', 'turned', 'good'].map((sign) => count(svg, sign))).toEqual([2, 2, 1]);
  expect(svg).toContain('aria-label="said"');
  expect(svg).not.toMatch(/NaN|Infinity|undefined/);
  expect(past.map((p) => pastWords(p, 'in').split(': ')[1])).toEqual([
    '4½ in (4 in to 5 in), full bobbin',
    'tighten 5 on the clock (one hour mark)',
    'the count begins anew',
    'good now',
    '5 in',
  ]);
  expect(dropsSay(past, band, 'in')).toBe('2 tests, the last 5 in; the band is 4 in to 6 in.');
  expect(dropsSay(past, band, 'mm')).toBe('2 tests, the last 125 mm; the band is 100 mm to 150 mm.');
});

test('all that the rounds show is said too', () => {
  const svg = asText(<RoundPlot course={course} label="said" words={text} />);
  expect(['ring', 'hatching', 'here'].map((sign) => count(svg, sign))).toEqual([2, 2, 1]);
  expect(svg).not.toMatch(/NaN|Infinity|undefined/);
  expect(course.rounds.map(roundWords)).toEqual([
    'Round 1, as at first: bobbin colour plainly on top',
    'Round 2, one whole turn looser than at first: top dots on the back',
  ]);
  expect(roundsSay(course)).toBe(
    'It stands 30 on the clock (half a turn) looser than at first. Too tight: as at first. Too loose: one whole turn looser than at first.',
  );
  const odd = { ...course, tooTight: undefined, tooLoose: undefined, disagree: true };
  expect(count(asText(<RoundPlot course={odd} label="" words={text} />), 'hatching')).toBe(0);
  expect(roundsSay(odd)).toContain('contradict');
});
