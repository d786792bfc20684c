// Stitches per inch, by a ruler and by a screen that was matched; where the screen can't be trusted, no figure.
import assert from 'node:assert/strict';
import test from 'node:test';
import { joinDemo, open } from '../tools/screens.mjs';
import { browser } from './browser.mjs';
import { tap } from './hand.mjs';
import { openPhone, startServer } from './harness.mjs';

/** Drags the dot of what is measured so many px to the right. */
async function drag(page, name, px) {
  const dot = page.getByRole('img', { name }).locator('.handle');
  await dot.scrollIntoViewIfNeeded();
  const { x, y, width, height } = await dot.boundingBox();
  await page.mouse.move(x + width / 2, y + height / 2);
  await page.mouse.down();
  await page.mouse.move(x + width / 2 + px / 2, y + height / 2);
  await page.mouse.move(x + width / 2 + px, y + height / 2);
  await page.mouse.up();
}

test('stitches per inch', { timeout: 120_000 }, async (t) => {
  const server = await startServer(t, { args: ['--demo'] });
  const phone = await openPhone(t, { browser });
  const { page } = phone;
  await joinDemo(page, server);
  await open(page, server.url, '/ruler');
  const ten = page.getByLabel('Length of ten stitches');
  const figures = page.getByText(/^About .* stitches per inch/);

  await ten.fill('1 in');
  await page.getByText('About 10 stitches per inch, 2.5 mm each.').waitFor();
  await tap(page, 'Keep it with the quilt');
  await page.waitForFunction(() => document.querySelector('.field input')?.value === ''); // what was typed is in the record
  await ten.fill('25,4 mm');
  await page.getByText('With the quilt: 10 stitches per inch.').waitFor();
  await ten.fill('3 mm'); // ten stitches are not that short
  await ten.blur();
  await page.getByText('This is too small to be right.').waitFor();
  assert.equal(await figures.count(), 0);

  const wide = async (words) => (await page.getByRole('img', { name: words }).boundingBox()).width;
  const before = await wide('As wide as a bank card');
  await tap(page, 'Wider by 5');
  const card = await wide('As wide as a bank card');
  assert.ok(Math.abs(card - before - 5) < 0.6, `${before} and 5 more: ${card}`);
  // by dragging too: both edges of the card move, for it stands in the middle
  await drag(page, 'As wide as a bank card', -7);
  assert.ok(Math.abs((await wide('As wide as a bank card')) - card + 14) < 0.6, 'the edge follows the finger');
  await drag(page, 'As wide as a bank card', 7);
  assert.ok(Math.abs((await wide('As wide as a bank card')) - card) < 0.6);
  await tap(page, 'It fits');
  assert.ok(Math.abs((await wide('20 mm')) - (card * 20) / 53.98) < 0.6, 'one scale for both checks');
  assert.equal(await figures.count(), 0, 'nothing before both fit');
  await tap(page, 'Yes, 20 mm');
  await figures.waitFor();
  await page.reload();
  await figures.waitFor(); // this phone keeps it
  const ten10 = await wide(/^Ten stitches/);
  const words = await figures.textContent();
  await drag(page, /^Ten stitches/, 30);
  assert.equal(await wide(/^Ten stitches/), ten10 + 30);
  assert.notEqual(await figures.textContent(), words);
  await drag(page, /^Ten stitches/, 2000); // no longer than the screen, and nothing is left of the finger afterwards
  await page.mouse.move(20, 20);
  assert.ok((await wide(/^Ten stitches/)) > ten10 + 30);
  assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth));

  const cdp = await page.context().newCDPSession(page);
  await cdp.send('Emulation.setPageScaleFactor', { pageScaleFactor: 1.5 });
  await page.getByText('The page is zoomed in').waitFor();
  assert.equal(await figures.count(), 0);
  await cdp.send('Emulation.setPageScaleFactor', { pageScaleFactor: 1 });
  await figures.waitFor();
  await page.setViewportSize({ width: 412, height: 900 });
  await page.getByText('This is another screen').waitFor();
  assert.equal(await figures.count(), 0);
  assert.deepEqual(phone.errors, []);
});
