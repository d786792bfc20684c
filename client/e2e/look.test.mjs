// Every screen in every theme at every width: nothing for axe-core to find, no sideways scroll, one heading, text of at
// least 15 px that is nowhere cut off, and targets of at least 48 px that don't lie over one another; with letters of twice
// the usual size too.
import assert from 'node:assert/strict';
import test from 'node:test';
import {
  entries,
  firstPlaces,
  joinDemo,
  open,
  openEntry,
  openStep,
  openTask,
  places,
  tasks,
  themes,
  wear,
} from '../tools/screens.mjs';
import { browser } from './browser.mjs';
import { axe, openPhone, part, startServer, whole } from './harness.mjs';
import { measure, resize, sizes } from './measure.mjs';

/**
 * Day is looked over at every width; what another theme changes shows at the smallest and the largest. The first tier asks
 * axe-core for all its rules once and for the contrast of each theme, and leaves the widths between out.
 */
async function lookOver(page, reach) {
  const wrong = [];
  await reach();
  for (const theme of themes) {
    await wear(page, theme);
    const ends = [sizes[0], sizes.at(-1)];
    for (const size of theme === 'day' && whole ? sizes : whole || theme === 'day' ? ends : [sizes[0]]) {
      await resize(page, size);
      const all = whole || (theme === 'day' && size === sizes[0]);
      const found = [...(await measure(page)), ...(await axe(page, all ? undefined : ['color-contrast']))];
      for (const w of found) wrong.push(`${theme}, ${size.join('x')}: ${w}`);
    }
  }
  return wrong;
}

const usual = { standard: 16, fixed: 13 };
const twice = { standard: 32, fixed: 26 };
/** Where letters of twice the usual size are looked at; the first tier looks at the smallest. */
const widths = [sizes[0], sizes[1], sizes.at(-1)];

/** What is wrong on the screen as it stands when its person asked the browser for letters of twice the usual size. */
async function atTwice(page, fonts) {
  await fonts(twice);
  const wrong = [];
  for (const size of part(widths, 3)) {
    await resize(page, size);
    for (const w of await measure(page)) wrong.push(`${size.join('x')}: ${w}`);
  }
  const root = await page.evaluate(() => getComputedStyle(document.documentElement).fontSize);
  await fonts(usual);
  if (wrong.length > 0) await page.goto('about:blank'); // what ran off the screen leaves a phone zoomed out
  return root === '32px' ? wrong : [`letters of ${root}`];
}

test('every screen in every theme', { timeout: 600_000 }, async (t) => {
  const server = await startServer(t, { args: ['--demo'] });
  const phone = await openPhone(t, { browser, options: { bypassCSP: true } }); // for axe's own script; other tests hold the policy
  const { page } = phone;
  const { url } = server;
  const cdp = await page.context().newCDPSession(page);
  const fonts = (fontSizes) => cdp.send('Page.setFontSizes', { fontSizes });
  const holds = async (name, reach) => {
    await t.test(name, async () => assert.deepEqual(await lookOver(page, reach), []));
    await t.test(`${name}, letters of twice the size`, async () => assert.deepEqual(await atTwice(page, fonts), []));
  };
  for (const [name, path] of Object.entries(firstPlaces)) await holds(name, () => open(page, url, path));
  await joinDemo(page, server);
  for (const [name, path] of Object.entries(places)) await holds(name, () => open(page, url, path));
  for (const [name, words] of Object.entries(entries)) await holds(name, () => openEntry(page, url, words));
  await holds('caution', () => openTask(page, url, tasks['drop-test']));
  for (const [name, label] of Object.entries(tasks)) await holds(name, () => openStep(page, url, label));
  await t.test('what must be found is found', async () => {
    await resize(page, sizes[0]);
    await page.evaluate(() => {
      const e = document.createElement('button');
      e.setAttribute(
        'style',
        'width:20px;height:20px;min-width:0;min-height:0;padding:0;font-size:9px;color:#ddd;background:#eee',
      );
      e.textContent = 'too pale';
      const cut = document.createElement('p');
      cut.setAttribute('style', 'height:4px;overflow:hidden');
      cut.textContent = 'cut off';
      const out = document.createElement('button');
      out.setAttribute('style', 'position:absolute;inset:9px auto auto 0;width:50px;white-space:nowrap');
      out.textContent = 'words that stick out';
      const over = document.createElement('button');
      over.setAttribute('style', 'position:absolute;inset:0 auto auto 0');
      over.textContent = 'over the other';
      const wide = document.createElement('div');
      wide.setAttribute('style', 'width:900px;height:1px');
      document.body.append(e, cut, out, over, wide, document.createElement('h1'));
    });
    const found = (await measure(page)).join('\n');
    for (const word of [
      /sideways/,
      /headings/,
      /text of 9 px/,
      /target of 20 x 20/,
      /cut off/,
      /stick out/,
      /over the other/,
    ])
      assert.match(found, word);
    assert.match((await axe(page)).join('\n'), /color-contrast/);
  });
  assert.deepEqual(phone.errors, []);
});
