// npm test: everything there is to check, at small size. It installs what is
// missing where it may, runs all checks even when one fails, and ends with one
// line, "N passed, N failed". With "long" it runs the second tier as well.
import { spawn, spawnSync } from 'node:child_process';
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { build, fail, install } from './steps.mjs';

const long = process.argv.includes('long');
const chromium = process.env.CHROMIUM ?? '/usr/bin/chromium';

function browser() {
  if (existsSync(chromium)) return;
  if (process.getuid?.() === 0 && existsSync('/usr/bin/apt-get')) {
    console.log('Installing chromium …');
    const quiet = { stdio: ['ignore', 'ignore', 'inherit'], env: { ...process.env, DEBIAN_FRONTEND: 'noninteractive' } };
    spawnSync('apt-get', ['update', '-qq'], quiet);
    spawnSync('apt-get', ['install', '-y', '-qq', '--no-install-recommends', 'chromium'], quiet);
  }
  if (!existsSync(chromium)) fail('The browser tests need Chromium: install the package "chromium", or set CHROMIUM to its path.');
}

let passed = 0;
let failed = 0;
const reports = [];

/** Runs a command, its output kept; resolves with { ok, out }. */
function capture(command, args, env = {}) {
  return new Promise((resolve) => {
    const started = Date.now();
    const p = spawn(command, args, { stdio: ['ignore', 'pipe', 'pipe'], env: { ...process.env, ...env } });
    let out = '';
    p.stdout.on('data', (d) => {
      out += d;
    });
    p.stderr.on('data', (d) => {
      out += d;
    });
    p.on('error', (e) => resolve({ ok: false, out: `${command}: ${e.message}`, seconds: 0 }));
    p.on('close', (code) => resolve({ ok: code === 0, out, seconds: (Date.now() - started) / 1000 }));
  });
}

/** Counts a result and says it in one line; a failure's output is shown whole at the end. */
function count(name, { good, bad, seconds, out }) {
  passed += good;
  failed += bad;
  console.log(`${bad ? 'FAIL' : 'ok  '} ${name}: ${good} passed, ${bad} failed, ${seconds.toFixed(1)} s`);
  if (bad) reports.push(`--- ${name}\n${out.length > 20000 ? `…${out.slice(-20000)}` : out}`);
}

/** A check that either holds or does not. `holds` may look at the output too. */
async function check(name, command, args, { env, holds = (r) => r.ok } = {}) {
  const r = await capture(command, args, env);
  const ok = holds(r);
  count(name, { good: ok ? 1 : 0, bad: ok ? 0 : 1, ...r });
}

async function goTests(name, args, env) {
  const r = await capture('go', ['test', '-json', ...args], env);
  let good = 0;
  let bad = 0;
  const text = new Map();
  let shown = '';
  for (const line of r.out.split('\n')) {
    let e;
    try {
      e = JSON.parse(line);
    } catch {
      shown += `${line}\n`;
      continue;
    }
    const key = `${e.Package} ${e.Test ?? ''}`;
    if (e.Action === 'output' || e.Action === 'build-output') {
      text.set(key, (text.get(key) ?? '') + e.Output);
      if (e.Output.startsWith('simulated seeds met')) console.log(`     ${e.Output.trim()}`);
    }
    if (e.Action === 'pass' && e.Test) good++;
    if (e.Action === 'skip' && e.Test) {
      bad++;
      shown += `${key} was skipped: nothing here may be\n`;
    }
    if (e.Action === 'fail') {
      if (e.Test) bad++;
      shown += text.get(key) ?? '';
    }
  }
  if (!r.ok && bad === 0) bad = 1;
  if (good + bad === 0) bad = 1;
  count(name, { good, bad, seconds: r.seconds, out: shown });
}

async function unitTests() {
  const r = await capture('node_modules/.bin/vitest', ['run', '--reporter=json', '--outputFile=test-results/vitest.json']);
  let j;
  try {
    j = JSON.parse(readFileSync('test-results/vitest.json', 'utf8'));
  } catch {
    count('client unit tests', { good: 0, bad: 1, ...r });
    return;
  }
  const out = j.testResults
    .flatMap((f) => [f.message, ...f.assertionResults.filter((a) => a.status !== 'passed').map((a) => `${f.name}: ${a.fullName} ${a.status}\n${a.failureMessages.join('\n')}`)])
    .filter(Boolean)
    .join('\n');
  const bad = j.numTotalTests - j.numPassedTests + j.testResults.filter((f) => f.status === 'failed' && f.assertionResults.length === 0).length;
  count('client unit tests', { good: j.numPassedTests, bad: bad || (r.ok ? 0 : 1), seconds: r.seconds, out });
}

async function browserTests() {
  const files = readdirSync('client/e2e').filter((f) => f.endsWith('.test.mjs')).map((f) => `client/e2e/${f}`);
  if (files.length === 0) return count('browser tests', { good: 0, bad: 1, seconds: 0, out: 'there are none' });
  const r = await capture('node', ['--test', '--test-concurrency=1', '--test-reporter=tap', ...files], { CHROMIUM: chromium });
  const number = (word) => Number(new RegExp(`^# ${word} (\\d+)`, 'm').exec(r.out)?.[1] ?? 0);
  const bad = number('fail') + number('cancelled') + number('skipped') + number('todo');
  for (const line of r.out.split('\n')) if (/^# (taps|time|figure):/.test(line)) console.log(`     ${line.slice(2)}`);
  count('browser tests', { good: number('pass'), bad: bad || (r.ok ? 0 : 1), seconds: r.seconds, out: r.out });
}

/** One core each: the two lists run side by side. */
async function sequence(...jobs) {
  for (const job of jobs) await job();
}

const silent = (r) => r.ok && r.out.trim() === '';
const goFiles = () => spawnSync('git', ['ls-files', '-co', '--exclude-standard', '*.go'], { encoding: 'utf8' }).stdout.split('\n').filter((f) => f && existsSync(f));

install();
browser();
build();
passed++; // the build keeps the budgets, or ends the program
await Promise.all([
  sequence(
    () => check('go format', 'gofmt', ['-l', ...goFiles()], { holds: silent }),
    () => check('go vet', 'go', ['vet', './...']),
    () => check('staticcheck', 'go', ['tool', 'staticcheck', './...']),
    () => goTests('go tests', ['-race', './...']),
  ),
  sequence(
    () => check('types', 'node_modules/.bin/tsc', ['-p', 'client']),
    () => check('types of the worker', 'node_modules/.bin/tsc', ['-p', 'client/tsconfig.worker.json']),
    () => check('lint and format', 'node_modules/.bin/biome', ['check', '--error-on-warnings', 'client']),
    () => check('wording', 'node', ['client/tools/wording.mjs']),
    unitTests,
  ),
]);
await browserTests();
if (long) {
  await goTests('simulation, ten thousand seeds', ['-count=1', '-timeout', '60m', './sync/synctest'], { EVENPULL_SEEDS: process.env.EVENPULL_SEEDS ?? '10000' });
  await check('each rule taken out is missed', 'go', ['run', './sync/synctest/breaktest']);
}
for (const report of reports) console.log(report);
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed ? 1 : 0);
