import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import cases from './cases';
import checkValues from './check-values';

const published = (name: string) => new URL(`../../testdata/published/${name}`, import.meta.url).pathname;
let dir = '';
beforeAll(() => {
  dir = mkdtempSync(join(tmpdir(), 'check-values-'));
});
afterAll(() => rmSync(dir, { recursive: true }));

function file(name: string, json: unknown): string {
  const path = join(dir, name);
  writeFileSync(path, typeof json === 'string' ? json : JSON.stringify(json));
  return path;
}
function told(tool: (args: readonly string[], say: (line: string) => void) => number, ...args: readonly string[]) {
  const lines: string[] = [];
  return { code: tool(args, (line) => lines.push(line)), lines };
}

test('check values: the clock too, and a wrong figure is a miss', () => {
  const { code, lines } = told(checkValues, published('check-values.json'));
  expect(code).toBe(0);
  expect(lines.find((l) => l.startsWith('9 clocks'))).toContain('8 passed, 0 failed');
  const all = JSON.parse(readFileSync(published('check-values.json'), 'utf8'));
  const wrong = all.map((v: { id: string; expect: unknown }) => (v.id === 'ck-002' ? { ...v, expect: [[10, 2]] } : v));
  const off = told(checkValues, file('wrong.json', wrong));
  expect(off.code).toBe(1);
  expect(off.lines[0]).toMatch(/^failed ck-002 hlc/);
});

test('files that are not of the form get a sentence and code 2', () => {
  for (const bad of ['not json', [], {}, [{ id: 'x' }], null, { cases: [] }, { cases: [{ id: 'x' }] }]) {
    const path = file('bad.json', bad);
    for (const tool of [checkValues, cases]) {
      const { code, lines } = told(tool, path);
      expect(code).toBe(2);
      expect(lines.length).toBe(1);
    }
  }
  expect(told(cases).code).toBe(2);
  expect(told(checkValues, join(dir, 'nowhere.json')).code).toBe(2);
});

test('a case that is answered otherwise is a miss, and named', () => {
  const one = {
    id: 'x1',
    prior: 'changed',
    findings: [{ finding: 'top_on_back', state: 'big_loops' }],
    expected: { firstSuspicion: ['not_in_discs'], nextAction: ['rethread_top'], wrong: [] },
  };
  const { code, lines } = told(cases, file('one.json', { cases: [one] }));
  expect([code, lines]).toEqual([0, ['first suspicion 1 of 1, next action 1 of 1, harmful 0']]);
  const harmed = { ...one, expected: { ...one.expected, wrong: [{ action: 'rethread_top', why: '' }] } };
  const bad = told(cases, file('bad-one.json', { cases: [harmed] }));
  expect(bad.code).toBe(1);
  expect(bad.lines[0]).toBe('x1: offers rethread_top, which is wrong here');
});
