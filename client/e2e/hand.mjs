// The hand of the person: real taps on what the screen says.
import { until } from './harness.mjs';

const escaped = (words) => words.replace(/[.*+?^${}()|[\]\\]/g, '\\$&');

/** A button whose words begin so, inside `within`. */
export const button = (page, words, within = 'body') =>
  page
    .locator(within)
    .getByRole('button', { name: new RegExp(`^${escaped(words)}`) })
    .first();

/** Taps the button with these words once the screen offers it. The pause between two taps is the screen's own. */
export async function tap(page, words, within) {
  await button(page, words, within).tap({ timeout: 10_000 });
}

/** Waits until the screen's title is this. */
export async function titled(page, words) {
  const title = page.locator('h1').first();
  await until(
    `the title "${words}"`,
    async () => (await title.textContent({ timeout: 5000 }).catch(() => ''))?.startsWith(words),
    30_000,
  ).catch(async (e) => {
    throw new Error(`${e.message}; it is "${await title.textContent().catch(() => '')}"`);
  });
}

/** How many taps on controls `work` took. */
export async function counted(phone, work) {
  const before = phone.taps;
  await work();
  await phone.page.evaluate(() => new Promise(requestAnimationFrame)); // the last tap's count is on its way
  return phone.taps - before;
}

/** Chooses one answer of a row of tiles that are radio buttons or tick boxes. */
export async function choose(page, name, value) {
  await page.locator(`input[name="${name}"][value="${value}"]`).tap();
}

/** The open task's title, once it is drawn; undefined when no task is shown. */
export const titleOf = (page) =>
  page.evaluate(() =>
    location.pathname === '/task' ? document.querySelector('main.task h1')?.textContent : undefined,
  );

/**
 * Goes through a task: at each step taps what `answers` say for the title that begins so, else the main act, until the
 * screen `until` says is reached. Gives the titles passed.
 */
export async function through(page, answers, done) {
  const titles = [];
  for (let last; titles.length < 60; ) {
    const title = await until(
      `a step after "${last}"`,
      async () => {
        if (await done(page)) return 'done';
        const t = await titleOf(page);
        return t && t !== last ? t : undefined;
      },
      40_000,
    );
    if (title === 'done') return titles;
    titles.push(title);
    last = title;
    const words = Object.entries(answers).find(([begin]) => title.startsWith(begin))?.[1];
    if (words === null) continue; // it goes on by itself
    if (words) await tap(page, words, 'main.task');
    else await page.locator('main.task footer .main-act').tap();
  }
  throw new Error(`it does not end: ${titles.join(' / ')}`);
}
