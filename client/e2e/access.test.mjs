// What a person needs who has no thumb on the glass, large text, colours of their own, or the phone in the left hand.
import assert from 'node:assert/strict';
import test, { after } from 'node:test';
import { joinDemo, open, openStep, openTask, places, tasks } from '../tools/screens.mjs';
import { browser } from './browser.mjs';
import { fill } from './database.mjs';
import { choose } from './hand.mjs';
import { desk, go, openPhone, part, phone as small, startServer, until } from './harness.mjs';
import { phoneOf } from './tasks.mjs';

const ends = [];
after(() => Promise.all(ends.map((end) => end())));
const file = { after: (end) => ends.push(end) };

/** One phone in the demo studio, wide and with a touch screen, for all the tests that change nothing there. */
let visitor;
const demo = () => {
  visitor ??= (async () => {
    const server = await startServer(file, { args: ['--demo'] });
    const { page } = await openPhone(file, { browser, look: { ...desk, hasTouch: true } });
    await joinDemo(page, server);
    return { page, url: server.url };
  })();
  return visitor;
};

/** Numbers every control that keys must reach: each, but of a row of radio buttons one. Runs in the page. */
function numbered() {
  const seen = (e) => e.checkVisibility({ visibilityProperty: true }) && e.getClientRects().length > 0;
  const groups = new Set();
  let n = 0;
  for (const e of document.querySelectorAll('a[href], button:not([disabled]), input, textarea, [role=slider]')) {
    if (!seen(e)) continue;
    const group = e.type === 'radio' && e.name;
    if (group && groups.has(group)) continue;
    if (group) groups.add(group);
    e.dataset.stop = group ? `group ${group}` : String(n++);
  }
  return [...document.querySelectorAll('[data-stop]')].map((e) => e.dataset.stop);
}

/** Where the keys are now, and whether one sees it. Runs in the page. */
function stop() {
  const e = document.activeElement;
  if (!e || e === document.body) return { at: undefined };
  const ringed = e.matches('.tile input') ? e.closest('.tile') : e;
  const { outlineStyle, outlineWidth } = getComputedStyle(ringed);
  const at = e.type === 'radio' ? `group ${e.name}` : e.dataset.stop;
  return { at: at ?? e.tagName, ring: outlineStyle !== 'none' && Number.parseFloat(outlineWidth) >= 3 };
}

test('keys alone reach every control, and one sees where they are', { timeout: 400_000 }, async (t) => {
  const { page, url } = await demo();
  const holds = (name, reach) =>
    t.test(name, async () => {
      await reach();
      const wanted = new Set(await page.evaluate(numbered));
      assert.ok(wanted.size > 0, `${wanted.size} controls`);
      const reached = new Set();
      for (let presses = 0; presses < 3 * wanted.size; presses++) {
        await page.keyboard.press('Tab');
        const { at, ring } = await page.evaluate(stop);
        if (at === undefined) continue; // past the last of them, and round again
        assert.ok(ring, `no ring around ${at}`);
        reached.add(at);
      }
      const there = new Set(
        await page.evaluate(() => [...document.querySelectorAll('[data-stop]')].map((e) => e.dataset.stop)),
      ); // a line that says what was done goes by itself
      assert.deepEqual(
        [...wanted].filter((w) => !reached.has(w) && there.has(w)),
        [],
      );
    });
  for (const [name, path] of part(Object.entries(places), 3)) await holds(name, () => open(page, url, path));
  for (const [name, label] of part(Object.entries(tasks), 3)) await holds(name, () => openStep(page, url, label));
});

test('a drop test by keys alone', { timeout: 180_000 }, async (t) => {
  const server = await startServer(t);
  const { page } = await openPhone(t, { browser, look: desk });
  await go(page, server.url);
  const gaps = { pickUpS: 0, holdS: 2, quietS: 2 };
  await page.evaluate(fill, await phoneOf((ctx) => ({ ...ctx, gaps })));
  await go(page, server.url);
  /** Goes on with Tab until the control with these words has the keys. */
  const to = async (words) => {
    for (let i = 0; i < 60; i++) {
      await page.keyboard.press('Tab');
      if (await page.evaluate((w) => (document.activeElement?.textContent ?? '').startsWith(w), words)) return;
    }
    throw new Error(`the keys never came to "${words}"`);
  };
  const titled = (words) => page.locator('main.task h1', { hasText: words }).waitFor();
  await to('Drop test');
  await page.keyboard.press('Enter');
  await titled('Phone at eye height');
  await page.keyboard.press('PageDown'); // a pedal: the main act needs no aiming
  await titled('Listen');
  await titled('What did each drop do?');
  assert.equal(await page.evaluate(() => document.activeElement?.tagName), 'H1', 'a new step is read aloud');
  await to('All three right');
  await page.keyboard.press('Space');
  await page.locator('main.task h1').filter({ hasNotText: 'What did each drop do?' }).waitFor();
});

