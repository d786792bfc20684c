// Counts what ran and shows what failed, over every kind of runner. A skipped test counts as failed: nothing here may be.
import { spawn } from 'node:child_process';
import { mkdirSync, readFileSync, rmSync } from 'node:fs';

let passed = 0;
let failed = 0;
const reports = [];
const running = new Set();

/** Notes one runner's result: says it in a line, and keeps the output of what failed for the end. */
export function note(name, { good, bad, seconds, out }) {
  passed += good;
  failed += bad;
  const counts = bad ? `${good} passed, ${bad} failed` : `${good} passed`;
  console.log(`${bad ? 'FAIL' : 'ok  '} ${name}: ${counts}, ${seconds.toFixed(1)} s`);
  if (bad) reports.push(`\n--- ${name}\n${out.length > 30000 ? `…${out.slice(-30000)}` : out}`);
}

/** Shows the failures, then the one line everybody waits for, and ends the program. */
export function finish() {
  for (const child of running) end(child);
  for (const report of reports.splice(0)) console.log(report);
  console.log(`${passed} passed, ${failed} failed`);
  process.exit(failed === 0 && passed > 0 ? 0 : 1);
}

for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP']) {
  process.on(signal, () => {
    note('all of it', { good: 0, bad: 1, seconds: process.uptime(), out: `stopped by ${signal}` });
    finish();
  });
}
process.on('uncaughtException', (e) => {
  note('the test program', { good: 0, bad: 1, seconds: process.uptime(), out: String(e.stack ?? e) });
  finish();
});

function end(child) {
  try {
    process.kill(-child.pid, 'SIGKILL'); // the whole group: a runner's browsers and servers too
  } catch {
    // it has gone already
  }
}

/** How much of the second tier is asked for is no setting of the program, which refuses those it does not know. */
const sizes = { EVENPULL_SEEDS: undefined, EVENPULL_FUZZ_SECONDS: undefined };

/** Runs a command in a group of its own, its output kept. A hang is a failure. */
function capture(command, args, { env = {}, minutes = 20 } = {}) {
  return new Promise((resolve) => {
    const started = Date.now();
    const child = spawn(command, args, {
      stdio: ['ignore', 'pipe', 'pipe'],
      env: { ...process.env, ...sizes, ...env, NO_COLOR: '1' },
      detached: true,
    });
    running.add(child);
    let out = '';
    let shown = '';
    const late = setTimeout(() => {
      shown += `it did not end within ${minutes} minutes\n`;
      end(child);
    }, minutes * 60_000);
    child.stdout.setEncoding('utf8').on('data', (d) => {
      out += d;
    });
    child.stderr.setEncoding('utf8').on('data', (d) => {
      shown += d;
    });
    const done = (ok) => {
      clearTimeout(late);
      running.delete(child);
      resolve({ ok, out, shown, seconds: (Date.now() - started) / 1000 });
    };
    child.on('error', (e) => {
      shown += `${command}: ${e.message}\n`;
      done(false);
    });
    child.on('close', (code) => done(code === 0));
  });
}

/** A check that holds or does not. With `silent`, output of any kind says that it does not. */
export async function check(name, command, args, { silent = false, ...options } = {}) {
  const r = await capture(command, args, options);
  const out = r.out + r.shown;
  const ok = r.ok && !(silent && out.trim() !== '');
  note(name, { good: ok ? 1 : 0, bad: ok ? 0 : 1, seconds: r.seconds, out });
}

