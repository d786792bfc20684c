// What start, build and test share: each step does only what is missing.
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

process.chdir(fileURLToPath(new URL('../..', import.meta.url))); // every path below is from the root of the tree

// One set of flags for every use of Go, so that each package is compiled once: no paths of this machine, no C.
process.env.GOFLAGS = `${process.env.GOFLAGS ?? ''} -trimpath`.trim();
process.env.CGO_ENABLED ??= '0';

const project = JSON.parse(readFileSync('package.json', 'utf8'));
export const version = project.version;
export const binary = process.platform === 'win32' ? 'bin/evenpull.exe' : 'bin/evenpull';

/** Something a person has to do first; its message is one sentence for them. */
export class Missing extends Error {}

/** Runs a program's steps; what is missing ends it with its one sentence and exit code 1. */
export async function main(steps) {
  try {
    await steps();
  } catch (e) {
    console.error(e instanceof Missing ? e.message : e);
    process.exit(1);
  }
}

const sentences = {
  go: `Go is not on this machine: install Go ${/^go (\d+\.\d+)/m.exec(readFileSync('go.mod', 'utf8'))?.[1]} or later and try again.`,
  npm: 'npm is not on this machine: install Node.js together with npm and try again.',
};

/** Runs a command with its output shown. Throws Missing where it is not there or does not work. */
export function run(command, args) {
  const r = spawnSync(command, args, { stdio: ['ignore', 'inherit', 'inherit'] });
  if (r.error) throw new Missing(sentences[command] ?? `${command} could not be run: ${r.error.message}.`);
  if (r.status !== 0) throw new Missing(`"${command} ${args.join(' ')}" did not work; what it says stands above.`);
}

const stamp = 'node_modules/.installed';

/** Installs the locked packages when the lock file changed. */
export function install() {
  const [major, minor] = process.versions.node.split('.').map(Number);
  const [wantMajor = 0, wantMinor = 0] = project.engines.node.match(/\d+/g).map(Number);
  if (major < wantMajor || (major === wantMajor && minor < wantMinor))
    throw new Missing(
      `Node.js ${process.versions.node} is too old: install ${wantMajor}.${wantMinor} or later and try again.`,
    );
  const lock = createHash('sha256').update(readFileSync('package-lock.json')).digest('hex');
  if (existsSync(stamp) && readFileSync(stamp, 'utf8') === lock) return;
  console.log('Installing the locked packages …');
  run('npm', ['ci', '--no-audit', '--no-fund', '--loglevel=error']);
  writeFileSync(stamp, lock);
}

/** Bundles the client into server/web/dist. */
export function bundle() {
  run('go', ['run', './client/build']);
}

/** Builds one static binary with the client inside. */
export function compile() {
  run('go', ['build', '-ldflags', `-s -w -X main.version=${version}`, '-o', binary, './server']);
}
