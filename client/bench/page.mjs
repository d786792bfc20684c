// npm run bench:page: how fast the app is in a slow phone's browser, each figure beside a floor of the same run. A program,
// not a test: it prints a table and, with --json FILE, the same as JSON. Ends with 1 where a figure misses its bar.
//   --runs N       medians of so many (11)       --only a,b   some of: catch-up, offline, tap, cold, advice
//   --records N    records of a long-used phone (20,000)
//   --before FILE  another build of the program: the starts are measured of both, by turns
// Phone: 360x740, touch. "4x CPU" is Chromium's own slowing of the page's thread; the network is shaped by it too.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { offlineReady, openPhone, startServer, until } from '../e2e/harness.mjs';
import { binary, bundle, compile, install, main, run } from '../tools/steps.mjs';
import { walk } from './walk.mjs';

const { values: asked } = parseArgs({
  options: {
    runs: { type: 'string', default: '11' },
    records: { type: 'string', default: '20000' },
    only: { type: 'string', default: 'catch-up,offline,tap,cold,advice' },
    before: { type: 'string' },
    json: { type: 'string' },
  },
});
const runs = Number(asked.runs);
const size = Number(asked.records);
const only = asked.only.split(',');
const slow = { cpu: 4 };
const slowNet = { latency: 150, downloadThroughput: 1_600_000 / 8, uploadThroughput: 1_600_000 / 8, offline: false };
const caughtUp = 10_000; // records of the catch-up, as its bar says

const sorted = (all) => [...all].sort((a, b) => a - b);
const median = (all) => sorted(all)[(all.length - 1) >> 1];
const p95 = (all) => sorted(all)[Math.min(all.length - 1, Math.ceil(all.length * 0.95) - 1)];

const table = [];
/** `bar` is the most it may be, where there is one; `before` are the values of the other build. */
function say(what, values, { unit = 'ms', bar, floor, before, of = median, digits = 0 } = {}) {
  const value = of(values);
  const missed = bar !== undefined && value > bar;
  table.push({ what, value, unit, bar, floor: floor && of(floor), before: before && of(before), all: values, missed });
  const show = (v) => (v === undefined ? '' : `${v.toFixed(digits)}`);
  const was = before ? `  before ${show(of(before))}` : '';
  const ratio = floor && of(floor) > 0 ? `${(value / of(floor)).toFixed(1)}x` : '';
  console.log(
    `${missed ? '!' : ' '} ${what.padEnd(64)} ${show(value).padStart(8)} ${unit.padEnd(4)}` +
      ` bar ${show(bar).padStart(6)}  floor ${show(floor && of(floor)).padStart(7)} ${ratio.padStart(7)}${was}`,
  );
}

// What the harness takes for a test that is over at the end of `work`.
async function within(work) {
  const after = [];
  try {
    return await work({ after: (undo) => after.push(undo) });
  } finally {
    for (const undo of after.reverse()) await undo();
  }
}

/** Slows the page's processor, and its network where one is given. */
async function throttle(phone, { cpu = 1, net } = {}) {
  const cdp = await phone.context.newCDPSession(phone.page);
  await cdp.send('Emulation.setCPUThrottlingRate', { rate: cpu });
  if (net) {
    await cdp.send('Network.enable');
    await cdp.send('Network.emulateNetworkConditions', net);
  }
  return cdp;
}