test('a sheet gives the keys back where they were', { timeout: 180_000 }, async (t) => {
  const server = await startServer(t);
  const { page } = await openPhone(t, { browser, look: desk });
  await go(page, server.url);
  await page.evaluate(fill, await phoneOf());
  await go(page, server.url);
  await page.getByRole('button', { name: 'Drop test', exact: true }).press('Enter');
  const opener = page.locator('.cue-line');
  await opener.press('Enter');
  await page.getByRole('dialog', { name: 'Sound and pace' }).waitFor();
  await page.keyboard.press('Tab');
  assert.ok(await page.evaluate(() => document.activeElement?.closest('dialog') !== null), 'the keys stay on the card');
  await page.keyboard.press('Escape');
  await page.getByRole('dialog').waitFor({ state: 'detached' });
  assert.ok(await opener.evaluate((e) => e === document.activeElement));

  // the help of a task stands over its step, and the light over that
  const help = page.locator('button.task-title');
  await help.press('Enter');
  await page.getByRole('dialog', { name: 'Drop test' }).getByText('Three drops that agree').waitFor();
  const door = page.getByRole('button', { name: 'White light', exact: true });
  await door.press('Enter');
  const light = page.getByRole('dialog', { name: 'White light' });
  assert.deepEqual(await light.evaluate((e) => [getComputedStyle(e).backgroundColor, e.clientWidth, e.clientHeight]), [
    'rgb(255, 255, 255)',
    desk.viewport.width,
    desk.viewport.height,
  ]);
  await page.keyboard.press('Escape');
  await light.waitFor({ state: 'detached' });
  assert.ok(await door.evaluate((e) => e === document.activeElement));
  await page.keyboard.press('Escape');
  await page.getByRole('dialog').waitFor({ state: 'detached' });
  assert.ok(await help.evaluate((e) => e === document.activeElement));

  // the lock is moved by keys, and says what it shows
  await open(page, server.url, '/help');
  const lock = page.getByRole('slider', { name: 'Where the threads lock' });
  const says = () => lock.getAttribute('aria-valuetext');
  assert.match(await says(), /^Both pull alike/);
  await lock.press('Home');
  await until('the top pulls', async () => /^The top thread pulls much harder/.test(await says()));
  await lock.press('End');
  await until('the bobbin pulls', async () => /^The bobbin thread pulls much harder/.test(await says()));
  await page.getByRole('button', { name: 'Back to the middle' }).press('Enter');
  await until('both pull', async () => /^Both pull alike/.test(await says()));
});

test('the clock says in words what it shows, and takes the arrow keys', { timeout: 180_000 }, async () => {
  const { page, url } = await demo();
  await openStep(page, url, tasks.turned);
  await page.getByRole('button', { name: 'Top tension knob' }).click();
  const clock = page.getByRole('slider');
  await clock.waitFor();
  const says = () => clock.getAttribute('aria-valuetext');
  assert.equal(await says(), 'As it stands');
  await clock.press('ArrowRight');
  const [first] = [
    await until('the clock moved', async () => ((await says()) !== 'As it stands' ? says() : undefined)),
  ];
  assert.match(first, /^tighten .* on the clock.*, to the (right|left), tighter/);
  await clock.press('ArrowLeft');
  await clock.press('ArrowLeft');
  await until('it is looser', async () => /^loosen .*looser/.test(await says()));
  await clock.press('Home');
  await until('it is back', async () => (await says()) === 'As it stands');
});

test('small buttons stand under the thumb of the hand that holds the phone', { timeout: 180_000 }, async () => {
  const { page, url } = await demo();
  await page.setViewportSize(small.viewport);
  const leave = async () => {
    await openTask(page, url, tasks['drop-test']);
    const box = await page.locator('.leave-act').boundingBox();
    return box.x + box.width / 2;
  };
  assert.ok((await leave()) > 180, 'at the right to begin with');
  await open(page, url, '/people');
  await choose(page, 'hand', 'left');
  await page.locator('html[data-hand=left]').waitFor({ state: 'attached' });
  assert.ok((await leave()) < 180, 'and at the left for the left hand');
  const main = await page.locator('.main-act').boundingBox();
  assert.ok(main.width > 300, 'the main act is as wide as the screen for both');
});

test('a wish for less motion is above every rule', { timeout: 180_000 }, async (t) => {
  const server = await startServer(t);
  const { page } = await openPhone(t, { browser, options: { reducedMotion: 'reduce' } });
  await go(page, server.url);
  const moves = await page.evaluate(() => {
    const sheet = new CSSStyleSheet();
    sheet.replaceSync(
      '@keyframes turn { to { rotate: 1turn } } .turns { animation: turn 9s infinite; transition: all 9s }',
    );
    document.adoptedStyleSheets.push(sheet);
    const e = document.createElement('p');
    e.className = 'turns';
    document.body.append(e);
    const { animationName, transitionDuration } = getComputedStyle(e);
    return [animationName, transitionDuration, document.getAnimations().length];
  });
  assert.deepEqual(moves, ['none', '0s', 0]);
});

test('in colours of the system every control keeps its frame, and what is chosen is told apart', {
  timeout: 180_000,
}, async () => {
  const { page, url } = await demo();
  await page.setViewportSize(small.viewport);
  await page.emulateMedia({ forcedColors: 'active' });
  for (const path of ['/', '/bench', '/people', '/changes']) {
    await open(page, url, path);
    const frameless = await page.evaluate(() => {
      const canvas = getComputedStyle(document.body).backgroundColor;
      return [...document.querySelectorAll('button:not(.quiet, .line), .tile, .card')]
        .filter((e) => e.getClientRects().length > 0)
        .filter((e) => {
          const { borderTopWidth, borderTopColor } = getComputedStyle(e);
          return Number.parseFloat(borderTopWidth) < 1 || borderTopColor === canvas;
        })
        .map((e) => e.textContent);
    });
    assert.deepEqual(frameless, [], path);
  }
  await open(page, url, '/bench');
  const [chosen, other] = await page.evaluate(() =>
    ['.tile:has(input:checked)', '.tile:not(:has(input:checked))'].map(
      (s) => getComputedStyle(document.querySelector(s)).outlineStyle,
    ),
  );
  assert.deepEqual([chosen, other], ['solid', 'none']);
});
