// A language whose words are 40 % longer and run from right to left breaks nothing, and no screen has words of its own.
import assert from 'node:assert/strict';
import { execFile } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import test from 'node:test';
import { promisify } from 'node:util';
import { entries, firstPlaces, joinDemo, open, openEntry, openTask, places, tasks } from '../tools/screens.mjs';
import { browser } from './browser.mjs';
import { folder, openPhone, part, startServer } from './harness.mjs';
import { measure, resize, sizes } from './measure.mjs';

/** What the build makes of a text. */
const longer = new Function(`${readFileSync('client/build/pseudo.js', 'utf8')}; return pseudo;`)();

const types = { js: 'text/javascript', css: 'text/css', html: 'text/html', svg: 'image/svg+xml', woff2: 'font/woff2' };

/** A phone whose page comes from a build with longer words; all else it asks of the program. */
async function phoneWithLongerWords(t) {
  const dir = await folder(t);
  await promisify(execFile)('go', ['run', './client/build', '-pseudo', dir]);
  const phone = await openPhone(t, { browser });
  await phone.context.route('**/*', (route) => {
    const { pathname } = new URL(route.request().url());
    const file = join(dir, pathname === '/' || !existsSync(join(dir, pathname)) ? 'index.html' : pathname);
    if (pathname.startsWith('/v1/') || pathname.startsWith('/healthz')) return route.continue();
    const body = readFileSync(file);
    const page = file.endsWith('.html') && String(body).replace('<html', '<html dir="rtl"');
    return route.fulfill({ body: page || body, contentType: types[file.split('.').at(-1)] ?? 'text/plain' });
  });
  return phone;
}

/** Every text on the screen that is in no words of the program's. Runs in the page. */
function foreign() {
  const found = [];
  const letters = (words) => /\p{L}{2}/u.test(words ?? '') && !words.includes('\u2045');
  const walk = document.createTreeWalker(document.querySelector('#app'), NodeFilter.SHOW_TEXT);
  for (let n = walk.nextNode(); n; n = walk.nextNode()) if (letters(n.data)) found.push(n.data);
  const said = ['aria-label', 'aria-valuetext', 'title', 'placeholder', 'alt'];
  for (const e of document.querySelectorAll('#app *'))
    for (const name of said) if (letters(e.getAttribute(name))) found.push(`${name}: ${e.getAttribute(name)}`);
  return found;
}

/** What people wrote in the demo studio, the longest first; and what the phone's own calendar says. */
function written() {
  const records = JSON.parse(readFileSync('testdata/demo/records.json', 'utf8'));
  const theirs = ['name', 'label', 'text', 'number', 'fibre', 'needle', 'batting', 'backing'];
  const values = records.flatMap((r) => theirs.flatMap((f) => r.fields[f] ?? [])).flatMap((v) => String(v).split('\n'));
  const days = Array.from({ length: 366 }, (_, i) => new Date(2026, 0, 1 + i));
  const parts = new Intl.DateTimeFormat('en-US', { weekday: 'short', month: 'short', hour: 'numeric' });
  const calendar = days.flatMap((d) => parts.formatToParts(d).map((p) => p.value));
  const named = ['Visitor', 'Lantern Lane', 'Toril', 'Wenna', 'aria-label', 'AM', 'PM', 'mm'];
  const begun = values.map((v) => v.slice(0, 80)); // a long first line is shown as far as it fits
  const all = new Set([...values, ...begun, ...calendar, ...named]);
  return [...all].filter((v) => /\p{L}{2}/u.test(v)).sort((x, y) => y.length - x.length);
}

test('longer words from right to left', { timeout: 600_000 }, async (t) => {
  const server = await startServer(t, { args: ['--demo'] });
  const phone = await phoneWithLongerWords(t);
  const { page } = phone;
  const { url } = server;
  const theirs = written();
  const cut = (words) => words.endsWith('…') && theirs.some((v) => v.startsWith(words.slice(0, -1).trimEnd())); // as far as it fits
  const ours = (words) =>
    !cut(words) && /\p{L}{2}/u.test(theirs.reduce((left, value) => left.replaceAll(value, ' '), words));
  const holds = (name, reach) =>
    t.test(name, async () => {
      const wrong = [];
      await reach();
      assert.equal(await page.evaluate(() => getComputedStyle(document.querySelector('h1')).direction), 'rtl');
      for (const size of part(sizes, 6)) {
        await resize(page, size);
        for (const w of await measure(page)) wrong.push(`${size.join('x')}: ${w}`);
      }
      assert.deepEqual(wrong, []);
      assert.deepEqual((await page.evaluate(foreign)).filter(ours), [], 'words that do not come from src/text');
    });
  for (const [name, path] of Object.entries(firstPlaces)) await holds(name, () => open(page, url, path));
  await joinDemo(page, server);
  for (const [name, path] of Object.entries(places)) await holds(name, () => open(page, url, path));
  for (const [name, words] of Object.entries(entries)) await holds(name, () => openEntry(page, url, words));
  for (const [name, label] of Object.entries(tasks)) await holds(name, () => openTask(page, url, longer(label)));
  await t.test('what must be found is found', async () => {
    await page.evaluate(() => document.querySelector('h1').append('of my own'));
    assert.deepEqual((await page.evaluate(foreign)).filter(ours), ['of my own']);
  });
  assert.deepEqual(phone.errors, []);
});
