// node client/tools/together.mjs FILE …: the tests of all these files in one process, one after another, so that what
// they stand on is loaded once and they share one browser. What stands at the top of a file may not wait: where all tests
// so far have ended, what is to be done after them is done.

import { resolve } from 'node:path';
import test from 'node:test';
import { pathToFileURL } from 'node:url';

for (const file of process.argv.slice(2))
  await import(pathToFileURL(resolve(file))).catch((e) => test(`${file} is read`, () => Promise.reject(e)));
