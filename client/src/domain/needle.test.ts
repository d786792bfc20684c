import { describe, expect, test } from 'vitest';
import { bladeMm, metricOf, needleFit, needleSize, oldOf, smallestMetric } from './needle';
import { diameterMm } from './thread';

test('metric sizes are hundredths of a millimetre', () => {
  expect(bladeMm(110)).toBe(1.1); // needle number primer
});

test.each([
  [12, 80], // these four stand in a needle number primer
  [14, 90],
  [16, 100],
  [18, 110],
  [8, 60],
  [9, 65],
  [19, 120], // trade habit, from memory
])('old size %i is metric %i, and back', (old, metric) => {
  expect(metricOf(old)).toBe(metric);
  expect(oldOf(metric)).toBe(old);
});

test('where no pair is known none is given', () => {
  for (const old of [7, 20, 21, 16.5, Number.NaN]) expect(metricOf(old)).toBeUndefined();
  for (const metric of [55, 115, 125, 130, 101]) expect(oldOf(metric)).toBeUndefined();
});

test.each([
  ['100 sharp', { metric: 100, old: 16, by: 'rule' }],
  ['16/100', { metric: 100, old: 16, by: 'rule' }],
  ['100/16', { metric: 100, old: 16, by: 'rule' }],
  ['Nm 90 ball point', { metric: 90, old: 14, by: 'rule' }],
  ['14', { metric: 90, old: 14, by: 'rule' }],
  ['120', { metric: 120, old: 19, by: 'habit' }],
  ['130', { metric: 130, by: 'rule' }],
])('a packet that says %j', (label, want) => {
  expect(needleSize(label)).toEqual(want);
});

test('a trade size is not converted', () => {
  for (const label of ['4.0', '4,5', 'MR 3.5', 'sharp', '', '7', '1234', '12 or 14'])
    expect(needleSize(label)).toBeUndefined();
});

describe('room for the thread', () => {
  test('the smallest needle by the rule of thumb', () => {
    expect(smallestMetric(diameterMm(40, 1.38, 0.65))).toBeCloseTo(59.5701703636, 9); // trade glossary's 40 %, number computed
  });

  test.each([
    [0.2, 100, { fits: true, share: 20, smallest: 60 }],
    [0.4, 100, { fits: true, share: 40, smallest: 100 }],
    [0.41, 100, { fits: false, share: 41, smallest: 110 }],
    [0.9, 100, { fits: false, share: 90 }],
  ] as const)('%f mm in %i', (mm, metric, want) => {
    expect(needleFit(mm, metric)).toEqual(want);
  });
});
