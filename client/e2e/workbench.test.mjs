// The work before the first stitch and after the last one, with the server gone: threads, bobbins, where to start, care,
// and everything out and in again.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';
import { parse } from 'csv-parse/sync';
import { browser } from './browser.mjs';
import { kept } from './database.mjs';
import { choose, counted, tap, titled } from './hand.mjs';
import { appStarted, go, openPhone, startServer, until, whole } from './harness.mjs';
import { phoneOf } from './tasks.mjs';
import { at, field, oneAlone, put, records, value } from './workbench.mjs';

const atBench = oneAlone();

const hour = 3_600_000;
const id = (n) => String(n).padStart(32, 'd');

const noNumber = ['-1', 'fifty', '99999999', '1 1/2 in', '1,250'];
const noSize = ['0', '-1 in', 'wide', '99999 m', '5 ft 3 in', '9 miles'];

/** What can't be used in a field is told there and stays as it was typed; then the field has again what it had. */
async function refuses(page, labels, hopeless) {
  for (const [i, label] of labels.entries()) {
    const entry = field(page, label);
    const had = await entry.inputValue();
    for (const typed of whole ? hopeless : [hopeless[i % hopeless.length]]) {
      await put(page, label, typed);
      await page.locator('.field.wrong').filter({ has: entry }).getByRole('alert').waitFor();
      assert.equal(await entry.inputValue(), typed, label);
    }
    await put(page, label, had);
    await page.locator('.field.wrong').filter({ has: entry }).waitFor({ state: 'detached' });
  }
}

test('a thread is on the shelf in three taps and ten seconds, and two are compared', {
  timeout: 120_000,
}, async (t) => {
  const { phone, page, url } = await atBench(await phoneOf());
  await at(page, url, '/book/threads', 'Threads');
  const began = Date.now();
  const taps = await counted(phone, async () => {
    await choose(page, 'shelf-number', '50');
    await choose(page, 'shelf-fibre', 'cotton');
    await tap(page, 'Add it');
    await page.getByRole('link', { name: '50 cotton' }).waitFor();
  });
  t.diagnostic(`taps: ${taps} for a thread, ${((Date.now() - began) / 1000).toFixed(1)} s`);
  assert.ok(taps <= 3, `${taps} taps`);
  assert.ok(Date.now() - began < 10_000);
  const pick = async (name, label) => page.getByRole('group', { name }).getByLabel(label).first().tap();
  await pick('First', '40 polyester');
  await pick('Second', '50 cotton');
  await page.getByText('40 polyester is thicker than 50 cotton, by about 17 %. That is an estimate').waitFor();

  await page.getByRole('link', { name: '50 cotton' }).tap();
  await titled(page, '50 cotton');
  await page.getByText('The bare number is taken for a weight number: an estimate.').waitFor();
  await choose(page, 'countSystem', 'Ne');
  for (const [wrong, sentence] of [
    ['0', /Nothing at all/],
    ['-40', /less than nothing/],
    ['99999999', /too big.*what you typed stays/],
    ['fifty', /A number belongs here/],
    ['40/2', /A number belongs here/],
  ]) {
    await put(page, 'Its figure', wrong);
    await page.getByRole('alert').filter({ hasText: sentence }).waitFor();
    assert.equal(await field(page, 'Its figure').inputValue(), wrong, 'what was typed stays');
  }
  await put(page, 'Its figure', '40');
  await put(page, 'Plies, when the figure is of one single', '2');
  await page.getByText('From its plies added up: an estimate.').waitFor();
  const tex = page.locator('.line', { hasText: /^tex/ });
  await until('29.5 tex', async () => /29\.5/.test(await tex.textContent()));
  assert.match(await tex.textContent(), /an estimate/);
  await put(page, 'Plies, when the figure is of one single', '1');
  await page.getByText('From what the label counts in: exact').waitFor();
  await until('14.8 tex', async () => /14\.8/.test(await tex.textContent()));
  assert.match(await tex.textContent(), /exact by definition/);
  assert.match(await page.locator('.line', { hasText: 'weight number' }).textContent(), /an estimate/);
  await page.getByText('1.52 g/cm³').waitFor();
  await refuses(page, ['Metres on a cone', 'Fibre in the thread', 'Plies, when the figure is of one single'], noNumber);
  assert.deepEqual(phone.errors, []);
});

