// A phone at the bench with the server gone, and what it holds.
import { fill, kept } from './database.mjs';
import { titled } from './hand.mjs';
import { appStarted, go, offlineReady, openPhone, startServer } from './harness.mjs';

/** A phone that needs no server any more, with these rows on its disk; of `browser` where one is shared. */
export async function alone(t, rows, browser) {
  const server = await startServer(t);
  const phone = await openPhone(t, { browser });
  await go(phone.page, server.url);
  await offlineReady(phone.page);
  await server.stop();
  if (rows) await phone.page.evaluate(fill, rows);
  await go(phone.page, server.url);
  return { phone, page: phone.page, url: server.url };
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