/** Figures that a test prints for people to read. */
const figure = /^\s*(?:\S+\.go:\d+: )?(?:# )?((?:figure|taps|seeds|simulated seeds)\b.*)/;
function say(line) {
  const f = figure.exec(line);
  if (f) console.log(`     ${f[1].trim()}`);
}

function jsonLines(text) {
  const events = [];
  let rest = '';
  for (const line of text.split('\n')) {
    try {
      events.push(JSON.parse(line));
    } catch {
      rest += line === '' ? '' : `${line}\n`;
    }
  }
  return { events, rest };
}

/** Go tests, each leaf counted once. */
export async function goTests(name, args, options) {
  const r = await capture('go', ['test', '-json', ...args], options);
  const { events, rest } = jsonLines(r.out);
  const text = new Map();
  const results = [];
  for (const e of events) {
    const key = `${e.Package ?? e.ImportPath} ${e.Test ?? ''}`;
    if (e.Output) {
      text.set(key, (text.get(key) ?? '') + e.Output);
      say(e.Output);
    }
    if (e.Action === 'pass' || e.Action === 'fail' || e.Action === 'skip')
      results.push({ key, action: e.Action, test: e.Test });
  }
  const parents = new Set();
  for (const { key } of results)
    for (let i = key.lastIndexOf('/'); i > key.indexOf(' '); i = key.lastIndexOf('/', i - 1))
      parents.add(key.slice(0, i));
  let good = 0;
  let bad = 0;
  let out = rest + r.shown;
  for (const { key, action, test } of results) {
    const leaf = test && !parents.has(key);
    if (action === 'pass' && leaf) good++;
    if (action === 'skip' && test) bad++;
    if (action === 'fail' && leaf) bad++;
    if (action === 'fail' || (action === 'skip' && test)) out += `${action}: ${key}\n${text.get(key) ?? ''}`;
  }
  for (const [key, said] of text)
    if (key.endsWith(' ') && /FAIL|panic|\.go:\d+:\d+:/.test(said) && !out.includes(said)) out += said;
  if (bad === 0 && (!r.ok || good === 0)) bad = 1; // it did not compile, or a parent failed by itself
  note(name, { good, bad, seconds: r.seconds, out });
}

/** The client's unit tests. */
export async function unitTests(name, args = [], options) {
  mkdirSync('test-results', { recursive: true });
  const file = `test-results/${name.replaceAll(' ', '-')}.json`;
  rmSync(file, { force: true });
  const r = await capture(
    'node_modules/.bin/vitest',
    ['run', '--reporter=json', `--outputFile=${file}`, ...args],
    options,
  );
  let result = { numPassedTests: 0, testResults: [] };
  let out = r.shown;
  try {
    result = JSON.parse(readFileSync(file, 'utf8'));
  } catch {
    out += `${r.out}\nit wrote no result\n`;
  }
  let bad = 0;
  for (const f of result.testResults) {
    const failures = f.assertionResults.filter((a) => a.status !== 'passed');
    bad += failures.length;
    for (const a of failures) out += `${f.name}: ${a.fullName}: ${a.status}\n${a.failureMessages.join('\n')}\n`;
    if (f.status === 'failed' && failures.length === 0) {
      bad++;
      out += `${f.name}: ${f.message}\n`;
    }
  }
  if (bad === 0 && (!r.ok || result.numPassedTests === 0)) bad = 1;
  note(name, { good: result.numPassedTests, bad, seconds: r.seconds, out });
}

/** Tests by Node's own runner, all files in one process, one after another, each leaf counted once. */
export async function nodeTests(name, files, options) {
  const reporter = new URL('./reporter.mjs', import.meta.url).href;
  const r = await capture('node', [`--test-reporter=${reporter}`, 'client/tools/together.mjs', ...files], options);
  const { events, rest } = jsonLines(r.out);
  let good = 0;
  let bad = 0;
  let out = r.shown;
  for (const e of events) {
    if (e.said) say(e.said);
    if (e.ok === true) good++;
    if (e.ok === false) {
      bad++;
      out += `${e.file}: ${e.name}\n${e.why}\n`;
    }
  }
  for (const file of files)
    if (!events.some((e) => e.file === file && e.ok !== undefined)) {
      bad++;
      out += `${file}: none of its tests ran\n`;
    }
  if (!r.ok) for (const e of events) if (e.said) out += `${e.said}\n`;
  if (bad === 0 && (!r.ok || good === 0)) bad = 1;
  note(name, { good, bad, seconds: r.seconds, out: out + rest });
}