test('bobbins: the own count first, geometry on request, wrong sizes said and kept', {
  timeout: 120_000,
}, async () => {
  const size = { widthMm: 2000, heightMm: 2000, spacingUm: 40_000, work: 'custom' };
  const before = (ctx) => ({
    ...ctx,
    quilts: [
      ...ctx.quilts.map((q) => ({ ...q, work: 'custom' })),
      { id: id(1), at: ctx.now - 99 * hour, by: '', name: 'Stars', ...size },
      { id: id(2), at: ctx.now - 50 * hour, by: '', name: 'Leaves', ...size },
    ],
    events: [1, 2, 3, 4, 5, 6, 7].map((n) => ({
      id: id(10 + n),
      at: ctx.now - (60 - n) * hour,
      by: '',
      type: 'new-bobbin',
      quilt: id(n < 4 ? 1 : 2),
      thread: ctx.bench.bobbinThread,
    })),
  });
  const { phone, page, url } = await atBench(await phoneOf(before));
  await at(page, url, '/book/bobbins', 'Bobbins for a quilt');
  await page.getByText('quilts like it are looked for').waitFor();
  for (const [wrong, sentence] of [
    ['0', /Nothing at all can’t be right/],
    ['-90 in', /less than nothing/],
    ['99999 m', /too big/],
    ['ninety', /This is no length/],
    ['90 x 100', /This is no length/],
    ['90 miles', /This unit is not known/],
    ['5 ft 3 in', /one unit at a time/],
  ]) {
    await put(page, 'Width', wrong);
    await page.getByRole('alert').filter({ hasText: sentence }).waitFor();
    assert.equal(await field(page, 'Width').inputValue(), wrong);
  }
  await page.reload();
  await appStarted(page);
  await until('what was typed', async () => (await field(page, 'Width').inputValue()) === '5 ft 3 in');
  assert.equal(await page.getByRole('alert').count(), 1, 'and its sentence');
  assert.deepEqual(
    (await records(page, 'quilt')).filter((q) => value(q, 'widthMm') < 2000),
    [],
    'nothing of it was stored',
  );

  await put(page, 'Width', '79 1/2 in');
  await put(page, 'Length', '2,0 m');
  await put(page, 'Between the lines of the pattern', '1 1/2');
  await page
    .getByText('5 bobbins. 2 quilts of this size and density took 4 to 5, scaled')
    .waitFor({ timeout: 5000 })
    .catch(async (e) => {
      throw new Error(`${e.message}: ${await page.locator('main').textContent()}`);
    });
  const quilt = (await records(page, 'quilt')).find((q) => value(q, 'name') === 'River stones');
  assert.deepEqual(
    ['widthMm', 'heightMm', 'spacingUm'].map((f) => value(quilt, f)),
    [2019, 2000, 38_100],
  );

  await put(page, 'How many are wound now', '6');
  await tap(page, 'Write it down');
  await page.getByText('Wound: 6 of 60 polyester left.').waitFor();
  await tap(page, 'Work it out by geometry');
  await page.getByText('What a bobbin holds is not known').waitFor();
  await put(page, 'Thread on a full bobbin, weighed', '1,9');
  await page.getByText('A full bobbin holds about 114 m, by the one you weighed.').waitFor();
  const row = (name) => page.locator('.line', { hasText: name }).first().textContent();
  const sides = ['Across the rim', 'Across the core', 'Between the sides'];
  for (const [i, mm] of ['22 mm', '7 mm', '9 mm'].entries()) await put(page, sides[i], mm);
  await put(page, 'Thread on a full bobbin, weighed', '');
  await page.getByText('A full bobbin holds about 125 m, by its dimensions.').waitFor(); // 3075 mm³ x 0.75 x 1.39 x 0.65 / 16.67
  await put(page, 'Thread in the room of the bobbin', '60');
  await page.getByText('A full bobbin holds about 100 m, by its dimensions.').waitFor();
  await put(page, sides[1], '22 mm');
  await page.getByRole('alert').filter({ hasText: 'The core can’t be as wide as the rim.' }).waitFor();
  await put(page, sides[1], '7 mm');
  await put(page, 'Thread on a full bobbin, weighed', '1,9');
  const numbers = ['Stitches per inch', 'Waste', 'Depth of the lock, from the top', 'How many are wound now'];
  numbers.push('Thread on a full bobbin, weighed', 'Thread in the room of the bobbin');
  await refuses(page, numbers, noNumber);
  await tap(page, 'Measure a square instead');
  await refuses(page, ['Length', 'Thickness of the sandwich, pressed', 'Side of the square', ...sides], noSize);
  await put(page, 'Side of the square', '10 cm');
  await put(page, 'Line in it', '1 mm');
  await page
    .getByRole('alert')
    .filter({ hasText: /lines 393\.7 in apart\. This is too big/ })
    .waitFor();
  assert.ok(await page.getByRole('button', { name: 'Use the square' }).isDisabled());
  await put(page, 'Line in it', '263 mm');
  await page.getByText(/That is like lines 1\.5 in apart/).waitFor();
  assert.match(await row('60 polyester'), /about 16\.7 tex, 65 % of its room fibre/);
  assert.match(await row('Bobbins to wind'), /\d to \d/);
  assert.match(await row('Stitched line'), /106 m/); // 2.019 x 2.0 m at 38.1 mm
  await at(page, url, '/book/weighed', 'Weighed bobbin case');
  await refuses(page, ['Case with bobbin and thread'], noNumber);
  await refuses(page, ['How far the hand let it fall', 'First slip', 'Second slip', 'Third slip'], noSize);
  await at(page, url, '/', 'Long one');
  await tap(page, 'New bobbin');
  await page.getByText('Wound: 5 of 60 polyester left.').waitFor();
  assert.deepEqual(phone.errors, []);
});

