// A phone at the bench with the server gone, and what it holds.
import { after } from 'node:test';
import { browser } from './browser.mjs';
import { fill, kept } from './database.mjs';
import { titled } from './hand.mjs';
import { appStarted, go, offlineReady, openPhone, startServer } from './harness.mjs';

/** A phone that needs no server any more. `more` is for openPhone. */
export async function alone(t, more) {
  const server = await startServer(t);
  const phone = await openPhone(t, { offline: true, ...more });
  await go(phone.page, server.url);
  await offlineReady(phone.page);
  await server.stop();
  return { phone, page: phone.page, url: server.url };
}

/** One such phone for all tests of a file, each with its own rows on the disk; to be asked for outside of its tests. */
export function oneAlone() {
  const ends = [];
  after(() => Promise.all(ends.map((end) => end())));
  let first;
  return async (rows) => {
    first ??= alone({ after: (end) => ends.push(end) }, { browser });
    const { phone, page, url } = await first;
    for (const held of [{}, rows]) {
      // first nothing: what the test before left on the screen is gone before these rows are there
      await page.evaluate(fill, held);
      await go(page, url);
    }
    phone.errors.length = 0;
    return { phone, page, url };
  };
}

export async function at(page, url, path, title) {
  await page.goto(new URL(path, url).href);
  await appStarted(page);
  await titled(page, title);
}

export const records = async (page, kind) => (await page.evaluate(kept)).records.filter((r) => r.kind === kind);
export const value = (row, field) => row?.fields[field]?.live[0]?.value;
export const field = (page, label) => page.getByLabel(label, { exact: true });

/** Types into a field and goes on. */
export async function put(page, label, words) {
  await field(page, label).fill(words);
  await field(page, label).blur();
}
