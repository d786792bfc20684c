// A person who goes through the tasks: at each step a tap on something the screen offers, always the same way.
import { until } from '../e2e/harness.mjs';

const doors = ['Drop test', 'What do you see', 'I turned something'];
const steps = 8; // taps in one task before it is left

/** The controls of the step as a person would go for them: the main act, then the others in their order. */
const offered = (page) =>
  page.evaluate(() => {
    const all = [...document.querySelectorAll('main.task .main-act, main.task .controls button')];
    const open = all.filter(
      (b) => !b.disabled && b.offsetParent && !/^(Try|Hear|Photo|Take a photo)/.test(b.textContent.trim()),
    );
    for (const [i, b] of open.entries()) b.dataset.bench = String(i);
    return open.map((b) => (b.getAttribute('aria-pressed') === 'true' ? '' : b.textContent.trim()));
  });

/** Taps it and waits until the answer is painted, or until it is clear that this tap changed nothing. */
async function tapOn(page, control) {
  const before = await page.evaluate(() => window.evenpullSeen.taps.length);
  const there = await control.tap({ timeout: 2000 }).then(
    () => true,
    () => false, // a step that goes on by itself may have taken it away
  );
  if (!there) return;
  await until(
    'the tap is answered',
    () => page.evaluate((n) => window.evenpullSeen.taps.length > n, before),
    1500,
  ).catch(() => {});
}

async function closeSheets(page) {
  while (await page.locator('dialog[open]').count()) await page.keyboard.press('Escape');
}

/** So many times through each door, with taps that differ from time to time. */
export async function walk(page, times) {
  for (let n = 0; n < times * doors.length; n++) {
    const door = page.getByRole('button', { name: new RegExp(`^${doors[n % doors.length]}`) }).first();
    await door.waitFor();
    await tapOn(page, door);
    for (let i = 0; i < steps; i++) {
      await closeSheets(page);
      await page.locator('main.task h1, main h1').first().waitFor();
      const open = await offered(page);
      if (open.length === 0) break;
      const others = open.map((words, at) => ({ words, at })).filter(({ words, at }) => at > 0 && words !== '');
      const pick = i % 2 === 1 && others.length > 0 ? others[(n + i) % others.length].at : 0;
      await tapOn(page, page.locator(`[data-bench="${pick}"]`));
      if (!page.url().endsWith('/task')) break;
    }
    for (let i = 0; page.url().endsWith('/task'); i++) {
      await closeSheets(page); // the last tap may have opened one
      if (i > 20) throw new Error(`no way out of "${(await page.locator('main button').allInnerTexts()).join(' | ')}"`);
      const ways = ['.leave-act', '.stop-act', '.back-act'].map((way) => page.locator(`main.task ${way}`).first());
      for (const way of ways) {
        if (!(await way.isVisible())) continue;
        await tapOn(page, way);
        break;
      }
    }
    if (new URL(page.url()).pathname !== '/') await tapOn(page, page.locator('a[href="/"]').first());
  }
}