test('a new mix starts from the nearest recipe, as turns from now', { timeout: 120_000 }, async () => {
  const screw = (ctx) => `top:${ctx.machine}`;
  const turned = (ctx) => ({
    ...ctx,
    threads: [...ctx.threads, { id: id(5), at: ctx.now, by: '', number: '50', fibre: 'polyester' }],
    changes: [
      { id: id(1), at: ctx.now - 3 * hour, by: '', screw: screw(ctx), type: 'neutral', after: [] },
      { id: id(2), at: ctx.now - 2 * hour, by: '', screw: screw(ctx), type: 'move', minutes: 60, after: [id(1)] },
    ],
    bench: { ...ctx.bench, needle: '100', batting: 'wool' },
  });
  const { phone, page, url } = await atBench(await phoneOf(turned));
  await at(page, url, '/book/start', 'Where to start');
  await page.getByText('No recipe of this studio is near to this mix.').waitFor();
  await page.getByText('Common practice, no published source').waitFor();
  assert.equal(await page.getByText(' gf').count(), 0, 'no gram-force for who owns no gauge');

  await at(page, url, '/book', 'Book');
  await tap(page, 'Keep what is set up as a recipe');
  await titled(page, 'River stones');
  await at(page, url, '/bench', 'What is set up');
  await choose(page, 'bobbinThread', id(5));
  await until('the thread is on the bench', async () =>
    (await records(page, 'bench')).some((row) => value(row, 'bobbinThread') === id(5)),
  );
  await at(page, url, '/', 'Long one');
  await tap(page, 'I turned something');
  await titled(page, 'Which');
  await tap(page, 'Top tension knob');
  await tap(page, 'Tighten 30 on the clock');
  await tap(page, 'Write it down');
  await titled(page, 'Long one');

  await at(page, url, '/book/start', 'Where to start');
  await page
    .getByText('Same bobbin case, same top thread, bobbin one step thicker now, same batting, same needle.')
    .waitFor();
  await page.getByText('Top, from now: loosen 30 on the clock (half a turn).').waitFor();
  await tap(page, 'Use this');
  await titled(page, 'Long one');
  const notice = page.getByRole('status').filter({ hasText: 'A start, not a setting: two lines first.' });
  await notice.waitFor();
  const bench = (await records(page, 'bench'))[0];
  assert.equal(value(bench, 'bobbinThread'), id(5), 'the new mix stays on the bench');
  await notice.getByRole('button', { name: 'Turn the top' }).tap();
  await page.locator('main.task footer .main-act').tap();
  await titled(page, 'Long one');
  const moves = (await records(page, 'change')).map((c) => value(c, 'minutes')).filter((m) => m !== undefined);
  assert.deepEqual(
    moves.sort((a, b) => a - b),
    [-30, 30, 60],
  );
  await notice.waitFor();
  assert.deepEqual(phone.errors, []);
});

