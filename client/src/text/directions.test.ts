import { expect, test } from 'vitest';
import type { Directions, Verdict } from '../domain/directions';
import { directionsSay, raySign, starSays } from './directions';

const faces = ['top-on-back', 'bobbin-on-top'] as const;
const eight = [0, 45, 90, 135, 180, 225, 270, 315];
const verdicts: readonly Verdict[] = [
  ...(['balanced', 'too-few', 'scattered', 'unread'] as const).map((is) => ({ is })),
  ...faces.flatMap((face): readonly Verdict[] => [
    { is: 'tension', face },
    { is: 'curves', face },
    ...eight.flatMap((worst): readonly Verdict[] => [
      { is: 'direction', face, worst },
      { is: 'both', face, worst },
    ]),
  ]),
];

test('every verdict is one sentence of its own', () => {
  const said = verdicts.map((verdict) => directionsSay({ verdict }));
  expect(new Set(said).size).toBe(verdicts.length);
  for (const s of said) {
    expect(s).toMatch(/^[A-Z][^.]*\.$/);
    expect(s).not.toContain('undefined');
  }
});

test('what shows one way of sewing only is said before any direction', () => {
  const only = (modes: Directions['modes']) =>
    directionsSay({ verdict: { is: 'direction', face: 'top-on-back', worst: 0 }, modes });
  expect(only('regulated-only')).toMatch(/regulator/);
  expect(only('manual-only')).toMatch(/hands/);
  expect(only('same')).toMatch(/going away/);
});

test('rays are signed for the eye and said for the ear', () => {
  expect([-2, -1, 0, 1, 2].map(raySign)).toEqual(['BB', 'B', '', 'T', 'TT']);
  expect(
    starSays([
      { direction: 0, score: 2 },
      { direction: 'circle-left', score: 0 },
    ]),
  ).toMatch(/: top colour stands up on the back\. .*: good\.$/);
});
