// node client/tools/script.mjs PROGRAM.ts ARGUMENTS …: runs a TypeScript program of this tree in Node. Its default
// export takes the arguments and returns the exit code.
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';

const given = process.cwd(); // file names in the arguments are meant from here
const { install, main, run } = await import('./steps.mjs');
const [program, ...args] = process.argv.slice(2);

await main(async () => {
  install();
  const dir = mkdtempSync(join(tmpdir(), 'evenpull-'));
  try {
    const bundle = join(dir, 'program.mjs');
    run('go', ['run', './client/build/script', resolve(given, program), bundle]);
    process.chdir(given);
    process.exitCode = await (await import(pathToFileURL(bundle))).default(args);
  } finally {
    rmSync(dir, { recursive: true, force: true });
  }
});