/** Runs in every page from its start: when it was painted, when there was a control to tap, what moved, what was tapped. */
function watch() {
  const seen = { lcp: 0, largest: '', usable: 0, shift: 0, taps: [] };
  window.evenpullSeen = seen;
  new PerformanceObserver((list) => {
    for (const e of list.getEntries()) {
      seen.lcp = e.startTime;
      seen.largest = e.element?.textContent?.slice(0, 40) ?? e.url;
    }
  }).observe({ type: 'largest-contentful-paint', buffered: true });
  new PerformanceObserver((list) => {
    for (const e of list.getEntries()) if (!e.hadRecentInput) seen.shift += e.value;
  }).observe({ type: 'layout-shift', buffered: true });
  const painted = (then) => requestAnimationFrame(() => setTimeout(then)); // after the frame that shows it
  new MutationObserver((_, own) => {
    if (document.documentElement?.dataset.started !== 'yes' || !document.querySelector('main :is(button, h1.floor)'))
      return;
    own.disconnect();
    painted(() => {
      seen.usable = performance.now();
      window.evenpullUsable?.(); // told, not asked for: to be asked every moment takes a slowed page's time
    });
  }).observe(document, { attributes: true, childList: true, subtree: true, attributeFilter: ['data-started'] });
  let tapped;
  let waiting = false;
  addEventListener(
    'pointerup',
    (e) => {
      if (e.isTrusted && e.target.closest?.('button, a, label, input'))
        tapped = { at: e.timeStamp, what: e.target.closest('button, a, label, input').textContent };
    },
    true,
  );
  new MutationObserver(() => {
    if (!tapped || waiting) return;
    const { at, what } = tapped;
    tapped = undefined;
    waiting = true;
    painted(() => {
      waiting = false;
      seen.taps.push({ ms: performance.now() - at, what: what.trim().slice(0, 40) });
    });
  }).observe(document, { childList: true, subtree: true, attributes: true, characterData: true });
}

const seenBy = (page) => page.evaluate(() => window.evenpullSeen);

/** Opens an address and waits until something there can be tapped; gives when, and what was seen till then. */
async function opened(phone, url) {
  let late;
  const usable = new Promise((told, fail) => {
    phone.usable = told;
    late = setTimeout(fail, 60_000, new Error('nothing came that can be tapped'));
  });
  await phone.page.goto(url);
  await usable;
  clearTimeout(late);
  return seenBy(phone.page);
}

/** The same, and what was seen in the second after it: what comes then may be larger, or move things. */
async function seenAfter(phone, url) {
  const { usable } = await opened(phone, url);
  await phone.page.evaluate(() => new Promise((r) => setTimeout(r, 1000)));
  return { ...(await seenBy(phone.page)), usable };
}

async function watched(phone) {
  await phone.context.exposeFunction('evenpullUsable', () => phone.usable?.());
  await phone.context.addInitScript(watch);
}

/** A page of one line from a server of its own: what the browser itself needs. */
async function plainPage(t) {
  const html =
    '<!doctype html><html lang="en" data-started="yes"><title>Floor</title><main><h1 class="floor">One line</h1></main>';
  const worker = `addEventListener('install', (e) => e.waitUntil(caches.open('1').then((c) => c.add('/'))));
    addEventListener('activate', (e) => e.waitUntil(clients.claim()));
    addEventListener('fetch', (e) => e.respondWith(caches.match('/')));`;
  const server = createServer((asked, answer) => {
    answer.setHeader('content-type', asked.url === '/sw.js' ? 'text/javascript' : 'text/html');
    answer.end(asked.url === '/sw.js' ? worker : html);
  });
  await new Promise((listens) => server.listen(0, '127.0.0.1', listens));
  t.after(() => server.close());
  return `http://127.0.0.1:${server.address().port}/`;
}

const source = join(mkdtempSync(join(tmpdir(), 'evenpull-')), 'parts.mjs');

/** The program's own parts inside a page of its origin in which no app runs. */
async function partsIn(phone, url) {
  await phone.page.goto(`${url}healthz`);
  await phone.page.addScriptTag({
    type: 'module',
    content: `${readFileSync(source, 'utf8')}\nwindow.parts = { catchUp, floorOfPut, alone, adviceTimes };`,
  });
  await phone.page.waitForFunction(() => window.parts);
}

const bare = { options: { bypassCSP: true } }; // the app's own policy lets no foreign script in

/** A server with a book of `records` in it, and codes for so many phones. */
async function filled(t, kind, records, phones, bin) {
  const parts = await import(source);
  const server = await startServer(t, { bin });
  const claim = readFileSync(join(server.data, 'claim-code'), 'utf8').trim();
  return { server, codes: await parts.fill(server.url.slice(0, -1), claim, kind, records, phones) };
}

async function catchUp() {
  await reads('small records', 'lines', 250);
  await reads("records of a studio's book", 'book');
}

