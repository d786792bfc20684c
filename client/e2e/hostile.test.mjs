// What people paste and what files hold is not to be trusted: every text field and every opened file, with markup, control
// characters, far too much, and wrong types. It is shown as text, said in a sentence, and nothing is lost or half taken.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';
import { browser } from './browser.mjs';
import { fill, kept, keptDrafts } from './database.mjs';
import { button, tap, titled } from './hand.mjs';
import { appStarted, go, openPhone, part, startServer, until } from './harness.mjs';
import { phoneOf } from './tasks.mjs';

const markup = '<img src=x onerror="window.hit=1"><script>window.hit=1</script>&lt;b&gt;"\'';
const shortMarkup = '<b>40</b>';
/** Signs that nothing shows. No record holds them; what is typed stays, and a sentence says so. */
const controls = 'a\u0007b\u001b[31mc\u202ed\u200be\ufefff\\u0000';
/** More than any record may hold. */
const huge = 'wide '.repeat(14_000); // 70 kB

async function phoneWith(t, change, more = { browser }) {
  const server = await startServer(t);
  const phone = await openPhone(t, more);
  await go(phone.page, server.url);
  await phone.page.evaluate(fill, await phoneOf(change));
  await go(phone.page, server.url);
  return { phone, page: phone.page, url: server.url };
}

/** Nothing of it ran, and nothing was refused by the page's policy or thrown. */
async function harmless({ errors, page }) {
  assert.equal(await page.evaluate(() => window.hit), undefined);
  assert.equal(await page.locator('main img[src="x"], main script').count(), 0);
  assert.deepEqual(errors, []);
}

test('every text field keeps what is put into it and shows it as text', { timeout: 180_000 }, async (t) => {
  const { phone, page, url } = await phoneWith(t);
  await page.goto(`${url}book`);
  await appStarted(page);
  await tap(page, 'Keep what is set up as a recipe');
  await until('the recipe is open', () => new URL(page.url()).pathname.startsWith('/book/recipe/'));
  const recipe = new URL(page.url()).pathname.slice(1);
  await page.goto(`${url}book`);
  await appStarted(page);
  await tap(page, 'New note');
  await until('the note is open', () => new URL(page.url()).pathname.startsWith('/book/note/'));
  const note = new URL(page.url()).pathname.slice(1);
  let tried = 0;
  /** Fields that are kept as they are typed. The other ones of these screens make a record with a button of their own. */
  const own = {
    [note]: ['Write here'],
    [recipe]: ['Name', 'What to remember'],
    bench: ['Name of the quilt', 'As printed on the packet', 'Batting', 'Backing', 'Name of the machine'],
  };
  for (const words of [markup, controls]) {
    for (const [path, labels] of Object.entries(own)) {
      await page.goto(`${url}${path}`);
      await appStarted(page);
      await page.getByLabel(labels[0]).first().waitFor();
      for (const label of labels) {
        const field = page.getByLabel(label).first();
        await field.fill(words);
        await field.blur();
        tried++;
      }
      if (words === markup)
        await until(`all of ${path} is kept`, async () => {
          const text = JSON.stringify((await page.evaluate(kept)).records);
          return text.split(JSON.stringify(words).slice(1, -1)).length - 1 >= labels.length;
        });
      else {
        await page.getByText('Not saved: a sign in it can’t be shown.').first().waitFor(); // and it stays as typed
        await until(`all drafts of ${path} are kept`, async () => {
          const drafts = await page.evaluate(keptDrafts);
          return drafts.filter((text) => text === words).length >= labels.length;
        });
      }
      await page.reload();
      await appStarted(page);
      for (const label of labels) {
        const field = page.getByLabel(label).first();
        await field.waitFor();
        assert.equal(await field.inputValue(), words, `${label} of ${path}`);
      }
      await harmless(phone);
    }
    for (const path of ['', 'book', 'changes', 'people']) {
      await page.goto(`${url}${path}`);
      await appStarted(page);
      await page.locator('h1').first().waitFor({ state: 'attached' });
      await harmless(phone);
    }
  }
  // names that a button takes: threads, bobbin cases, codes, what is searched for
  await page.goto(`${url}bench`);
  await appStarted(page);
  await page.getByLabel('Its own label').fill(markup);
  await tap(page, 'Add a bobbin case');
  await page.getByText(markup.slice(0, 40)).first().waitFor();
  await tap(page, 'Add a thread');
  await page.getByLabel('Another number').fill(markup);
  await page.getByText(/^At most 40 signs/).waitFor();
  await page.getByLabel('Another number').fill(shortMarkup);
  await tap(page, 'Add it');
  await page.getByText(shortMarkup).first().waitFor();
  await harmless(phone);
  await page.goto(`${url}book`);
  await appStarted(page);
  await page.getByLabel('Search notes').fill(markup);
  await page.getByLabel('Search notes').fill(controls);
  await harmless(phone);
  await page.goto(`${url}people`);
  await appStarted(page);
  await tap(page, 'I have a code');
  await page.getByLabel('Code').fill(markup);
  await page.getByLabel('Your name').fill(markup);
  await tap(page, 'Join');
  await page.getByText('A code has 8 characters').waitFor();
  await harmless(phone);
  t.diagnostic(`figure: ${tried + 6} fields tried with markup and control characters`);
});

