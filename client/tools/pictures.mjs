// npm run pictures: a picture of every place and of the first steps of every task, in every theme, on a phone and on a
// desk, of the running program with its demo studio. They go to pictures/, outside git. With --readme the four small
// ones of the README are made anew.
import { mkdirSync } from 'node:fs';
import { desk, openPhone, phone, startServer } from '../e2e/harness.mjs';

const readme = process.argv.includes('--readme');
const undo = [];
const t = { after: (act) => undo.unshift(act) };

const places = {
  frame: '/',
  changes: '/changes',
  book: '/book',
  tray: '/book/tray',
  bench: '/bench',
  people: '/people',
};
/** Which button of Frame begins a task. */
const tasks = {
  'drop-test': 'Drop test',
  see: 'What do you see?',
  balance: 'Balance the machine',
  turned: 'I turned something',
  'first-five': 'First five',
  sew: 'Sew two lines',
  'top-feel': 'Feel the top thread',
};

/** A phone that joined the demo studio. */
async function joined(server, look) {
  const own = await openPhone(t, { look });
  const { page } = own;
  const address = /http\S+#\S+/.exec(server.log())?.[0];
  if (!address) throw new Error(`the demo prints no code: ${server.log()}`);
  await page.goto(address);
  await page.getByLabel('Your name').fill('Visitor');
  await page.locator('button.main-act').click();
  await page.getByText('Orchard rows').first().waitFor({ timeout: 30_000 });
  return own;
}

async function theme(page, name) {
  await page.emulateMedia({
    colorScheme: name === 'lamp' ? 'dark' : 'light',
    contrast: name === 'glare' ? 'more' : 'no-preference',
  });
}

async function shoot(page, path, whole = true) {
  await page.evaluate(() => document.fonts.ready);
  await page.screenshot({ path, fullPage: whole });
}

async function settled(page) {
  await page.locator('h1').first().waitFor();
}

try {
  const server = await startServer(t, { args: ['--demo'] });
  const sizes = readme ? { small: { ...phone, deviceScaleFactor: 1 } } : { phone, desk };
  for (const [size, look] of Object.entries(sizes)) {
    const { page } = await joined(server, look);
    const open = async (path) => {
      await page.goto(new URL(path, server.url).href);
      await settled(page);
    };
    if (readme) {
      mkdirSync('client/docs', { recursive: true });
      await shoot(page, 'client/docs/frame.png', false);
      await open('/changes');
      await shoot(page, 'client/docs/changes.png', false);
      for (const [name, label] of [
        ['drop', 'Drop test'],
        ['see', 'What do you see?'],
      ]) {
        await open('/');
        await page.getByRole('button', { name: label, exact: true }).first().click();
        const read = page.getByText('I have read it');
        await read.or(page.locator('main.task h1')).first().waitFor();
        if (await read.count()) await read.click();
        await settled(page);
        await shoot(page, `client/docs/${name}.png`, false);
      }
      continue;
    }
    for (const look of ['day', 'lamp', 'glare']) {
      const folder = `pictures/${size}-${look}`;
      mkdirSync(folder, { recursive: true });
      await theme(page, look);
      for (const [name, path] of Object.entries(places)) {
        await open(path);
        await shoot(page, `${folder}/${name}.png`);
      }
      for (const [kind, link] of [
        ['note', 'Border of Orchard rows'],
        ['recipe', 'Night sky'],
      ]) {
        await open('/book');
        await page.getByText(link).first().click();
        await settled(page);
        await shoot(page, `${folder}/${kind}.png`);
      }
      for (const [name, label] of Object.entries(tasks)) {
        await open('/');
        await page.getByRole('button', { name: label, exact: true }).first().click();
        await page.locator('main.task h1').waitFor();
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
  }
} finally {
  for (const act of undo) await act();
}
