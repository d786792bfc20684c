// node client/tools/together.mjs FILE …: the tests of all these files in one process, one after another, so that what
// they stand on is loaded once and they share one browser.
import { resolve } from 'node:path';
import { pathToFileURL } from 'node:url';

for (const file of process.argv.slice(2)) await import(pathToFileURL(resolve(file)));