test('far too much is said to be too much, and stays', { timeout: 120_000 }, async (t) => {
  const { phone, page, url } = await phoneWith(t, undefined, {}); // with a profile: it is killed
  await page.goto(`${url}book`);
  await appStarted(page);
  await tap(page, 'New note');
  const note = page.getByLabel('Write here');
  await note.fill(huge);
  await page.getByText('This is longer than a note can be').waitFor();
  await note.blur();
  await page
    .getByText(/^Not saved: this is/)
    .first()
    .waitFor();
  await phone.kill();
  await phone.reopen();
  await phone.page.goto(`${url}book`);
  await appStarted(phone.page);
  await phone.page
    .getByRole('link', { name: /^(Empty note|wide)/ })
    .first()
    .tap();
  assert.equal((await phone.page.getByLabel('Write here').inputValue()).length, huge.length, 'it stays as a draft');
  await phone.page.goto(`${url}bench`);
  await appStarted(phone.page);
  const name = phone.page.getByLabel('Name of the machine');
  await name.fill(huge);
  await name.blur();
  await phone.page
    .getByText(/^Not saved: this is/)
    .first()
    .waitFor();
  assert.equal((await name.inputValue()).length, huge.length);
  await harmless(phone);
});

test('words typed into a task are kept as they are', { timeout: 60_000 }, async (t) => {
  const stopped = (ctx) => ({
    ...ctx,
    events: [{ id: 'f'.repeat(32), at: ctx.now - 60_000, by: '', type: 'do-not-run', reason: 'knock' }],
  });
  const { phone, page } = await phoneWith(t, stopped);
  await page.locator('.notice.stop button').first().tap();
  await titled(page, 'Why may it run again?');
  await page.getByLabel('Reason').fill(markup);
  await tap(page, 'It may run again');
  await titled(page, 'Long one');
  const { records } = await page.evaluate(kept);
  const reasons = records.filter((r) => r.kind === 'event').map((r) => r.fields.reason?.live[0]?.value);
  assert.ok(reasons.includes(markup), JSON.stringify(reasons));
  await harmless(phone);
});

test('a file that is no copy, or a broken one, takes nothing and says so', { timeout: 180_000 }, async (t) => {
  const { phone, page, url } = await phoneWith(t);
  await page.goto(`${url}people`);
  await appStarted(page);
  await button(page, 'Save a copy').waitFor();
  const [download] = await Promise.all([page.waitForEvent('download'), tap(page, 'Save a copy')]);
  const good = readFileSync(await download.path());
  const lines = good.toString('utf8').split('\n');
  const swapped = (from, to) => Buffer.from(good.toString('utf8').replace(from, to));
  const files = {
    empty: Buffer.alloc(0),
    'not text': Buffer.from(Array.from({ length: 4096 }, (_, i) => (i * 7919) % 256)),
    null: Buffer.from('null'),
    'another JSON': Buffer.from('{"hello":[1,2,3]}\n'),
    'a page': Buffer.from(`<!doctype html>${markup}`),
    'eight megabytes of nothing': Buffer.alloc(8_000_000, 32),
    'deep brackets': Buffer.from('['.repeat(200_000)),
    'cut short': good.subarray(0, good.length >> 1),
    'a line missing': Buffer.from([...lines.slice(0, 2), ...lines.slice(3)].join('\n')),
    'a record of wrong types': swapped(/"kind":"machine"/, '"kind":["machine"]'),
    'another format': swapped('evenpull-studio', 'evenpull-other'),
    'a later version': swapped(/"version":\d+/, '"version":99'),
    'a byte changed': swapped('Long one', 'Lang one'),
  };
  const records = async () => JSON.stringify((await page.evaluate(kept)).records);
  const before = await records();
  const input = page.locator('input[type=file]').first();
  const said = page.getByRole('status').filter({ hasText: /[.]$/ });
  const tried = part(Object.entries(files), 2);
  for (const [name, buffer] of tried) {
    await input.setInputFiles({ name: 'copy.evenpull', mimeType: 'application/json', buffer });
    const sentence = await until(`a sentence about ${name}`, async () =>
      (await said.allTextContents()).find((s) => /Nothing was taken/.test(s)),
    ).catch(async (e) => {
      throw new Error(`${e.message}: ${await page.locator('main').textContent()}`);
    });
    assert.match(sentence, /^This (file|copy) .*\. Nothing was taken from it/, name);
    assert.equal(await records(), before, `${name}: nothing was taken`);
    await page.reload();
    await appStarted(page);
    await button(page, 'Save a copy').waitFor();
  }
  await input.setInputFiles({ name: 'copy.evenpull', mimeType: 'application/json', buffer: good });
  await page.getByText('Everything in this copy is here already.').waitFor();
  t.diagnostic(`figure: ${tried.length} files refused whole`);
  await harmless(phone);
});
