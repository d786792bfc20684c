// npm run pictures: a picture of every place and of the first steps of every task, in every theme, on a phone and on a
// desk, of the running program with its demo studio. They go to pictures/, outside git. Names of sizes and themes after
// it make those only: npm run pictures -- phone day lamp. With --readme the four small ones of the README are made anew.
import { mkdirSync } from 'node:fs';
import { desk, openPhone, phone, startServer } from '../e2e/harness.mjs';
import { entries, joinDemo, open, openEntry, openTask, places, tasks, themes, wear } from './screens.mjs';

const asked = process.argv.slice(2);
const readme = asked.includes('--readme');
/** Those of a list that were asked for, or all of it. */
const wanted = (all) => (all.some((name) => asked.includes(name)) ? all.filter((name) => asked.includes(name)) : all);
const undo = [];
const t = { after: (act) => undo.unshift(act) };

async function shoot(page, path, whole = true) {
  await page.evaluate(() => document.fonts.ready);
  await page.screenshot({ path, fullPage: whole });
}

try {
  const server = await startServer(t, { args: ['--demo'] });
  const sizes = readme ? { small: { ...phone, deviceScaleFactor: 1 } } : { phone, desk };
  for (const size of wanted(Object.keys(sizes))) {
    const look = sizes[size];
    const { page } = await openPhone(t, { look });
    await joinDemo(page, server);
    if (readme) await forReadme(page, server.url);
    else for (const theme of wanted(themes)) await everything(page, server.url, theme, `pictures/${size}-${theme}`);
  }
} finally {
  for (const act of undo) await act();
}

async function forReadme(page, url) {
  mkdirSync('client/docs', { recursive: true });
  for (const name of ['frame', 'changes']) {
    await open(page, url, places[name]);
    await shoot(page, `client/docs/${name}.png`, false);
  }
  for (const [name, task] of [
    ['drop', 'drop-test'],
    ['see', 'see'],
  ]) {
    await openTask(page, url, tasks[task]);
    const read = page.getByText('I have read it');
    if (await read.count()) await read.click();
    await read.waitFor({ state: 'detached' });
    await shoot(page, `client/docs/${name}.png`, false);
  }
}

async function everything(page, url, theme, folder) {
  mkdirSync(folder, { recursive: true });
  await wear(page, theme);
  for (const [name, path] of Object.entries(places)) {
    await open(page, url, path);
    await shoot(page, `${folder}/${name}.png`);
  }
  for (const [name, words] of Object.entries(entries)) {
    await openEntry(page, url, words);
    await shoot(page, `${folder}/${name}.png`);
  }
  for (const [name, label] of Object.entries(tasks)) {
    await openTask(page, url, label);
    for (let step = 0; step < 4; step++) {
      await shoot(page, `${folder}/${name}-${step}.png`);
      const main = page.locator('button.main-act:not([disabled])');
      if ((await main.count()) === 0) break;
      const before = await page.locator('main.task h1').textContent();
      await main.first().click();
      await page
        .waitForFunction((h) => document.querySelector('main h1')?.textContent !== h, before, { timeout: 2000 })
        .catch(() => {});
      if ((await page.locator('main.task').count()) === 0) break;
    }
  }
}
