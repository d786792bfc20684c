// Every step of every task, from the table of all steps, in every theme: nothing for axe-core to find, nothing wider than
// the screen, and no step that asks for one act needs scrolling on a small phone.
import assert from 'node:assert/strict';
import test from 'node:test';
import { themes, wear } from '../tools/screens.mjs';
import { browser } from './browser.mjs';
import { fill } from './database.mjs';
import { appStarted, axe, axeReady, go, openPhone, part, startServer } from './harness.mjs';
import { resize } from './measure.mjs';
import { places } from './tasks.mjs';

/** Phones at work at once: one a core. */
const lanes = 2;

test('every step in every theme', { timeout: 1_200_000 }, async (t) => {
  const began = Date.now();
  const [server, table] = await Promise.all([startServer(t), places()]);
  const reached = new Set(table.places.map((p) => p.name));
  assert.deepEqual(
    table.steps.filter((s) => !reached.has(s)),
    [],
    'every step has a way to it',
  );
  const tried = part(table.places, 20);
  const left = [...tried];
  const found = new Map();
  await Promise.all(
    Array.from({ length: lanes }, async () => {
      const phone = await openPhone(t, { browser });
      await axeReady(phone.context);
      await go(phone.page, server.url);
      for (let place = left.shift(); place; place = left.shift())
        found.set(place.name, await look(phone, server.url, place).catch((e) => [String(e)]));
    }),
  );
  for (const place of tried) await t.test(place.name, () => assert.deepEqual(found.get(place.name), []));
  t.diagnostic(
    `figure: ${found.size} of ${table.steps.length} steps in ${themes.length} themes in ${((Date.now() - began) / 1000).toFixed(0)} s`,
  );
  await t.test('what must be found is found', () => missed(t, server.url, table.places[0]));
});

/** Small phones: on these a step with one instruction is seen whole. */
const low = [
  [320, 568],
  [360, 640],
];
/** Steps with a list to look through: it scrolls inside, above the main act. */
const lists = new Set([
  ...['drop-test.answer', 'sew.rate', 'see.features', 'see.result', 'see.compare', 'balance.next', 'balance.why'],
]);

/** What can be scrolled on a screen of this size: sideways never, up and down by no more than what stands in a list. */
async function scrolls(page, [width, height], whole) {
  await resize(page, [width, height]);
  return await page.evaluate(
    ([width, height, whole]) => {
      const wrong = [];
      const root = document.documentElement;
      if (root.scrollWidth > width) wrong.push(`sideways scroll: ${root.scrollWidth} of ${width} px`);
      if (root.scrollHeight > height) wrong.push(`the page scrolls: ${root.scrollHeight} of ${height} px`);
      const inner = document.querySelector('main.task .controls');
      const held = inner && /auto|scroll/.test(getComputedStyle(inner).overflowY);
      if (whole && held && inner.scrollHeight > inner.clientHeight + 1)
        wrong.push(`scrolls inside: ${inner.scrollHeight} of ${inner.clientHeight} px on ${width} x ${height}`);
      return wrong;
    },
    [width, height, whole],
  );
}

/** Puts the phone on the step and tells what is wrong with it, one line each. */
async function look(phone, url, place) {
  const { page } = phone;
  await stand(page, url, place);
  const wrong = [];
  for (const [i, theme] of themes.entries()) {
    await wear(page, theme);
    // All rules once; what a theme changes is colour.
    for (const w of await axe(page, i === 0 ? undefined : ['color-contrast'])) wrong.push(`${theme}: ${w}`);
  }
  for (const size of low) wrong.push(...(await scrolls(page, size, !lists.has(place.name))));
  await page.setViewportSize({ width: 360, height: 740 });
  return [...wrong, ...phone.errors.splice(0)];
}

async function stand(page, url, place) {
  const task = place.rows.tasks[0];
  task.touchedAt = task.state.touchedAt = Date.now();
  await page.evaluate(fill, place.rows);
  await page.goto(`${url}task`);
  await appStarted(page);
  for (const one of place.before) await page.getByRole('button', { name: one.label }).first().tap({ timeout: 15_000 });
  // a part that is read with its first use is there
  await page.locator('main.task :is(.controls button, footer button, .stop-act)').first().waitFor({ timeout: 15_000 });
}

/** A step with faults put in: each is told. */
async function missed(t, url, place) {
  const phone = await openPhone(t, { browser });
  await axeReady(phone.context);
  await go(phone.page, url);
  await stand(phone.page, url, place);
  await phone.page.evaluate(() => {
    const bad = document.createElement('button');
    Object.assign(bad.style, { color: '#ddd', background: '#eee' }); // an attribute would be refused by the page's policy
    bad.textContent = 'too pale';
    const nameless = document.createElement('button');
    document.body.append(bad, nameless);
  });
  const found = (await axe(phone.page)).join('\n');
  assert.match(found, /color-contrast/);
  assert.match(found, /button-name/);
  assert.match((await axe(phone.page, ['color-contrast'])).join('\n'), /too pale/);
  await phone.page.evaluate(() => {
    const tall = document.createElement('div');
    Object.assign(tall.style, { width: '900px', height: '900px' });
    document.querySelector('main.task .controls').append(tall);
    document.querySelector('main.task .controls').style.overflow = 'auto';
    document.querySelector('main.task .controls').style.height = '90px';
    const long = document.createElement('div');
    Object.assign(long.style, { width: '900px', height: '900px' });
    document.body.append(long);
  });
  const scroll = (await scrolls(phone.page, low[0], true)).join('\n');
  for (const word of [/sideways/, /the page scrolls/, /scrolls inside/]) assert.match(scroll, word);
}