async function reads(what, kind, bar) {
  await within(async (t) => {
    const { server, codes } = await filled(t, kind, caughtUp, runs);
    const phone = await openPhone(t, bare);
    await partsIn(phone, server.url);
    const all = [];
    const floors = [];
    for (const [i, code] of codes.entries()) {
      const got = await phone.page.evaluate(
        ([code, name]) => window.parts.catchUp(code, name),
        [code, `catch-up ${i}`],
      );
      if (got.records < caughtUp) throw new Error(`only ${got.records} records came`);
      all.push(got);
      floors.push(await phone.page.evaluate(([n, m]) => window.parts.floorOfPut(n, m), [got.textBytes, got.requests]));
    }
    const each = (part) => all.map((a) => a[part]);
    say(`a fresh phone reads ${caughtUp} ${what} into its database`, each('ms'), { bar, floor: floors });
    say('  of this: taking pages in, merge and database', each('storeMs'), { floor: floors });
    say('  requests', each('requests'), { unit: '' });
    say(
      '  JSON on the phone',
      each('textBytes').map((n) => n / 1e6),
      { unit: 'MB', digits: 1 },
    );
  });
}

/** This build, and the one it is compared with: the value that startServer takes. */
const builds = [undefined, ...(asked.before ? [asked.before] : [])];

/** One start from the worker alone: the browser is opened anew, the network is off. */
async function start({ phone, url, all }) {
  await phone.close();
  await phone.reopen();
  await watched(phone);
  await phone.context.setOffline(true);
  await throttle(phone, slow);
  all.push(await seenAfter(phone, url));
}

async function offline() {
  async function installed(t, { server, codes }) {
    const phone = await openPhone(t, bare);
    await phone.page.goto(server.url);
    await offlineReady(phone.page);
    await partsIn(phone, server.url);
    if (codes) await phone.page.evaluate(([code]) => window.parts.catchUp(code, 'evenpull', true), codes);
    else await phone.page.evaluate((n) => window.parts.alone(n), size);
    await server.stop();
    return { phone, url: server.url, all: [] };
  }
  async function plain(t) {
    const phone = await openPhone(t);
    const url = await plainPage(t);
    await phone.page.goto(url);
    await phone.page.evaluate(() => navigator.serviceWorker.register('/sw.js'));
    await offlineReady(phone.page);
    return { phone, url, all: [] };
  }
  await within(async (t) => {
    const floor = await plain(t);
    const read = [];
    const own = [];
    for (const bin of builds) {
      read.push(await installed(t, await filled(t, 'book', size, 1, bin)));
      own.push(await installed(t, { server: await startServer(t, { bin }) }));
    }
    for (let i = 0; i < runs; i++) for (const one of [floor, ...read, ...own]) await start(one);
    const times = (one) => one?.all.map((s) => s.usable);
    const with4 = (what, [now, before]) =>
      say(`no network, 4x CPU, ${size} records ${what}: usable`, times(now), {
        ...{ bar: 1000, floor: times(floor), before: times(before) },
      });
    with4('read from a studio', read);
    say(
      '  shift of the layout',
      read[0].all.map((s) => s.shift),
      { unit: '', bar: 0.02, digits: 3, of: p95 },
    );
    with4('written here, none sent', own);
  });
}

