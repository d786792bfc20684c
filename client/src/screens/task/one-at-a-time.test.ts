import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { oneAtATime } from './one-at-a-time';

beforeEach(() => void vi.useFakeTimers());
afterEach(() => void vi.useRealTimers());

const typing = () => {
  const told: string[] = [];
  return { told, ...oneAtATime((text, of) => told.push(of ? `${of}: ${text}` : text)) };
};

test('the first key is told at once, the others in one go when it was taken', () => {
  const { told, type, taken } = typing();
  for (const text of ['l', 'li', 'lin', 'lint']) type(text);
  expect(told).toEqual(['l']);
  taken();
  expect(told).toEqual(['l', 'lint']);
  taken();
  taken();
  expect(told).toEqual(['l', 'lint']);
  type('lint.');
  expect(told).toEqual(['l', 'lint', 'lint.']);
});

test('a task that does not answer is told all the same', () => {
  const { told, type } = typing();
  type('a');
  type('ab');
  vi.advanceTimersByTime(399);
  expect(told).toEqual(['a']);
  vi.advanceTimersByTime(1);
  expect(told).toEqual(['a', 'ab']);
});

test('nothing is held back on leaving, or for the sake of another field', () => {
  const { told, type, flush } = typing();
  type('a', 'name');
  type('ab', 'name');
  type('x', 'reason');
  expect(told).toEqual(['name: a', 'name: ab']);
  flush();
  expect(told).toEqual(['name: a', 'name: ab', 'reason: x']);
});
