// A new build waits until it is let in, then the page loads anew, once; a build that can't be kept whole changes nothing.
import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import test from 'node:test';
import { gzipSync } from 'node:zlib';
import { joinDemo, openTask, tasks } from '../tools/screens.mjs';
import { browser } from './browser.mjs';
import { appStarted, dist, folder, go, offlineReady, openPhone, startServer, until } from './harness.mjs';

/** The same program with another client inside: its page has another title and its worker another stamp. */
async function nextBuild(t, change = (sw) => sw) {
  const dir = await folder(t);
  const replace = {};
  const put = (name, text) => {
    const path = join(dir, name);
    mkdirSync(dir, { recursive: true });
    writeFileSync(path, text);
    writeFileSync(`${path}.gz`, gzipSync(text));
    for (const end of ['', '.gz']) replace[resolve(dist, name + end)] = path + end;
  };
  const { stamp } = JSON.parse(readFileSync(`${dist}/build.json`, 'utf8'));
  put('index.html', readFileSync(`${dist}/index.html`, 'utf8').replace('<title>Evenpull<', '<title>The next one<'));
  put('sw.js', change(readFileSync(`${dist}/sw.js`, 'utf8').replaceAll(stamp, 'nextbuild000')));
  writeFileSync(join(dir, 'overlay.json'), JSON.stringify({ Replace: replace }));
  const bin = join(dir, 'evenpull');
  const args = ['build', '-trimpath', '-overlay', join(dir, 'overlay.json'), '-o', bin, './server'];
  const built = spawnSync('go', args, { env: { ...process.env, CGO_ENABLED: '0' }, encoding: 'utf8' });
  assert.equal(built.status, 0, built.stderr);
  return bin;
}

/** Asks for a new build and waits until it is kept whole or has failed; says which. */
const lookForUpdate = (page) =>
  page.evaluate(async () => {
    const registration = await navigator.serviceWorker.ready;
    await registration.update();
    const found = registration.installing ?? registration.waiting;
    if (found?.state === 'installing')
      await new Promise((r) => found.addEventListener('statechange', r, { once: true }));
    return found?.state ?? 'nothing new';
  });

/** Lets the new build in from this page, as the app does: while the page asks for nothing. */
const letIn = async (page) => {
  await page.waitForLoadState('networkidle');
  await page.evaluate(async () => (await navigator.serviceWorker.ready).waiting?.postMessage('apply-update'));
};

test('a new build waits, is found at the next start, then takes over', { timeout: 90_000 }, async (t) => {
  const lost = /"(\/assets\/qr-[^"]+)",/; // a lazy part that the next build has no longer
  const [entry, onlyOld] = lost.exec(readFileSync(`${dist}/sw.js`, 'utf8'));
  const next = await nextBuild(t, (sw) => sw.replace(entry, ''));
  const server = await startServer(t);
  const phone = await openPhone(t, { browser, offline: true });
  const { page } = phone;
  await go(page, server.url);
  await offlineReady(page);
  await server.stop();
  await server.start(next);
  assert.equal(await lookForUpdate(page), 'installed');
  assert.equal(await page.title(), 'Evenpull');
  // a page of the old build goes on with the old build's files, and a second page opens on it too
  const second = await phone.context.newPage();
  await go(second, `${server.url}book`);
  assert.equal(await second.title(), 'Evenpull');
  let loads = 0;
  page.on('load', () => loads++);
  await letIn(second);
  await until('the new worker serves both pages', async () =>
    page.evaluate(async () => {
      const { active, waiting } = await navigator.serviceWorker.ready;
      return !waiting && active.state === 'activated' && navigator.serviceWorker.controller === active;
    }),
  );
  // the page that did not ask stays as it is: nothing that is being typed is taken away
  assert.equal(loads, 0);
  await server.stop();
  assert.equal(await page.evaluate((url) => fetch(url, { cache: 'no-store' }).then((r) => r.status), onlyOld), 200);
  await page.reload();
  await appStarted(page);
  assert.equal(await page.title(), 'The next one');
  assert.deepEqual(phone.errors, []);
});

test('the app offers the build that waits, and takes it by itself at a cold start', { timeout: 180_000 }, async (t) => {
  const next = await nextBuild(t);
  const server = await startServer(t, { args: ['--demo'] });
  const [offered, cold] = [
    await openPhone(t, { browser, offline: true }),
    await openPhone(t, { browser, offline: true }),
  ];
  for (const { page } of [offered, cold]) {
    await joinDemo(page, server);
    await offlineReady(page);
  }
  const busy = await offered.context.newPage();
  await openTask(busy, server.url, tasks['drop-test']);
  await offered.page.bringToFront();
  await server.stop();
  await server.start(next);
  // where it comes while the app is open, it is offered, and the page loads anew once
  const { page } = offered;
  await page.getByRole('link', { name: 'People & copies' }).tap();
  await page.waitForURL('**/people');
  let loads = 0;
  page.on('load', () => loads++);
  assert.equal(await lookForUpdate(page), 'installed');
  const apply = page.getByRole('button', { name: 'Use it now' });
  await apply.waitFor();
  await page.getByRole('link', { name: 'Frame', exact: true }).tap();
  await page.waitForURL(server.url);
  await apply.waitFor();
  assert.equal(loads, 0);
  // while another tab is in a task nothing is let in: a new build may take the database to another form
  await apply.tap();
  await page.getByText('Another tab is in the middle of a task').waitFor();
  assert.equal(await page.evaluate(async () => (await navigator.serviceWorker.ready).waiting?.state), 'installed');
  assert.equal(loads, 0);
  await busy.close();
  await until('that tab holds nothing any more', () =>
    page.evaluate(async () => (await navigator.locks.query()).held.every((l) => l.name !== 'evenpull-in-a-task')),
  );
  await apply.tap();
  await until('the page is the next one', async () => (await page.title()) === 'The next one');
  await appStarted(page);
  assert.equal(loads, 1);
  // where it was found before, a start with nothing open takes it
  await cold.page.goto(`${server.url}book`);
  await appStarted(cold.page);
  assert.equal(await lookForUpdate(cold.page), 'installed');
  assert.equal(await cold.page.title(), 'Evenpull');
  await cold.page.goto(server.url);
  await until('the page is the next one', async () => (await cold.page.title()) === 'The next one');
});

test('a build that can not be kept whole leaves the one before in place', { timeout: 90_000 }, async (t) => {
  const next = await nextBuild(t, (sw) => sw.replace('"/licences.txt"', '"/licences.txt","/assets/gone-ABCDEFGH.js"'));
  const server = await startServer(t);
  const phone = await openPhone(t, { browser, offline: true });
  await go(phone.page, server.url);
  await offlineReady(phone.page);
  const before = await phone.page.evaluate(() => caches.keys());
  await server.stop();
  await server.start(next);
  assert.equal(await lookForUpdate(phone.page), 'redundant');
  await until('half a build is put away', async () =>
    phone.page.evaluate(async (b) => (await caches.keys()).join() === b.join(), before),
  );
  await server.stop();
  await phone.page.reload();
  await appStarted(phone.page);
  assert.equal(await phone.page.title(), 'Evenpull');
});
