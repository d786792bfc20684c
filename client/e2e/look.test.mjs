// Every screen in every theme: nothing for axe-core to find; at every width of a phone: no sideways scroll, one heading,
// text of at least 15 px, and targets of at least 48 px.
import assert from 'node:assert/strict';
import test from 'node:test';
import {
  entries,
  firstPlaces,
  joinDemo,
  open,
  openEntry,
  openTask,
  places,
  tasks,
  themes,
  wear,
} from '../tools/screens.mjs';
import { axe, openPhone, startServer } from './harness.mjs';

const widths = [
  [360, 740],
  [320, 568],
  [390, 844],
  [568, 320],
];

/** What is wrong with the page as it stands, one line each. */
const measure = (page) =>
  page.evaluate((width) => {
    const wrong = [];
    const seen = (e) =>
      e.checkVisibility({ opacityProperty: true, visibilityProperty: true }) && e.getClientRects().length > 0;
    const name = (e) =>
      `${e.tagName.toLowerCase()}.${e.className?.baseVal ?? e.className} "${(e.textContent ?? '').trim().slice(0, 30)}"`;
    const root = document.documentElement;
    // a phone widens its own view to what is too wide: ask for what it was given
    if (root.scrollWidth > width) wrong.push(`sideways scroll: ${root.scrollWidth} of ${width} px`);
    const heads = [...document.querySelectorAll('h1')].filter(seen);
    if (heads.length !== 1) wrong.push(`${heads.length} headings of the first order`);
    const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    for (let n = walk.nextNode(); n; n = walk.nextNode()) {
      const e = n.parentElement;
      if (!n.data.trim() || !e || !seen(e) || e.closest('svg')) continue;
      const px = Number.parseFloat(getComputedStyle(e).fontSize);
      if (px < 14.99) wrong.push(`text of ${px} px: ${name(e)}`);
    }
    for (const e of document.querySelectorAll(
      'button, a[href], input, select, textarea, summary, [role=button], [role=radio]',
    )) {
      if (!seen(e)) continue;
      const r = (e.closest('label') ?? e).getBoundingClientRect(); // a label is part of its control's target
      if (r.width < 1 || r.height < 1) continue;
      if (r.width < 47.5 || r.height < 47.5)
        wrong.push(`target of ${Math.round(r.width)} x ${Math.round(r.height)} px: ${name(e)}`);
    }
    return [...new Set(wrong)];
  }, page.viewportSize().width);

async function lookOver(page, reach) {
  const wrong = [];
  for (const [width, height] of widths) {
    await page.setViewportSize({ width, height });
    await reach();
    for (const w of await measure(page)) wrong.push(`${width}x${height}: ${w}`);
  }
  await page.setViewportSize({ width: 360, height: 740 });
  for (const theme of themes) {
    await wear(page, theme);
    for (const w of await axe(page)) wrong.push(`${theme}: ${w}`);
  }
  return wrong;
}

test('every screen in every theme', { timeout: 240_000 }, async (t) => {
  const server = await startServer(t, { args: ['--demo'] });
  const phone = await openPhone(t, { options: { bypassCSP: true } }); // for axe's own script; other tests hold the policy
  const { page } = phone;
  const { url } = server;
  const holds = (name, reach) => t.test(name, async () => assert.deepEqual(await lookOver(page, reach), []));
  for (const [name, path] of Object.entries(firstPlaces)) await holds(name, () => open(page, url, path));
  await joinDemo(page, server);
  for (const [name, path] of Object.entries(places)) await holds(name, () => open(page, url, path));
  for (const [name, words] of Object.entries(entries)) await holds(name, () => openEntry(page, url, words));
  for (const [name, label] of Object.entries(tasks)) await holds(name, () => openTask(page, url, label));
  await t.test('what must be found is found', async () => {
    await page.evaluate(() => {
      const e = document.createElement('button');
      e.setAttribute(
        'style',
        'width:20px;height:20px;min-width:0;min-height:0;padding:0;font-size:9px;color:#ddd;background:#eee',
      );
      e.textContent = 'too pale';
      const wide = document.createElement('div');
      wide.setAttribute('style', 'width:900px;height:1px');
      document.body.append(e, wide, document.createElement('h1'));
    });
    const found = (await measure(page)).join('\n');
    for (const word of [/sideways/, /headings/, /text of 9 px/, /target of 20 x 20/]) assert.match(found, word);
    assert.match((await axe(page)).join('\n'), /color-contrast/);
  });
  assert.deepEqual(phone.errors, []);
});
