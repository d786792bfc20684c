// One browser for all phones of these tests that need no profile on disk. Apart from harness.mjs, which programs that are
// no tests stand on too: to say what is to be done after the tests starts their runner.
import { after } from 'node:test';
import { chromium } from 'playwright-core';
import { browserPath, flags } from './harness.mjs';

let launched;
after(async () => (await launched)?.close());

/** To start one costs as much as half a dozen pages, and a worker that keeps all files for later as much as three. */
export function browser() {
  launched ??= chromium.launch({ executablePath: browserPath, args: flags }).then((b) =>
    b.on('disconnected', () => {
      launched = undefined; // one that broke does not fail the tests after it
    }),
  );
  return launched;
}
