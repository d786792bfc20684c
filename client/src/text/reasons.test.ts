import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { changeWords } from './changes';
import { changeWhy } from './reasons';

/** Every reason that a rule may give a turn or a drop test's result, read off the rules themselves. */
const rules = ['task/next-step', 'task/next-turn', 'task/drop-verdict', 'task/stop', 'task/ask', 'which-screw'];
const codes = rules.flatMap((name) => {
  const source = readFileSync(new URL(`../domain/${name}.ts`, import.meta.url), 'utf8');
  return [...source.matchAll(/why: '([^']+)'/g)].map((m) => m[1] as string);
});

test('no reason in the ledger is shown as a code', () => {
  expect(codes).toEqual(expect.arrayContaining(['out', 'drop-out', 'dropped']));
  const turning = new Set([
    ...codes,
    'top-on-back',
    'bobbin-on-top',
    'by-feel',
    'lost',
    'somebody',
    'mark',
    'put back',
  ]);
  for (const gate of ['bobbin-proven', 'feel-off', 'mends']) turning.delete(gate); // never kept with a turn
  const bare = [...turning].filter((c) => changeWhy(c) === c || !/^[A-Z]/.test(changeWhy(c)));
  expect(bare).toEqual([]);
  expect(changeWhy('the knob slipped')).toBe('the knob slipped');
  expect(changeWhy('constructor')).toBe('constructor');
});

test('a line that strikes another says which, and a count found again is no mistake of the person', () => {
  const move = { id: 'a', type: 'move', minutes: 5 };
  expect(changeWords({ id: 'b', type: 'strike', strikes: 'a' }, [move])).toMatch(/^I wrote it wrong: tighten 5 /);
  expect(changeWords({ id: 'b', type: 'strike', strikes: 'gone' }, [move])).toBe('I wrote a line wrong');
  const lost = { id: 'l', type: 'lost', why: 'which way tightens' };
  const words = [changeWords(lost), changeWords({ id: 's', type: 'strike', strikes: 'l' }, [lost])].join(' ');
  expect(words).not.toMatch(/wrong|Struck|lost/);
});
