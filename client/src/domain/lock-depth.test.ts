import { expect, test } from 'vitest';
import { lockWay, onWay, pullAt, stitchAt } from './lock-depth';
import { stitchScene, type Thread, type View } from './stitch';
import { stitchOfSymptom } from './stitch-symptoms';

const way = Array.from({ length: 25 }, (_, i) => onWay(lockWay.from + i * lockWay.step));
const shows = (view: View, thread: Thread) =>
  view.shapes.some((s) => s.kind !== 'text' && 'of' in s && s.of === thread);

test('the way goes from wire to wire through the middle, in clean steps', () => {
  expect([way[0], way[12], way.at(-1)]).toEqual([-0.1, 0.5, 1.1]);
  expect(new Set(way).size).toBe(25);
  expect([onWay(-3), onWay(9), onWay(0.149)]).toEqual([-0.1, 1.1, 0.15]);
});

test('what is said of the pulls is what all three views show, at every place', () => {
  for (const depth of way) {
    const { harder, much } = pullAt(depth);
    const { top, back } = stitchScene(stitchAt(depth), 280);
    expect([depth, shows(top, 'bobbin'), shows(back, 'top')]).toEqual([depth, harder === 'top', harder === 'bobbin']);
    expect([depth, stitchAt(depth).top === 'straight', stitchAt(depth).bobbin === 'straight']).toEqual([
      depth,
      much && harder === 'top',
      much && harder === 'bobbin',
    ]);
  }
});

test('it passes through the pictures of the symptom table', () => {
  const at = new Map([
    [1, 0.5],
    [2, 0.15],
    [3, 0],
    [4, -0.1],
    [5, 0.85],
    [6, 1],
    [7, 1.1],
  ]);
  for (const [symptom, depth] of at)
    expect(stitchAt(depth), `symptom ${symptom}`).toEqual(stitchOfSymptom.get(symptom));
});