/** Runs in the page: fields are filled and left, one after the other, before any of it is drawn or on the disk. */
function typedAtOnce(words) {
  for (const [label, typed] of Object.entries(words)) {
    const of = [...document.querySelectorAll('label')].find((l) => l.textContent === label);
    const input = document.getElementById(of.htmlFor);
    input.focus();
    input.value = typed;
    input.dispatchEvent(new InputEvent('input', { bubbles: true }));
    input.blur();
  }
}

test('care that is due stands on Frame, and one tap logs it for good', { timeout: 120_000 }, async () => {
  const { phone, page, url } = await atBench(await phoneOf());
  for (const fact of ['New bobbin', 'Good now', 'New bobbin']) await tap(page, fact); // the same one twice at once is one
  const due = page.locator('section.card', { hasText: 'Due now' });
  await due.getByText('Brush hook and bobbin case').waitFor();
  await until('overdue in words', async () => /Overdue: 2 bobbins since, due at 1\./.test(await due.textContent()));
  assert.match(await due.textContent(), /Machine stopped, needle locked out or power off/);
  assert.match(await due.textContent(), /due at 1\. Brush lint out; never blow it in\./);
  const oil = due.locator('.line', { hasText: 'A drop of oil' });
  const taps = await counted(phone, () => oil.getByRole('button', { name: 'Done' }).tap());
  assert.equal(taps, 1);
  await oil.waitFor({ state: 'detached' });
  await tap(page, 'Cleaned');
  await due.getByText('Brush hook and bobbin case').waitFor({ state: 'detached' });
  assert.deepEqual(
    (await records(page, 'careDone')).map((c) => [value(c, 'item'), value(c, 'who')]),
    [['oil', 'operator']],
  );

  await at(page, url, '/care', 'Care');
  await page.getByText('About 1 h since').waitFor(); // 2 bobbins of 25 minutes
  await put(page, 'As printed on the packet', '4.0');
  await page.getByText('This size has no metric partner that is sure.').waitFor();
  await put(page, 'As printed on the packet', '8/60');
  await page.getByText('Metric 60: a blade of 0.6 mm, the old size 8.').waitFor();
  await page.getByText('40 polyester: 31 % of the blade. It has room.').waitFor();
  await page.getByText('Rule of thumb from a trade glossary').waitFor();
  await put(page, 'Running minutes on a bobbin', 'long');
  await page.getByRole('alert').filter({ hasText: 'A number belongs here' }).waitFor();
  // A figure that the battery took before the field was left is written when it is seen again.
  await field(page, 'Running minutes on a bobbin').fill('90');
  await page.getByText('About 1 h since').waitFor();
  await page.reload();
  await appStarted(page);
  await page.getByText('About 3 h since').waitFor();
  const counter = 'The machine’s own counter, in hours';
  for (const [wrong, sentence] of [
    ['-1', /less than nothing/],
    ['99999999', /too big/],
    ['many', /A number belongs here/],
    ['812 1/2 h', /A number belongs here/],
    ['1,250', /A comma before three digits/],
  ]) {
    await put(page, counter, wrong);
    await page.getByRole('alert').filter({ hasText: sentence }).waitFor();
    assert.equal(await field(page, counter).inputValue(), wrong);
    assert.ok(await page.getByRole('button', { name: 'Write it down' }).isDisabled(), wrong);
  }
  await page.reload();
  await appStarted(page);
  await until('what was typed', async () => (await field(page, counter).inputValue()) === '1,250');
  await page
    .getByRole('alert')
    .filter({ hasText: /A comma before three digits/ })
    .waitFor();
  await put(page, counter, '812,5');
  await tap(page, 'Write it down');
  await page.getByText('812.5 h on').waitFor();
  await page.getByRole('button', { name: /^Service/ }).tap();
  await page.getByText('For a qualified technician. Look at the warranty first.').waitFor();
  await refuses(page, ['Every so many hours', 'Every so many days', 'Running minutes on a bobbin'], noNumber);
  await page.evaluate(typedAtOnce, { 'Every so many days': '180', 'Every so many hours': '80' });
  await put(page, 'What was done or found (optional)', 'Belt replaced.');
  await page.locator('.opened').getByRole('button', { name: 'Done' }).tap();
  await page.getByText('by a technician: Belt replaced.').waitFor();
  await page.reload();
  await appStarted(page);
  await page.getByText('by a technician: Belt replaced.').waitFor();
  const service = page.getByRole('button', { name: /^Service/ });
  assert.match(await service.textContent(), /due at 80/);
  assert.match(await service.textContent(), /A technician’s work/);
  await service.tap();
  await until('both intervals', async () => (await field(page, 'Every so many days').inputValue()) === '180');
  await put(page, 'Every so many hours', '');
  await until('the plan’s figure', async () => (await field(page, 'Every so many hours').inputValue()) === '100');
  const [plan] = await records(page, 'carePlan');
  assert.deepEqual(value(plan, 'service'), { also: 180 });
  await service.tap();
  // What is noted beside a new needle does not keep its hours from beginning anew.
  const needles = async () => (await records(page, 'event')).filter((e) => value(e, 'type') === 'new-needle').length;
  const before = await needles();
  await page
    .getByRole('button', { name: /needle/i })
    .first()
    .tap();
  await put(page, 'What was done or found (optional)', 'Size 110, the old one was blunt.');
  await page.locator('.opened').getByRole('button', { name: 'Done' }).tap();
  await page.getByText('Size 110, the old one was blunt.').first().waitFor();
  await until('the needle’s hours begin anew', async () => (await needles()) === before + 1);
  assert.deepEqual(phone.errors, []);
});

