import { expect, test } from 'vitest';
import { taskNames } from '../domain/task/task';
import { help } from './help';

test('every task is told in three sentences that can be read at a glance', () => {
  expect(Object.keys(help).sort()).toEqual([...taskNames].sort());
  const wrong = Object.values(help)
    .flat()
    .filter((s) => !/^[^.]+\.$/.test(s) || s.split(' ').length > 26);
  expect(wrong).toEqual([]);
  for (const sentences of Object.values(help)) expect(sentences).toHaveLength(3);
});
