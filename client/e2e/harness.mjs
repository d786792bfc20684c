// What the browser tests stand on: the built program as a child process, Chromium as a phone with a profile on disk that
// can be killed and opened again, counted taps, and axe. Nothing here sleeps for a fixed time: it waits for what it needs.
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { readFileSync, readlinkSync } from 'node:fs';
import { mkdtemp, rm } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { chromium } from 'playwright-core';

export const program = resolve(process.env.EVENPULL_BIN ?? 'bin/evenpull');
export const browserPath = process.env.CHROMIUM ?? '/usr/bin/chromium';
export const flags = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
];
flags.push('--host-resolver-rules=MAP hub.example 127.0.0.1'); // a name that is not this machine to the browser
flags.push('--disable-component-update', '--disable-sync', '--disable-dev-shm-usage');

/** Dots a pixel of a phone. The first tier draws one, for its time. */
const deviceScaleFactor = Number(process.env.EVENPULL_DOTS ?? 2);
export const phone = { viewport: { width: 360, height: 740 }, deviceScaleFactor, isMobile: true, hasTouch: true };
export const desk = { viewport: { width: 1280, height: 800 } };

/** Whether all of a long table is gone through, as in the second tier. */
export const whole = process.env.EVENPULL_WHOLE === '1';

/** Of a long table every `nth` row, and those that `always` names; in the second tier all of it. */
export const part = (list, nth, always = () => false) =>
  whole ? [...list] : list.filter((row, i) => i % nth === 0 || always(row));

/** The program refuses settings that it does not know; those of the tests are none of its own. */
const outside = Object.fromEntries(Object.entries(process.env).filter(([name]) => !name.startsWith('EVENPULL_')));

/** A machine that does ten things at once is slow, not wrong. */
const patientMs = 60_000;

/** A folder that is gone after the test. */
export async function folder(t) {
  const path = await mkdtemp(join(tmpdir(), 'evenpull-'));
  t.after(() => rm(path, { recursive: true, force: true, maxRetries: 5 }));
  return path;
}

/** A port that was free a moment ago. */
export async function freePort() {
  const s = createServer().listen(0, '127.0.0.1');
  await once(s, 'listening');
  const { port } = s.address();
  s.close();
  await once(s, 'close');
  return port;
}

/** Waits until `what` gives something true; fails with `why` after `ms`. */
export async function until(why, what, ms = patientMs) {
  const end = Date.now() + ms;
  for (;;) {
    const got = await what();
    if (got) return got;
    if (Date.now() > end) throw new Error(`waited in vain: ${why}`);
    await new Promise((r) => setTimeout(r, 20));
  }
}

/**
 * Starts the program and waits until it answers.
 * `port` and `data` keep address and store over a restart; `args` and `env` go to it, `bin` is another build of it.
 * Gives { url, port, data, log(), stop(signal), start() }; start() brings it back at the same address after stop().
 */
export async function startServer(t, { port, data, args = [], env = {}, bin = program } = {}) {
  const at = port ?? (await freePort());
  const kept = data ?? join(await folder(t), 'data');
  let child;
  let log = '';
  const server = {
    port: at,
    data: kept,
    url: `http://127.0.0.1:${at}/`,
    log: () => log,
    async start(other = bin) {
      const own = ['--listen', `127.0.0.1:${at}`, '--data', kept, ...args];
      child = spawn(other, own, { stdio: ['ignore', 'pipe', 'pipe'], env: { ...outside, ...env } });
      for (const stream of [child.stdout, child.stderr])
        stream.setEncoding('utf8').on('data', (d) => {
          log += d;
        });
      await until(`the program answers\n${log}`, async () => {
        if (child.exitCode !== null || child.signalCode !== null) throw new Error(`the program ended: ${log}`);
        return fetch(`${server.url}healthz`).then(
          (r) => r.ok,
          () => false,
        );
      });
    },
    /** Ends it; resolves with its exit code, or null after a signal that it could not answer. */
    async stop(signal = 'SIGTERM') {
      if (!child || child.exitCode !== null || child.signalCode !== null) return child?.exitCode;
      const exited = once(child, 'exit');
      child.kill(signal);
      await exited;
      return child.exitCode;
    },
  };
  t.after(() => server.stop());
  await server.start();
  return server;
}

