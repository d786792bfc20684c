// Each cue can be tried and switched off by itself, a false touch does nothing and says so, keys and pedals go on, and the
// screen is kept on again after the phone was away.
import assert from 'node:assert/strict';
import test from 'node:test';
import { open } from '../tools/screens.mjs';
import { browser } from './browser.mjs';
import { fill } from './database.mjs';
import { button, tap, titled } from './hand.mjs';
import { go, openPhone, startServer, until } from './harness.mjs';
import { phoneOf } from './tasks.mjs';

/** Runs in the page before the app: what is sounded, shaken, said and kept on is noted. */
function note() {
  const noted = { tones: [], shakes: [], said: [], locks: 0 };
  window.evenpullNoted = noted;
  const start = OscillatorNode.prototype.start;
  OscillatorNode.prototype.start = function (at) {
    noted.tones.push(this.frequency.value);
    return start.call(this, at);
  };
  navigator.vibrate = (pattern) => {
    if (pattern !== 0) noted.shakes.push(pattern);
    return true;
  };
  const voice = (localService, name) => ({ localService, name, lang: 'en-GB' });
  window.SpeechSynthesisUtterance = class {
    constructor(text) {
      this.text = text;
    }
  };
  Object.defineProperty(window, 'speechSynthesis', {
    value: {
      getVoices: () => [voice(false, 'far away'), voice(true, 'on this phone')],
      speak: (s) => noted.said.push([s.text, s.voice.name]),
      cancel() {},
    },
  });
  Object.defineProperty(navigator, 'wakeLock', {
    value: {
      request: async () => {
        noted.locks++;
        const lock = new EventTarget();
        lock.release = async () => lock.dispatchEvent(new Event('release'));
        window.evenpullLock = lock;
        return lock;
      },
    },
  });
}

const gaps = { pickUpS: 1, holdS: 30, quietS: 2 };
const noted = (page) => page.evaluate(() => window.evenpullNoted);

async function opened(t, settings = {}) {
  const server = await startServer(t);
  const phone = await openPhone(t, { browser });
  await phone.context.addInitScript(note);
  const { page } = phone;
  await go(page, server.url);
  const rows = await phoneOf((ctx) => ({ ...ctx, gaps }), { quiet: true });
  for (const device of rows.meta ?? []) if (device?.value?.settings) Object.assign(device.value.settings, settings);
  await page.evaluate(fill, rows);
  await go(page, server.url);
  return { phone, page, server };
}

test('each cue is tried by itself', { timeout: 180_000 }, async (t) => {
  const { phone, page, server } = await opened(t);
  await open(page, server.url, '/people');
  const attempt = (name) => page.getByRole('button', { name: `Try: ${name}` }).tap();
  await attempt('Sound');
  await until('it sounded', async () => (await noted(page)).tones.length > 0);
  await attempt('Vibration');
  await until('it shook', async () => (await noted(page)).shakes.length === 1);
  await attempt('A voice says one, two, three');
  await until('it spoke', async () => (await noted(page)).said.length === 1);
  assert.deepEqual((await noted(page)).said, [['one', 'on this phone']], 'never by a voice that needs signal');
  await attempt('Whole screen turns at the end');
  await page.locator('.turned-screen').waitFor();
  const began = Date.now();
  await page.locator('.turned-screen').waitFor({ state: 'detached' });
  assert.ok(Date.now() - began > 600, 'it is held, it does not flash');
  const counts = await noted(page);
  assert.deepEqual([counts.shakes.length, counts.said.length], [1, 1], 'one cue does not set off another');
  assert.deepEqual(phone.errors, []);
});

test('a false touch does nothing, and says so', { timeout: 180_000 }, async (t) => {
  const { page } = await opened(t);
  await tap(page, 'Drop test');
  await titled(page, 'Phone at eye height');
  const cdp = await page.context().newCDPSession(page);
  const touch = (type, points) => cdp.send('Input.dispatchTouchEvent', { type, touchPoints: points });
  const said = () => page.getByText('Not counted').waitFor();
  const gone = () => page.getByText('Not counted').waitFor({ state: 'detached' });
  const { x, y, width, height } = await page.locator('.main-act').boundingBox();
  const at = { x: x + width / 2, y: y + height / 2 };

  await touch('touchStart', [at, { x: at.x - 60, y: at.y }]); // a palm
  await touch('touchEnd', []);
  await said();
  await titled(page, 'Phone at eye height');
  await gone();

  await touch('touchStart', [at]); // a long press
  const pressed = Date.now();
  await until('it was held for over a second', async () => Date.now() - pressed > 1200);
  await touch('touchEnd', []);
  await said();
  await titled(page, 'Phone at eye height');
  await gone();

  await tap(page, 'Start'); // a touch that counts
  await titled(page, 'Listen');
  await page.locator('.pace.hold').waitFor();
  await touch('touchStart', [{ x: 180, y: 500 }]); // while only Stop is live
  await touch('touchEnd', []);
  await said();
  await titled(page, 'Listen');
  await tap(page, 'Stop');
  await titled(page, 'What did each drop do?');
});

test('a keyboard or pedal goes on', { timeout: 180_000 }, async (t) => {
  const { page, server } = await opened(t);
  for (const key of ['Enter', 'Space', 'PageDown', 'ArrowRight', 'ArrowDown'])
    await t.test(`with ${key}`, async () => {
      await open(page, server.url, '/');
      await tap(page, 'Drop test');
      await titled(page, 'Phone at eye height');
      await button(page, 'Start').waitFor();
      // keys are listened to from the frame after the one that draws the button
      await page.evaluate(
        () => new Promise((r) => requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(r)))),
      );
      await page.keyboard.press(key);
      await titled(page, 'Listen');
      await tap(page, 'Stop');
      await titled(page, 'What did each drop do?');
      await tap(page, 'Start over');
      await titled(page, 'Phone at eye height');
    });
});

test('the screen is kept on again after the phone was away', { timeout: 120_000 }, async (t) => {
  const { page } = await opened(t);
  await tap(page, 'Drop test');
  await page.getByText('screen stays on').waitFor();
  const before = (await noted(page)).locks;
  const away = (hidden) =>
    page.evaluate((hidden) => {
      Object.defineProperty(document, 'hidden', { configurable: true, get: () => hidden });
      const state = hidden ? 'hidden' : 'visible';
      Object.defineProperty(document, 'visibilityState', { configurable: true, get: () => state });
      if (hidden) window.evenpullLock.dispatchEvent(new Event('release')); // as a browser does
      document.dispatchEvent(new Event('visibilitychange'));
    }, hidden);
  await away(true);
  await page.getByText('screen may sleep').waitFor();
  await away(false);
  await page.getByText('screen stays on').waitFor({ timeout: 1000 });
  assert.equal((await noted(page)).locks, before + 1);
});
