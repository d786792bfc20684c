import { expect, test } from 'vitest';
import { woundLeft } from './wound';

test('wound bobbins are counted down by new ones, thread by thread', () => {
  const [rust, grey] = ['rust', 'grey'];
  const wound = (count: number, thread?: string) => ({ type: 'wound', count, thread });
  const used = (thread?: string) => ({ type: 'new-bobbin', thread });
  expect(woundLeft([], rust)).toBeUndefined();
  expect(woundLeft([used(rust)], rust)).toBeUndefined();
  expect(woundLeft([used(rust), wound(12, rust), used(rust), used(grey), used()], rust)).toBe(10);
  expect(woundLeft([wound(1, rust), used(rust), used(rust)], rust)).toBe(0);
  expect(woundLeft([wound(12, rust), used(rust), wound(3, rust)], rust)).toBe(3); // counted again
  expect(woundLeft([wound(12, rust)], grey)).toBeUndefined();
});
