// One phone shares its studio, a second one joins by a code. Both work on while the server is away, on the same note and the
// same screw; when it is back nothing is lost on either, and what can't be known is asked.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import test from 'node:test';
import { browser } from './browser.mjs';
import { fill, kept } from './database.mjs';
import { button, tap, titled, titleOf } from './hand.mjs';
import { appStarted, go, offlineReady, openPhone, startServer, until } from './harness.mjs';
import { phoneOf } from './tasks.mjs';

const words = { first: 'Cone from the grey shelf.', one: 'The left edge pulls.', two: 'Rehung the backing.' };

const live = async (page, kind, field) =>
  (await page.evaluate(kept)).records
    .filter((r) => r.kind === kind)
    .flatMap((r) => (r.fields[field]?.live ?? []).map((v) => v.value));

async function at(phone, url, path, title) {
  await phone.page.goto(`${url}${path}`);
  await appStarted(phone.page);
  await titled(phone.page, title);
}

/** Adds words to the one note there is, and leaves the field. */
async function writeNote(phone, url, more) {
  const { page } = phone;
  await at(phone, url, 'book', 'Book');
  await page.getByRole('link', { name: new RegExp(`^${words.first.slice(0, 12)}`) }).tap();
  await titled(page, 'Note');
  const field = page.getByLabel('Write here');
  await field.fill(`${words.first}\n${more}`);
  await field.blur();
  await page.getByText('Waiting to go', { exact: true }).waitFor();
}

const sent = async (page) => (await page.getByText('Nothing waiting').count()) > 0;

async function turnBobbin(phone, url) {
  const { page } = phone;
  await at(phone, url, '', 'Long one');
  await tap(page, 'I turned something');
  const first = await until('a step of the task', () => titleOf(page));
  if (first.startsWith('Before')) await tap(page, 'I have read it'); // not yet acknowledged on this phone
  await titled(page, 'Which');
  await tap(page, 'Bobbin case screw, Blue dot');
  await tap(page, 'Tighten 5 on the clock');
  await tap(page, 'Write it down');
  await titled(page, 'Long one');
}

/** Sends and reads until nothing waits and `seen` holds. */
async function inStep(phone, url, what, seen) {
  await at(phone, url, 'people', 'People & copies');
  const send = phone.page.getByRole('button', { name: 'Send now' });
  await until(
    what,
    async () => {
      await send.tap({ timeout: 2000 }).catch(() => {});
      return seen(phone.page);
    },
    40_000,
  );
}

