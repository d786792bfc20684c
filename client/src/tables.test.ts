import { parse } from 'csv-parse/sync';
import { expect, test } from 'vitest';
import { newId } from './read';
import { memoryEngine } from './store/memory';
import { type Draft, storeOver } from './store/store';
import { tableText } from './tables';
import { headings, tableNames } from './text/tables';

const at = Date.UTC(2026, 4, 1, 9, 30);

async function filled() {
  const store = await storeOver(memoryEngine(), { zone: () => 120 });
  await store.startStudio('');
  const [machine, bobbinCase, thread, move, recipe] = [newId(), newId(), newId(), newId(), newId()];
  const put = (kind: string, set: Draft['set'], id = newId()): Draft => ({ kind, id, set: { ...set, zone: 120 } });
  const screw = `top:${machine}`;
  await store.write(
    [
      put('machine', { name: '=Big frame' }, machine),
      put('bobbinCase', { label: 'Green, "dot"' }, bobbinCase),
      put('thread', { number: '60', fibre: 'polyester' }, thread),
      put('reading', {
        ...{ type: 'drop', machine, bobbinCase, thread, fill: 'full' },
        drops: [{ answer: 'right', tenthsIn: 45 }, { answer: 'right' }, { answer: 'far', tenthsIn: 90, out: true }],
      }),
      put('reading', { type: 'drop', machine, drops: [null] }), // a stranger's
      put('change', { screw, type: 'move', minutes: -30, after: [], machine }, move),
      put('change', { screw, type: 'strike', strikes: move, after: [move], machine }),
      put(
        'recipe',
        {
          name: 'Night sky',
          machine,
          bobbinThread: thread,
          topMinutesFromFlush: -15,
          score: 1,
          text: '+ slow\ncorners',
        },
        recipe,
      ),
    ],
    at,
  );
  await store.write([put('recipeUse', { recipe, worked: true, machine })], at + 1);
  await store.write([put('recipeUse', { recipe, worked: false, machine })], at + 2);
  return store;
}

const read = (text: string) => parse(text, { columns: true }) as { [heading: string]: string }[];

test('readings: what was measured, in inches, without the drops that were left out', async () => {
  const [row, other, ...more] = read(await tableText(await filled(), 'readings')).sort(
    (a, b) => (a['Drops (in)'] ? -1 : 1) - (b['Drops (in)'] ? -1 : 1),
  );
  expect(row).toMatchObject({
    When: '2026-05-01 11:30 +02:00',
    Machine: "'=Big frame",
    'Bobbin case': 'Green, "dot"',
    'Bobbin thread': '60 polyester',
    Reading: 'drop',
    'Drops (in)': '4.5; ',
    'Drops say': 'right; right',
    'Left out': '1',
  });
  expect(other?.Reading).toBe('drop');
  expect(more).toEqual([]);
});

test('turns: a number stays a number, and what was struck says so', async () => {
  const rows = read(await tableText(await filled(), 'turns'));
  expect(rows.map((r) => [r.Screw, r.What, r['Minutes on the clock (+ tighter)'], r['Struck out']]).sort()).toEqual([
    ['top', 'move', '-30', 'yes'],
    ['top', 'strike', '', ''],
  ]);
});

test('recipes: the last word on how it went, and no formula in what was written', async () => {
  const [row] = read(await tableText(await filled(), 'recipes'));
  expect(row).toMatchObject({
    Name: 'Night sky',
    'Top from flush (minutes on the clock)': '-15',
    'Score of its last lines': '1',
    'Worked the last time': 'no',
    'What to remember': "'+ slow\ncorners",
  });
});

test('an empty studio has its headings', async () => {
  const store = await storeOver(memoryEngine(), { zone: () => 0 });
  await store.startStudio('');
  for (const table of tableNames) {
    const rows = parse(await tableText(store, table)) as string[][];
    expect(rows).toEqual([[...headings[table]]]);
    expect(new Set(rows[0]).size).toBe(rows[0]?.length);
  }
});
