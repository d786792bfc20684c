// When the app does not start, the guard offers a copy of everything that is kept, whatever version wrote it.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';
import { browser } from './browser.mjs';
import { appStarted, openPhone, startServer } from './harness.mjs';

const broken = { contentType: 'text/javascript', body: "throw new Error('broken on purpose')" };
const app = '**/assets/main-*.js';
const rescue = (page) => page.locator('#rescue');

/** A database as a later version could have left it: another number, other stores, values of every kind. */
const fill = (page) =>
  page.evaluate(async () => {
    const key = await crypto.subtle.generateKey({ name: 'ECDSA', namedCurve: 'P-256' }, false, ['sign', 'verify']);
    await new Promise((done, fail) => {
      const open = indexedDB.open('evenpull', 70);
      open.onerror = () => fail(open.error);
      open.onupgradeneeded = () => {
        for (const name of ['later', 'photosOfLater']) open.result.createObjectStore(name);
      };
      open.onsuccess = () => {
        const tx = open.result.transaction(['later', 'photosOfLater'], 'readwrite');
        tx.objectStore('later').put({ text: 'five on the clock 🧵 </script>', at: [5, 0], key: key.privateKey }, [
          'note',
          1,
        ]);
        tx.objectStore('photosOfLater').put({ bytes: new Uint8Array(70_000).fill(7).buffer }, 'as bytes');
        tx.objectStore('photosOfLater').put({ file: new Blob(['picture']) }, 'as a file');
        tx.oncomplete = () => {
          open.result.close();
          done();
        };
      };
    });
  });

test('an app that throws: the page says that the notes are there, and saves a copy of them', {
  timeout: 60_000,
}, async (t) => {
  const server = await startServer(t);
  const phone = await openPhone(t, { browser });
  const { page } = phone;
  await page.route(app, (r) => r.fulfill(broken));
  await page.goto(server.url);
  await fill(page);
  await page.reload();
  await rescue(page).getByText('Your notes are still on this phone').waitFor({ timeout: 15_000 });
  await rescue(page).getByText('broken on purpose').waitFor();
  const [download] = await Promise.all([
    page.waitForEvent('download'),
    page.getByRole('button', { name: 'Save a copy' }).tap(),
  ]);
  const copy = JSON.parse(readFileSync(await download.path(), 'utf8'));
  assert.equal(download.suggestedFilename(), 'evenpull-rescue.json');
  assert.equal(copy.format, 'evenpull-rescue');
  assert.equal(copy.database, 70);
  assert.deepEqual(copy.stores.later, [[['note', 1], { text: 'five on the clock 🧵 </script>', at: [5, 0] }]]);
  const photos = new Map(copy.stores.photosOfLater);
  const bytes = Buffer.from(photos.get('as bytes').bytes.base64, 'base64');
  assert.ok(bytes.length === 70_000 && bytes.every((b) => b === 7));
  assert.equal(Buffer.from(photos.get('as a file').file.base64, 'base64').toString(), 'picture');
  await page.getByText('The copy is with your downloads.').waitFor();
  // large enough for a gloved finger, and nothing refused by the security policy
  for (const b of await page.getByRole('button').all()) assert.ok((await b.boundingBox()).height >= 88);
  assert.deepEqual(
    phone.errors.filter((e) => /policy|Trusted/.test(e)),
    [],
  );
  // and back, once the app works again
  await page.unroute(app);
  await page.evaluate(
    () =>
      new Promise((r) => {
        indexedDB.deleteDatabase('evenpull').onsuccess = r;
      }),
  );
  await page.getByRole('button', { name: 'Load again' }).tap();
  await appStarted(page);
  assert.equal(await rescue(page).count(), 0);
});

test('with nothing kept it says so and leaves no database behind', { timeout: 60_000 }, async (t) => {
  const server = await startServer(t);
  const { page } = await openPhone(t, { browser });
  await page.route(app, (r) => r.fulfill(broken));
  await page.clock.install();
  await page.goto(server.url);
  await page.clock.fastForward(8100);
  await rescue(page).waitFor();
  await page.getByRole('button', { name: 'Save a copy' }).tap();
  await page.getByText('nothing is kept here yet').waitFor();
  assert.deepEqual(await page.evaluate(() => indexedDB.databases()), []);
});

test('a phone that is only slow gets its app after all', { timeout: 60_000 }, async (t) => {
  const server = await startServer(t);
  const { page } = await openPhone(t, { browser });
  let go;
  const held = new Promise((r) => {
    go = r;
  });
  await page.route(app, async (r) => {
    await held;
    await r.continue();
  });
  await page.clock.install();
  await page.goto(server.url, { waitUntil: 'commit' });
  await page.locator('#app').waitFor({ state: 'attached' });
  await page.clock.fastForward(8100);
  await rescue(page).waitFor();
  go();
  await appStarted(page);
  await rescue(page).waitFor({ state: 'detached' });
  assert.ok(await page.locator('#app').isVisible());
});

test('a browser below the floor is told so, with its notes at hand', { timeout: 60_000 }, async (t) => {
  const server = await startServer(t);
  const phone = await openPhone(t, { browser });
  await phone.context.addInitScript(() => {
    delete window.CompressionStream;
  });
  await phone.page.goto(server.url);
  await rescue(phone.page).getByText('This browser is too old').waitFor();
  assert.ok(await phone.page.getByRole('button', { name: 'Save a copy' }).isVisible());
  assert.equal(await phone.page.locator('#app').isVisible(), false);
});