async function tap() {
  await within(async (t) => {
    const { server, codes } = await filled(t, 'book', size, 1);
    const phone = await openPhone(t, bare);
    await phone.page.goto(server.url);
    await offlineReady(phone.page);
    await partsIn(phone, server.url);
    await phone.page.evaluate(([code]) => window.parts.catchUp(code, 'evenpull', true), codes);
    await server.stop();
    await watched(phone);
    await throttle(phone, slow);
    await phone.page.goto(await plainPage(t));
    const floor = [];
    await phone.page.evaluate(() => {
      document.body.innerHTML = '<button style="width:200px;height:100px">0</button>';
      document.querySelector('button').onclick = (e) => {
        e.target.textContent = Number(e.target.textContent) + 1;
      };
    });
    for (let i = 0; i < 20; i++) await phone.page.locator('button').tap();
    floor.push(
      ...(
        await until('all are painted', async () => {
          const s = await seenBy(phone.page);
          return s.taps.length >= 20 ? s : undefined;
        })
      ).taps.map((s) => s.ms),
    );
    await opened(phone, server.url);
    await walk(phone.page, 4);
    const { taps, shift } = await seenBy(phone.page);
    if (taps.length < 60) throw new Error(`only ${taps.length} taps were answered`);
    say(
      `tap to paint in tasks, 4x CPU, ${size} records, ${taps.length} taps: p95`,
      taps.map((s) => s.ms),
      { bar: 100, floor, of: p95 },
    );
    say(
      '  median',
      taps.map((s) => s.ms),
      { floor },
    );
    say('  shift of the layout on the way', [shift], { unit: '', bar: 0.02, digits: 3 });
    for (const s of [...taps].sort((a, b) => b.ms - a.ms).slice(0, 6))
      console.log(`      ${s.ms.toFixed(0)} ms  ${s.what}`);
  });
}

async function cold() {
  await within(async (t) => {
    const plain = { url: await plainPage(t), all: [] };
    const ours = [];
    for (const bin of builds) ours.push({ url: (await startServer(t, { bin })).url, all: [] });
    for (let i = 0; i < runs; i++)
      for (const { url, all } of [plain, ...ours])
        await within(async (own) => {
          const phone = await openPhone(own);
          await watched(phone);
          await throttle(phone, { ...slow, net: slowNet });
          all.push(await seenAfter(phone, url));
        });
    const [now, before] = ours;
    const of = (part) => ({
      floor: plain.all.map((s) => s[part]),
      before: before?.all.map((s) => s[part]),
    });
    const lcp = 'first visit, 4x CPU, 1.6 Mbit/s, 150 ms: largest paint';
    say(
      lcp,
      now.all.map((s) => s.lcp),
      { bar: 2000, ...of('lcp') },
    );
    say(
      '  usable',
      now.all.map((s) => s.usable),
      { bar: 3000, ...of('usable') },
    );
    say(
      '  shift of the layout',
      now.all.map((s) => s.shift),
      { unit: '', bar: 0.02, digits: 3, of: p95 },
    );
    console.log(`      the largest: ${now.all[0].largest}`);
  });
}

/** Diagnosis and next step together, pairs included: in Node, and in the page at a quarter of its speed. */
async function advice() {
  const balancings = Math.max(2, runs);
  const said = (where, all, bar) => {
    say(`advice ${where}, ${all.length} steps: p95`, all, { bar, of: p95, digits: 1 });
    say('  median', all, { digits: 1 });
    say('  the first, cold', [all[0]], { digits: 1 });
  };
  const { adviceTimes } = await import(source);
  const began = process.cpuUsage();
  const inNode = adviceTimes(balancings);
  const { user, system } = process.cpuUsage(began);
  said('in Node', inNode, 10);
  say('  processor time of one, with the machine it is played on', [(user + system) / 1000 / inNode.length], {
    digits: 1,
  });
  await within(async (t) => {
    const server = await startServer(t);
    const phone = await openPhone(t, bare);
    await partsIn(phone, server.url);
    await throttle(phone, slow);
    said('in the browser, 4x CPU', await phone.page.evaluate((n) => window.parts.adviceTimes(n), balancings), 50);
  });
}

await main(async () => {
  if (!process.env.EVENPULL_BIN) {
    install();
    bundle();
    compile();
    process.env.EVENPULL_BIN = binary;
  }
  run('go', ['run', './client/build/script', 'client/bench/parts.ts', source]);
  try {
    for (const [name, work] of Object.entries({ 'catch-up': catchUp, offline, tap, cold, advice }))
      if (only.includes(name)) await work();
  } finally {
    rmSync(join(source, '..'), { recursive: true });
  }
  const chromium = spawnSync(process.env.CHROMIUM ?? '/usr/bin/chromium', ['--version'], {
    encoding: 'utf8',
  }).stdout.trim();
  if (asked.json) writeFileSync(asked.json, `${JSON.stringify({ chromium, runs, records: size, table }, null, 1)}\n`);
  process.exitCode = table.some((row) => row.missed) ? 1 : 0;
});
