// npm test: everything there is to check, at small size. It installs what is
// missing where it may, runs all checks even when one fails, and ends with one
// line, "N passed, N failed". With "long" the long tables are gone through whole, and
// the second tier follows.
import { spawnSync } from 'node:child_process';
import { existsSync, readdirSync } from 'node:fs';
import { binary, compile, install, Missing } from './steps.mjs';
import { check, finish, goTests, nodeTests, note, unitTests } from './tally.mjs';

const long = process.argv.includes('long');
const chromium = process.env.CHROMIUM ?? '/usr/bin/chromium';
const bin = (name) => `node_modules/.bin/${name}`;

/** A step without which the rest means little; counts as one check. */
function step(name, work) {
  const started = Date.now();
  let out = '';
  try {
    work();
  } catch (e) {
    out = e instanceof Missing ? e.message : String(e.stack ?? e);
  }
  note(name, { good: out ? 0 : 1, bad: out ? 1 : 0, seconds: (Date.now() - started) / 1000, out });
  return out === '';
}

/** What the system must have: the browser, what its prints are measured with, and the C compiler of Go's race detector. */
function system() {
  const missing = [];
  if (!existsSync(chromium)) missing.push('chromium');
  const prints = () => ['pdftotext', 'pdftoppm'].every((name) => !spawnSync(name, ['-v']).error);
  if (!prints()) missing.push('poppler-utils');
  if (spawnSync(process.env.CC ?? 'gcc', ['--version']).error) missing.push('gcc', 'libc6-dev');
  if (missing.length === 0) return;
  if (process.getuid?.() === 0 && existsSync('/usr/bin/apt-get')) {
    console.log(`Installing ${missing.join(', ')} …`);
    const quiet = {
      stdio: ['ignore', 'ignore', 'inherit'],
      env: { ...process.env, DEBIAN_FRONTEND: 'noninteractive' },
    };
    spawnSync('apt-get', ['update', '-qq'], quiet);
    spawnSync('apt-get', ['install', '-y', '-qq', '--no-install-recommends', ...missing], quiet);
  }
  if (missing.includes('chromium') && !existsSync(chromium))
    throw new Missing(
      'The browser tests need Chromium: install the package "chromium", or set CHROMIUM to where it is.',
    );
  if (!prints())
    throw new Missing('The prints are measured with pdftotext and pdftoppm: install the package "poppler-utils".');
  if (missing.includes('gcc') && spawnSync(process.env.CC ?? 'gcc', ['--version']).error)
    throw new Missing('Go looks for races with the help of a C compiler: install the package "gcc".');
}

/** So many at a time; the longest stand first. */
async function atATime(lanes, jobs) {
  const left = [...jobs];
  const lane = async () => {
    for (let job = left.shift(); job; job = left.shift()) await job();
  };
  await Promise.all(Array.from({ length: lanes }, lane));
}

const listed = (...patterns) =>
  spawnSync('git', ['ls-files', '-co', '--exclude-standard', ...patterns], { encoding: 'utf8' })
    .stdout.split('\n')
    .filter((f) => f && existsSync(f));
const browserFiles = () =>
  readdirSync('client/e2e')
    .filter((f) => f.endsWith('.test.mjs'))
    .sort()
    .map((f) => `client/e2e/${f}`);

if (
  !step('what is installed', () => {
    install();
    system();
  })
)
  finish();
await check('bundle, budgets, notices', 'go', ['run', './client/build']);
await check('the same bundle twice', 'node', ['client/tools/same-twice.mjs']);
const built = step('program', () => compile());

const race = { env: { CGO_ENABLED: '1' } }; // Go's race detector is linked by the C compiler
const tier = long ? { EVENPULL_WHOLE: '1' } : { EVENPULL_DOTS: '1' };
const browser = { minutes: long ? 90 : 15, env: { CHROMIUM: chromium, EVENPULL_BIN: binary, ...tier } };
const browserTests = (files) => () =>
  nodeTests(
    `browser, ${files.map((f) => f.slice('client/e2e/'.length, -'.test.mjs'.length)).join(' ')}`,
    files,
    browser,
  );
const files = built ? browserFiles() : [];
/** In so many runs: each loads the tools and starts a browser once, and the last ones have to end at about the same time. */
const inRuns = (list, n) =>
  Array.from({ length: n }, (_, i) => list.filter((_, at) => at % n === i)).filter((run) => run.length > 0);
// what measures time, or has a clock of its own that runs out, has the machine to itself: a core each
const timed = files.filter((f) => /\/(sound|update)\./.test(f));
const untimed = files.filter((f) => !timed.includes(f));
// three for two cores: a browser test waits for tones, pauses and answers a good part of its time
await atATime(3, [
  ...inRuns(untimed, 5).map(browserTests),
  () => goTests('go tests', ['-race', '-vet=off', './...'], race), // vet has its own line
  () => unitTests('client unit tests'),
  () => check('types', bin('tsc'), ['-p', 'client']),
  () => check('types of the worker', bin('tsc'), ['-p', 'client/tsconfig.worker.json']),
  () => check('lint and format', bin('biome'), ['check', '--error-on-warnings', 'client']),
  () => check('wording', 'node', ['client/tools/wording.mjs']),
  () => check('go format', 'gofmt', ['-l', ...listed('*.go')], { silent: true }),
  () => check('go vet', 'go', ['vet', './...']),
  () => check('staticcheck', 'go', ['tool', 'staticcheck', './...']),
  () => goTests('simulation', ['-run', 'TestNothingIsLost|TestOnce', './sync/synctest']), // all the seeds
]);
await atATime(2, inRuns(timed, 2).map(browserTests));

if (long) {
  const hour = { minutes: 60 };
  await goTests('simulation, ten times the seeds', ['-count=1', '-timeout', '50m', './sync/synctest'], {
    ...hour,
    env: { EVENPULL_SEEDS: process.env.EVENPULL_SEEDS ?? '10000' },
  });
  await goTests(
    'a hundred kills of the server',
    ['-count=1', '-timeout', '30m', '-run', 'TestKilledServer', './server'],
    {
      ...hour,
      env: { EVENPULL_KILLS: '100' },
    },
  );
  await check('no rule taken out goes unseen', 'go', ['run', './sync/synctest/breaktest'], hour);
  const time = `${process.env.EVENPULL_FUZZ_SECONDS ?? 60}s`;
  for (const { name, dir } of fuzzers())
    await check(`fuzz ${name}, ${time}`, 'go', ['test', '-run', '^$', '-fuzz', `^${name}$`, '-fuzztime', time, dir]);
}
finish();

/** Every fuzz test there is. */
function fuzzers() {
  return listed('*_test.go').flatMap((file) => {
    const found = spawnSync('grep', ['-ohE', '^func Fuzz[A-Za-z0-9_]+', file], { encoding: 'utf8' }).stdout;
    const dir = `./${file.slice(0, file.lastIndexOf('/'))}`;
    return found
      .split('\n')
      .filter(Boolean)
      .map((f) => ({ name: f.slice('func '.length), dir }));
  });
}