test('claim, join, apart, together', { timeout: 240_000 }, async (t) => {
  const began = Date.now();
  const server = await startServer(t);
  const { url } = server;
  const one = await openPhone(t, { browser, offline: true });
  await go(one.page, url);
  await offlineReady(one.page);
  const earlier = (ctx) => ({
    ...ctx,
    changes: [
      {
        id: 'a'.repeat(32),
        at: ctx.now - 600_000,
        by: '',
        screw: `top:${ctx.machine}`,
        type: 'move',
        minutes: 30,
        after: [],
      },
    ],
  });
  await one.page.evaluate(fill, await phoneOf(earlier));

  await at(one, url, 'book', 'Book');
  await tap(one.page, 'Keep what is set up as a recipe');
  await one.page.getByLabel('Name').waitFor();
  await at(one, url, 'book', 'Book');
  await tap(one.page, 'New note');
  await one.page.getByLabel('Write here').fill(words.first);
  await one.page.getByLabel('Write here').blur();
  await one.page.getByText('On this phone', { exact: true }).first().waitFor();
  const picture = await one.page.screenshot({ type: 'png' });
  await one.page
    .locator('input[type=file]')
    .setInputFiles({ name: 'sample.png', mimeType: 'image/png', buffer: picture });
  const its = one.page.getByRole('img', { name: 'Photo of this note' });
  await its.waitFor();
  const note = one.page.url();
  await tap(one.page, 'Remove this photo');
  await one.page.getByText('Removed.', { exact: true }).waitFor();
  await go(one.page, `${url}book/tray`); // a photo that was removed is looked at there, and brought back
  await its.waitFor();
  await tap(one.page, 'A photo');
  await one.page.getByText('Nothing was removed in the last 30 days.').waitFor();
  await go(one.page, note);
  await its.waitFor();

  await at(one, url, 'people', 'People & copies');
  await tap(one.page, 'Share this studio');
  const claim = readFileSync(join(server.data, 'claim-code'), 'utf8');
  await one.page.getByLabel('Code').fill(claim.trim());
  await one.page.getByLabel('Your name').fill('Ada');
  await tap(one.page, 'Share it');
  await button(one.page, 'Invite a person').waitFor();
  await tap(one.page, 'Invite a person');
  const code = await one.page.locator('.code').first().textContent();
  assert.match(code ?? '', /^[23456789ABCDEFGHJKMNPQRSTVWXYZ]{4} [23456789ABCDEFGHJKMNPQRSTVWXYZ]{4}$/);

  const two = await openPhone(t);
  await go(two.page, url);
  await offlineReady(two.page);
  // the code is put behind the # of an address that is open already; it goes to its form and leaves the address
  await two.page.evaluate(
    (brought) => {
      location.hash = brought;
    },
    code.toLowerCase().replace(' ', '-'),
  );
  await two.page.getByLabel('Your name').fill('Bea');
  assert.equal(await two.page.getByLabel('Code').inputValue(), code.replace(' ', ''));
  assert.equal(new URL(two.page.url()).hash, '');
  await two.kill();
  await two.reopen();
  await go(two.page, url);
  await tap(two.page, 'I have a code');
  assert.equal(await two.page.getByLabel('Your name').inputValue(), 'Bea', 'the name is kept through a kill');
  await tap(two.page, 'Join');
  await titled(two.page, 'Long one');

  await at(two, url, 'book', 'Book');
  const recipe = (await live(one.page, 'recipe', 'name'))[0];
  await two.page.getByRole('link', { name: new RegExp(`^${recipe}`) }).waitFor();
  await two.page.getByRole('link', { name: new RegExp(`^${words.first.slice(0, 12)}`) }).tap();
  await titled(two.page, 'Note');
  assert.equal(await two.page.getByLabel('Write here').inputValue(), words.first);
  const photo = two.page.getByRole('img', { name: 'Photo of this note' });
  await photo.waitFor({ timeout: 20_000 });
  await until('the photo shows', () => photo.evaluate((i) => i.naturalWidth > 0));
  await at(two, url, 'changes', 'Changes');
  await two.page.getByText('Tighten 30 on the clock').first().waitFor();

  await server.stop();
  await writeNote(one, url, words.one);
  await writeNote(two, url, words.two);
  await turnBobbin(one, url);
  await turnBobbin(two, url);
  await two.kill();
  await two.reopen();
  await server.start();

  const both = async (page) => {
    const texts = await live(page, 'note', 'text');
    const turned = (await live(page, 'change', 'minutes')).filter((m) => m === 5);
    return texts.length === 2 && turned.length === 2;
  };
  await inStep(one, url, 'the first phone has sent its own', sent);
  await inStep(two, url, 'the second phone has both', async (p) => both(p));
  await inStep(one, url, 'the first phone has both', async (p) => both(p));
  for (const phone of [one, two]) {
    const texts = (await live(phone.page, 'note', 'text')).sort();
    assert.deepEqual(texts, [`${words.first}\n${words.one}`, `${words.first}\n${words.two}`].sort());
    await at(phone, url, 'book', 'Book');
    await phone.page.getByRole('link', { name: new RegExp(`^${words.first.slice(0, 12)}`) }).tap();
    await phone.page.getByText('Two versions were written apart. Both are kept.').waitFor();
    const shown = await phone.page.locator('main').textContent();
    for (const w of Object.values(words)) assert.ok(shown.includes(w), `${w} is shown`);
    await at(phone, url, 'changes', 'Changes');
    await phone.page.getByText('same change').first().waitFor();
    assert.equal(await phone.page.getByText('Tighten 5 on the clock').count(), 2, 'both turns are in the ledger');
    assert.deepEqual(phone.errors, []);
  }

  // One person joins the texts and answers; the other phone hears of it.
  await at(one, url, 'book', 'Book');
  await one.page.getByRole('link', { name: new RegExp(`^${words.first.slice(0, 12)}`) }).tap();
  await tap(one.page, 'Keep both, one under the other');
  await one.page.getByText('Two versions were written apart').waitFor({ state: 'detached' });
  await inStep(two, url, 'the second phone has the joined note', async (p) => {
    await inStep(one, url, 'the first phone has sent', sent);
    const texts = await live(p, 'note', 'text');
    return texts.length === 1 && Object.values(words).every((w) => texts[0].includes(w));
  });
  // What stood there before is still at the server, and can be put back.
  await at(two, url, 'book', 'Book');
  await two.page.getByRole('link', { name: new RegExp(`^${words.first.slice(0, 12)}`) }).tap();
  await tap(two.page, 'What stood here before');
  const before = two.page.locator('.as-written');
  await before.first().waitFor();
  assert.deepEqual(
    (await before.allTextContents()).sort(),
    [words.first, `${words.first}\n${words.one}`, `${words.first}\n${words.two}`].sort(),
  );
  assert.deepEqual(two.errors, []);
  // So it is with the screw: one answer on one phone settles it on both.
  await at(one, url, 'changes', 'Changes');
  await tap(one.page, 'The same change');
  await one.page.getByText('the same change or two?').waitFor({ state: 'detached' });
  await one.page.getByText('counts with the other line').first().waitFor();
  await inStep(one, url, 'the first phone has sent its answer', sent);
  await inStep(two, url, 'the second phone has it', async (p) => (await live(p, 'change', 'type')).includes('same'));
  await at(two, url, 'changes', 'Changes');
  await two.page.getByText('counts with the other line').first().waitFor();
  assert.equal(await two.page.getByText('the same change or two?').count(), 0);

  // What stops a machine on one phone stops it on the other, until it is lifted there or here.
  await at(one, url, '', 'Long one');
  await tap(one.page, 'What do you see?');
  const first = await until('a step of the task', () => titleOf(one.page));
  if (first.startsWith('Before')) await tap(one.page, 'I have read it');
  await tap(one.page, 'Something happened');
  await tap(one.page, 'Smell or heat');
  await tap(one.page, 'Power is off');
  await titled(one.page, 'Call a technician');
  await inStep(one, url, 'the first phone has told it', sent);
  await inStep(two, url, 'the second phone heard it', async (p) =>
    (await live(p, 'event', 'type')).includes('do-not-run'),
  );
  await at(two, url, '', 'Long one');
  await two.page.getByText('This machine is marked “do not run”').first().waitFor();
  await tap(two.page, 'Sew two lines');
  await titled(two.page, 'This machine is marked');

  // An end can't be taken back: it is asked about, and nothing is sent before the answer.
  await at(one, url, 'people', 'People & copies');
  await tap(one.page, 'End all access of Bea');
  await tap(one.page, 'Leave it as it is');
  assert.equal((await live(one.page, 'ending', 'person')).length, 0);
  await tap(one.page, 'End all access of Bea');
  await tap(one.page, 'Yes, end it');
  await until('the end is written', async () => (await live(one.page, 'ending', 'person')).length === 1, 40_000);

  t.diagnostic(`time: ${((Date.now() - began) / 1000).toFixed(0)} s from the claim to the joined note on both phones`);
});
