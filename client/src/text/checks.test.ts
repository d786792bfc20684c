import { expect, test } from 'vitest';
import { acts } from '../domain/knowledge/faults/acts';
import { findingStates } from '../domain/knowledge/findings';
import { actSay, checkSay } from './checks';

test('every finding has a question and every state a word of its own', () => {
  for (const [finding, states] of Object.entries(findingStates)) {
    const words = checkSay[finding];
    expect(words?.say, finding).toBeTruthy();
    expect(Object.keys(words?.states ?? {}).sort(), finding).toEqual([...states].sort());
    expect(new Set(Object.values(words?.states ?? {})).size, finding).toBe(states.length);
  }
});

test('every act that is advised as such has words', () => {
  const otherwise = ['top_looser', 'top_tighter', 'bobbin_looser', 'bobbin_tighter', 'back_to_neutral', 'drop_check'];
  const steps = ['stitch_map', 'fabric_sample', 'technician', 'stop_power_off', 'accept_it'];
  const wordless = Object.keys(acts).filter((a) => !actSay[a]);
  expect(wordless.sort()).toEqual([...otherwise, ...steps].sort());
});
