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

/** The main act; a look that has none is answered as all well, which stands first. */
async function mainOrFirst(page) {
  const main = page.locator('main.task footer .main-act');
  const first = page.locator('main.task .controls .choice').first();
  await main.or(first).first().waitFor();
  await ((await main.count()) > 0 ? main : first).tap();
}

/**
 * Goes through a task: at each step taps what `answers` say for the title that begins so, else the main act, until the
 * screen `done` says is reached. Gives the titles passed.
 */
export async function through(page, answers, done) {
  const titles = [];
  for (let last; titles.length < 60; ) {
    const title = await until(`a step after "${last}"`, async () => {
      if (await done(page)) return 'done';
      const [t, step] = await page.evaluate(() => [
        location.pathname === '/task' ? document.querySelector('main.task h1')?.textContent : undefined,
        document.querySelector('.task-screen')?.getAttribute('data-step'), // two steps may say the same
      ]);
      if (!t || last === `${step} ${t}`) return undefined;
      last = `${step} ${t}`;
      return t;
    });
    if (title === 'done') return titles;
    titles.push(title);
    const words = Object.entries(answers).find(([begin]) => title.startsWith(begin))?.[1];
    if (words === null) continue; // it goes on by itself
    if (words) await tap(page, words, 'main.task');
    else await mainOrFirst(page);
  }
  throw new Error(`it does not end: ${titles.join(' / ')}`);
}

/** A machine that is well: what a quilter answers at each step, by the step's title; elsewhere the main act. */
export const well = {
  'Slide a card corner': 'Came out clean',
  'Bobbin seated?': 'As the manual shows',
  'Open the tension': 'All as it should be',
  Listen: null,
  'What did each drop do?': 'All three right',
  'Draw the top thread': 'Firm and smooth',
  'Stopped? Look at both faces': 'Neither shows',
  'Good enough for which': 'Custom',
};