/** What a phone holds, apart from whose it is and how it is kept. */
async function holds(page) {
  const { records: rows } = await page.evaluate(kept);
  const all = rows.map((r) => [
    r.kind,
    r.id,
    Object.entries(r.fields)
      .map(([f, v]) => [f, v.live.map((e) => e.value)])
      .sort(),
  ]);
  return all.map((r) => JSON.stringify(r)).sort();
}

/** Runs in the page: notes every share that a bar of progress shows. */
function watchBars() {
  window.shares = [];
  const look = () => {
    for (const bar of document.querySelectorAll('progress')) window.shares.push(bar.value);
  };
  new MutationObserver(look).observe(document, { subtree: true, childList: true, attributes: true });
}

async function opened(page, buffer, says) {
  await page
    .locator('input[type=file]')
    .first()
    .setInputFiles({ name: 'copy.evenpull', mimeType: 'application/json', buffer });
  if (!says) return;
  await page.getByText(says).waitFor();
  await tap(page, 'Bring it in');
}

test('everything goes out in two taps and comes in again elsewhere, once', { timeout: 180_000 }, async (t) => {
  const { phone, page, url } = await atBench(await phoneOf());
  await tap(page, 'New bobbin');
  await page.getByText('New bobbin: just now').first().waitFor();
  await at(page, url, '/book', 'Book');
  await tap(page, 'New note');
  await titled(page, 'Note');
  const photo = { name: 'back.png', mimeType: 'image/png', buffer: await page.screenshot() };
  await page.locator('input[type=file]').last().setInputFiles(photo);
  const picture = (of) => of.getByRole('img', { name: 'Photo of this note' });
  await picture(page).waitFor();
  const note = new URL(page.url()).pathname;
  await at(page, url, '/people', 'People');
  const taps = await counted(phone, async () => {
    const saved = page.waitForEvent('download');
    await tap(page, 'Save a copy');
    phone.copy = readFileSync(await (await saved).path());
  });
  assert.ok(taps <= 2, `${taps} taps`);
  const [first, had] = [phone.copy, await holds(page)];

  const table = page.waitForEvent('download');
  await tap(page, 'Turns');
  const file = await table;
  assert.match(file.suggestedFilename(), /^evenpull-turns-\d{4}-\d\d-\d\d\.csv$/);
  const rows = parse(readFileSync(await file.path()), { bom: true, columns: true });
  assert.equal(rows.length, (await records(page, 'change')).length);

  // A fresh phone: the same counts, the same state.
  const server = await startServer(t);
  const fresh = await openPhone(t, { browser });
  await go(fresh.page, server.url);
  await fresh.page.evaluate(watchBars);
  await opened(fresh.page, first, 'It becomes this phone’s studio.');
  await titled(fresh.page, 'Long one');
  await until('all of it', async () => (await records(fresh.page, 'event')).length > 0);
  assert.deepEqual(await holds(fresh.page), had);
  const shares = await fresh.page.evaluate(() => window.shares);
  assert.ok(shares.length > 0 && shares.every((s) => s > 0 && s <= 1), `the bar went ${shares}`);
  t.diagnostic(`figure: ${had.length} records out and in, ${first.length} bytes`);
  await at(fresh.page, server.url, '/people', 'People');
  await opened(fresh.page, first);
  await fresh.page.getByText('Everything in this copy is here already.').waitFor();
  await at(fresh.page, server.url, note, 'Note');
  await until('the photo came', () => picture(fresh.page).evaluate((i) => i.naturalWidth > 0));

  // A living other studio: a copy, and a second one adds nothing.
  const other = await openPhone(t, { browser });
  await go(other.page, server.url);
  await tap(other.page, 'Start on this phone');
  await tap(other.page, 'That is its name');
  await titled(other.page, 'My machine');
  await at(other.page, server.url, '/people', 'People');
  const before = (await holds(other.page)).length;
  await opened(other.page, first, 'It is of another studio; what it has is copied into this one.');
  await other.page.getByText('of another studio copied into this one.').waitFor();
  const after = await holds(other.page);
  assert.ok(after.length > before + 5);
  await opened(other.page, first);
  await other.page.getByText('Everything in this copy is here already.').waitFor();
  assert.deepEqual(await holds(other.page), after);

  // Left, it adds nothing; damaged, it is refused whole.
  await opened(other.page, Buffer.from(String(first).replace('Long one', 'Lang one')));
  await other.page.getByText('This copy is damaged. Nothing was taken from it').waitFor();
  assert.deepEqual(await holds(other.page), after);
  for (const p of [phone, fresh, other]) assert.deepEqual(p.errors, []);
});
