// What start, build and test share: each step does only what is missing.
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, readFileSync, writeFileSync } from 'node:fs';

/** Ends the program with one sentence. */
export function fail(sentence) {
  console.error(sentence);
  process.exit(1);
}

/** Runs a command with its output shown; ends the program when it fails. */
export function run(command, args, env = {}) {
  const r = spawnSync(command, args, { stdio: ['ignore', 'inherit', 'inherit'], env: { ...process.env, ...env } });
  if (r.error?.code === 'ENOENT') fail(`${command} is not on this machine; install it and try again.`);
  if (r.status !== 0) fail(`${command} ${args.join(' ')} did not work; what it says stands above.`);
}

const STAMP = 'node_modules/.evenpull-lock';

/** Installs the locked packages when the lock file changed. */
export function install() {
  const lock = createHash('sha256').update(readFileSync('package-lock.json')).digest('hex');
  if (existsSync(STAMP) && readFileSync(STAMP, 'utf8') === lock) return;
  run('npm', ['ci', '--no-audit', '--no-fund', '--loglevel=error']);
  writeFileSync(STAMP, lock);
}

export const version = JSON.parse(readFileSync('package.json', 'utf8')).version;
export const binary = process.platform === 'win32' ? 'bin/evenpull.exe' : 'bin/evenpull';

/** Bundles the client and builds one static binary with it inside. */
export function build() {
  run('go', ['run', './client/build']);
  run('go', ['build', '-trimpath', '-ldflags', `-s -w -X main.version=${version}`, '-o', binary, './server'], { CGO_ENABLED: '0' });
}