/**
 * A phone: Chromium on a profile on disk, or, with `browser`, a phone of a shared browser that forgets all when it is
 * closed and keeps no files for later, unless `offline`. `look` is phone or desk, `options` go to the browser's context,
 * `args` to the browser.
 * Gives { page, context, errors, taps, kill(), reopen(), close() }. `errors` holds what the page threw or what its
 * security policy refused; kill() ends the browser as a flat battery would, reopen() opens the same profile again.
 */
export async function openPhone(t, { look = phone, options = {}, args = [], browser, offline = !browser } = {}) {
  const dir = browser ? undefined : await folder(t);
  const own = { dir, errors: [], taps: 0 };
  own.reopen = async () => {
    const context = { serviceWorkers: offline ? 'allow' : 'block', ...look, ...options };
    own.context = browser
      ? await (await browser()).newContext(context)
      : await chromium.launchPersistentContext(dir, {
          executablePath: browserPath,
          args: [...flags, ...args],
          ...context,
        });
    await own.context.exposeFunction('evenpullTap', () => {
      own.taps++;
    });
    await own.context.addInitScript(watchPage);
    own.page = own.context.pages()[0] ?? (await own.context.newPage());
    own.context.on('console', (m) => {
      if (m.type() === 'error' && !/net::ERR_|Failed to load resource/.test(m.text())) own.errors.push(m.text());
    });
    own.page.setDefaultTimeout(patientMs);
    own.page.on('pageerror', (e) => own.errors.push(String(e)));
    return own.page;
  };
  own.kill = async () => {
    const context = own.context;
    const closed = once(context, 'close');
    process.kill(browserPid(dir), 'SIGKILL');
    await closed;
    await until('the profile is free', () => !browserRuns(dir));
  };
  own.close = () => own.context?.close().catch(() => {});
  t.after(own.close);
  await own.reopen();
  return own;
}

/** Runs in every page: counts taps on controls, and makes refusals of the security policy seen. */
function watchPage() {
  const control = 'a,button,input,select,textarea,label,summary,[role=button],[role=tab],[role=radio],[role=checkbox]';
  addEventListener(
    'pointerup',
    (e) => {
      if (e.isTrusted && e.target instanceof Element && e.target.closest(control)) window.evenpullTap?.();
    },
    true,
  );
  addEventListener('securitypolicyviolation', (e) =>
    console.error(`policy: ${e.violatedDirective} ${e.blockedURI} ${e.sourceFile}:${e.lineNumber}`),
  );
}

/** The browser notes its process in a link inside the profile: <host>-<pid>. */
function browserPid(dir) {
  return Number(readlinkSync(join(dir, 'SingletonLock')).split('-').at(-1));
}

function browserRuns(dir) {
  try {
    process.kill(browserPid(dir), 0);
    return true;
  } catch {
    return false;
  }
}

/** Opens an address of the program and waits until the app says that it can be used. */
export async function go(page, url) {
  await page.goto(url);
  await appStarted(page);
}

export async function appStarted(page) {
  await page.locator('html[data-started=yes]').waitFor({ state: 'attached' });
}

/** Waits until the page is served by its worker and every file is kept: only then may the server go. */
export async function offlineReady(page) {
  const kept = page.evaluate(async () => {
    const { active } = await navigator.serviceWorker.ready; // never comes where no worker could be registered
    if (active.state !== 'activated')
      await new Promise((r) => active.addEventListener('statechange', () => active.state === 'activated' && r()));
    if (!navigator.serviceWorker.controller)
      await new Promise((r) => navigator.serviceWorker.addEventListener('controllerchange', r, { once: true }));
    return true;
  });
  const late = new Promise((_, fail) =>
    setTimeout(fail, 15_000, new Error('no worker came to serve the page')).unref(),
  );
  await Promise.race([kept, late]);
}

const axeSource = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

/** Puts axe-core into every page of a context before anything else, which the app's own policy does not hinder. */
export const axeReady = (context) => context.addInitScript(axeSource);

/**
 * What axe-core finds on the page as it stands, one line a finding; with `rules` by these alone. A page that was opened
 * before axeReady needs a phone with options { bypassCSP: true }, for the app's own policy lets no foreign script in.
 */
export async function axe(page, rules) {
  if (!(await page.evaluate(() => 'axe' in window))) await page.evaluate(axeSource);
  const violations = await page.evaluate(async (only) => {
    const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];
    const r = await window.axe.run(document, { runOnly: only ?? tags, resultTypes: ['violations'] });
    return r.violations;
  }, rules);
  return violations.flatMap((v) => v.nodes.map((n) => `${v.id}: ${n.html}`));
}

/** The built client's files, from the tree. */
export const dist = 'server/web/dist';
