// The program starts, the app runs under its own security policy, can be installed, and works after the server has gone.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import test from 'node:test';
import { browser } from './browser.mjs';
import { appStarted, desk, go, offlineReady, openPhone, program, startServer, until } from './harness.mjs';

const title = async (page) => page.locator('h1').first().textContent();

test('the app starts and its security policy refuses nothing', { timeout: 60_000 }, async (t) => {
  const server = await startServer(t);
  const phone = await openPhone(t, { browser, offline: true });
  // what the page itself says, before any script ran, is what the app goes on from: it is not painted twice
  await phone.context.addInitScript(() =>
    document.addEventListener(
      'readystatechange',
      () => {
        for (const e of document.querySelectorAll('main > *')) e.ofThePage = true;
      },
      { once: true },
    ),
  );
  await go(phone.page, server.url);
  const kept = await phone.page.evaluate(() =>
    [...document.querySelectorAll('main > *')].flatMap((e) => (e.ofThePage ? [e.textContent] : [])),
  );
  assert.deepEqual(kept, ['Evenpull', await phone.page.locator('main > p').first().textContent()]);
  const policy = (await fetch(server.url)).headers.get('content-security-policy') ?? '';
  for (const rule of [
    "default-src 'none'",
    "script-src 'self'",
    "require-trusted-types-for 'script'",
    "frame-ancestors 'none'",
  ])
    assert.ok(policy.includes(rule), `${rule} in ${policy}`);
  await offlineReady(phone.page);
  assert.deepEqual(phone.errors, []);
  // the watch itself works: what the policy must refuse is refused, and seen
  const ran = await phone.page.evaluate(() => {
    const image = document.createElement('img');
    image.src = 'http://127.0.0.1:9/other.png';
    document.body.append(image);
    const script = document.createElement('script');
    try {
      script.textContent = 'window.inline = true';
    } catch {
      // refused before it is there
    }
    document.head.append(script);
    return window.inline === true;
  });
  assert.equal(ran, false);
  await until(
    'both refusals are seen',
    () => /policy: img-src/.test(phone.errors.join()) && /TrustedScript/.test(phone.errors.join()),
  );
});

test('About says the version that the program says of itself', { timeout: 60_000 }, async (t) => {
  const said = execFileSync(program, ['--version'], { encoding: 'utf8', env: { PATH: process.env.PATH } }).trim();
  assert.match(said, /^evenpull \d+\.\d+\.\d+/);
  const server = await startServer(t);
  const { page } = await openPhone(t, { browser });
  await go(page, server.url);
  await page.getByRole('button', { name: 'Start on this phone' }).tap();
  await page.getByLabel('Name').waitFor();
  await page.getByRole('button', { name: 'That is its name' }).tap();
  await page.getByRole('button', { name: 'Drop test' }).waitFor(); // it is written
  await go(page, `${server.url}people`);
  const about = page.getByText(/^Evenpull \d/);
  await about.waitFor();
  assert.equal((await about.textContent()).toLowerCase(), said);
});

test('at a desk, sheets are printed from the first view of Frame', { timeout: 60_000 }, async (t) => {
  const server = await startServer(t);
  const { page } = await openPhone(t, { browser, look: desk });
  await go(page, server.url);
  await page.getByRole('button', { name: 'Start on this phone' }).click();
  await page.getByRole('button', { name: 'That is its name' }).click();
  const print = page.getByRole('link', { name: 'Print', exact: true });
  const box = await until('it is there', () => print.boundingBox());
  assert.ok(box.y + box.height <= desk.viewport.height, `down to ${box.y + box.height}`);
  await print.click();
  await page.getByRole('heading', { name: 'On paper' }).waitFor();
});

test('nothing is asked of any other address', { timeout: 60_000 }, async (t) => {
  const server = await startServer(t);
  const phone = await openPhone(t, { browser, offline: true });
  const asked = new Set();
  phone.context.on('request', (r) => asked.add(new URL(r.url()).origin));
  await go(phone.page, server.url);
  await offlineReady(phone.page);
  assert.deepEqual([...asked], [new URL(server.url).origin]);
});

test('it can be installed', { timeout: 60_000 }, async (t) => {
  const server = await startServer(t);
  const phone = await openPhone(t);
  await go(phone.page, server.url);
  await offlineReady(phone.page);
  const cdp = await phone.context.newCDPSession(phone.page);
  assert.deepEqual((await cdp.send('Page.getAppManifest')).errors, []);
  assert.deepEqual((await cdp.send('Page.getInstallabilityErrors')).installabilityErrors, []);
  const { id, start_url, scope, shortcuts, icons } = await (await fetch(`${server.url}manifest.webmanifest`)).json();
  assert.deepEqual([id, start_url, scope], ['/', '/', '/']); // a narrower scope throws people out into a browser view
  assert.deepEqual(
    shortcuts.map((s) => s.name),
    ['Drop test', 'What do you see?'],
  );
  const touch = await phone.page.locator('link[rel=apple-touch-icon]').getAttribute('href');
  const maskable = icons.filter((i) => i.purpose === 'maskable');
  assert.equal(maskable.length, 1);
  const drawn = await phone.page.evaluate(drawnIn, touch);
  assert.deepEqual([drawn.size, drawn.clear, drawn.ground], [[180, 180], 0, 1]);
  for (const { src, sizes } of maskable) {
    const { size, clear, ground, far } = await phone.page.evaluate(drawnIn, src);
    assert.deepEqual([size.join('x'), clear, ground], [sizes, 0, 1]);
    assert.ok(
      far <= 0.4,
      `${src}: drawn up to ${far} of its width from its middle; systems cut off what is beyond 0.4`,
    );
  }
});

/**
 * Of an icon: its size, how many pixels one sees through, in how many colours its four corners are, and how far from its
 * middle, as a share of its width, anything is drawn. Runs in the page.
 */
async function drawnIn(src) {
  const image = await createImageBitmap(await (await fetch(src)).blob());
  const { width, height } = image;
  const canvas = new OffscreenCanvas(width, height).getContext('2d');
  canvas.drawImage(image, 0, 0);
  const pixels = new Uint32Array(canvas.getImageData(0, 0, width, height).data.buffer);
  const corners = [0, width - 1, width * (height - 1), width * height - 1].map((i) => pixels[i]);
  let clear = 0;
  let far = 0;
  pixels.forEach((pixel, i) => {
    if (pixel >>> 24 < 255) clear++;
    const [x, y] = [(i % width) + 0.5 - width / 2, Math.floor(i / width) + 0.5 - height / 2];
    if (pixel !== corners[0]) far = Math.max(far, Math.hypot(x, y) / width);
  });
  return { size: [width, height], clear, ground: new Set(corners).size, far };
}

test('where only the person can put it on the home screen, the two steps are drawn before any record', {
  timeout: 60_000,
}, async (t) => {
  const server = await startServer(t);
  const phone = await openPhone(t, { browser });
  await phone.context.addInitScript(() => {
    addEventListener('beforeinstallprompt', (e) => e.stopImmediatePropagation(), true); // this browser asks nobody
    Object.defineProperty(navigator, 'standalone', { value: false, configurable: true });
  });
  await go(phone.page, server.url);
  await phone.page.locator('.home-steps svg').nth(1).waitFor();
  assert.equal(await phone.page.locator('.home-steps li').count(), 2);
  // a code that was brought to this tab is shown big there, to be typed on the home screen, which keeps its own notes
  await phone.page.evaluate(() => {
    location.hash = 'abcd-2345';
  });
  const code = phone.page.getByText('ABCD 2345', { exact: true });
  await code.waitFor();
  assert.ok(await code.evaluate((p) => Number.parseFloat(getComputedStyle(p).fontSize) >= 40));
  await phone.page.getByText('Then type this code there').waitFor();
  await phone.page.locator('.home-steps svg').nth(1).waitFor();
  // opened from the home screen there is nowhere to carry it
  await phone.context.addInitScript(() => {
    Object.defineProperty(navigator, 'standalone', { value: true });
  });
  await phone.page.reload();
  await phone.page.evaluate(() => {
    location.hash = 'abcd-2345';
  });
  await phone.page.getByLabel('Code').waitFor();
  assert.equal(await code.count(), 0);
});

test('every file is kept, and all of it is there after the server has gone', { timeout: 60_000 }, async (t) => {
  const server = await startServer(t);
  const phone = await openPhone(t, { browser, offline: true });
  await go(phone.page, server.url);
  await offlineReady(phone.page);
  const before = await title(phone.page);
  await server.stop();
  await phone.page.reload();
  await appStarted(phone.page);
  assert.equal(await title(phone.page), before);
  await go(phone.page, `${server.url}book`); // every address of the app is the one page
  const status = await phone.page.evaluate(async () => {
    const names = (await caches.keys()).filter((n) => n.startsWith('evenpull-'));
    const kept = await (await caches.open(names[0])).keys();
    const all = await Promise.all(
      kept.map((r) =>
        fetch(r.url).then(
          (a) => a.status,
          () => 0,
        ),
      ),
    );
    const server = await fetch('/healthz').then(
      (a) => a.status,
      () => 0,
    );
    return { caches: names.length, files: all.length, bad: all.filter((s) => s !== 200).length, server };
  });
  assert.equal(status.caches, 1);
  assert.equal(status.bad, 0);
  assert.ok(status.files >= 10, `${status.files} files`);
  assert.equal(status.server, 0, 'what is asked of the server goes past the worker');
});

test('it opens with the network off after the browser was killed', { timeout: 60_000 }, async (t) => {
  const server = await startServer(t);
  const phone = await openPhone(t);
  await go(phone.page, server.url);
  await offlineReady(phone.page);
  const before = await title(phone.page);
  await server.stop('SIGKILL');
  await phone.kill();
  const page = await phone.reopen();
  await phone.context.setOffline(true);
  await go(page, server.url);
  assert.equal(await title(page), before);
  assert.equal(await page.evaluate(() => navigator.onLine), false);
  assert.deepEqual(phone.errors, []);
});

test('on plain http, from elsewhere, it says what will not work', { timeout: 60_000 }, async (t) => {
  const server = await startServer(t);
  const phone = await openPhone(t, { browser });
  const said = phone.page.getByText('Not opened over https');
  await go(phone.page, server.url);
  assert.equal(await said.count(), 0, 'this machine itself is trusted by the browser');
  await go(phone.page, server.url.replace('127.0.0.1', 'hub.example'));
  await said.waitFor();
  assert.equal(await phone.page.evaluate(() => isSecureContext), false);
});
