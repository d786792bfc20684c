// One phone, no account, no server: from the first screen to a recipe, and how many taps each piece of work takes.
import assert from 'node:assert/strict';
import test from 'node:test';
import { choose, counted, tap, through, titled, titleOf, well } from './hand.mjs';
import { appStarted, go, until } from './harness.mjs';
import { phoneOf } from './tasks.mjs';
import { alone, oneAlone, records, value } from './workbench.mjs';

/** The shortest pauses there may be: what is counted here is taps. */
const gaps = { pickUpS: 0, holdS: 2, quietS: 2 };

const atBench = oneAlone();

test('first run, bench, caution: all of it with the server gone', { timeout: 120_000 }, async (t) => {
  const began = Date.now();
  const { phone, page, url } = await alone(t); // with a profile: it is killed
  const taps = await counted(phone, async () => {
    await tap(page, 'Start on this phone');
    await titled(page, 'What do you call this machine?');
    await page.getByLabel('Name').fill('Long one');
    await tap(page, 'That is its name');
    await titled(page, 'Long one');
  });
  t.diagnostic(`taps: ${taps} from the first screen to Frame`);
  assert.ok(taps <= 3, `${taps} taps`);
  t.diagnostic(`time: ${((Date.now() - began) / 1000).toFixed(1)} s from the program's start to a named machine`);
  assert.ok(Date.now() - began < 90_000);

  await page.goto(`${url}bench`);
  await appStarted(page);
  await titled(page, 'What is set up');
  await tap(page, 'New quilt');
  await page.getByLabel('Name of the quilt').fill('River stones');
  await page.getByLabel('Name of the quilt').blur();
  await choose(page, 'work', 'custom');
  assert.equal(await page.getByRole('button', { name: 'New quilt' }).count(), 0, 'no second quilt by the same button');
  for (const [field, title, number] of [
    ['topThread', 'Top thread', '40'],
    ['bobbinThread', 'Bobbin thread', '60'],
  ]) {
    const card = page.locator('section, .card').filter({ has: page.getByRole('heading', { name: title }) });
    await card.last().getByRole('button', { name: 'Add a thread' }).tap();
    await choose(page, `${field}-number`, number);
    await choose(page, `${field}-fibre`, 'polyester');
    await tap(page, 'Add it');
    await page.getByRole('button', { name: 'Add it' }).waitFor({ state: 'detached' });
  }
  await page.getByLabel('Its own label').fill('Blue dot');
  await tap(page, 'Add a bobbin case');
  await choose(page, 'bobbinKind', 'pre-wound');
  await choose(page, 'body', 'frame');
  await choose(page, 'topKnob', 'turns');
  await choose(page, 'modes', 'regulated');
  // a tile shows the tap before the disk has it: what is kept is what counts
  await until('the modes are kept', async () => value((await records(page, 'machine'))[0], 'modes')?.length === 1);

  await phone.kill();
  await phone.reopen();
  await go(phone.page, url);
  await titled(phone.page, 'Long one');
  const said = await phone.page.locator('main').textContent();
  for (const words of ['River stones', '40 polyester', '60 polyester', 'Blue dot'])
    assert.ok(said?.includes(words), `Frame says ${words}: ${said}`);
  const [machine] = await records(phone.page, 'machine');
  assert.equal(value(machine, 'body'), 'frame');
  assert.deepEqual(value(machine, 'modes'), ['regulated']);

  await tap(phone.page, 'Balance the machine');
  await titled(phone.page, 'Before you start');
  await tap(phone.page, 'I have read it');
  await titled(phone.page, 'Slide a card corner');
  await tap(phone.page, 'Leave');
  await titled(phone.page, 'Long one');
  await tap(phone.page, 'Carry on: Balance');
  await titled(phone.page, 'Slide a card corner');
  assert.deepEqual(phone.errors, []);
});

test('taps of every day', { timeout: 120_000 }, async (t) => {
  const rows = await phoneOf((ctx) => ({ ...ctx, gaps }));
  const { phone, page } = await atBench(rows);
  for (const [words, type] of [
    ['Good now', 'good'],
    ['New bobbin', 'new-bobbin'],
    ['New needle', 'new-needle'],
    ['Cleaned', 'cleaned'],
  ]) {
    const taps = await counted(phone, async () => {
      await tap(page, words);
      await page.getByText(`${words}: just now`).waitFor();
    });
    t.diagnostic(`taps: ${taps} for "${words}" (may be 1)`);
    assert.equal(taps, 1);
    assert.ok((await records(page, 'event')).some((r) => value(r, 'type') === type));
  }

  await tap(page, 'Undo'); // the last tap was a wrong one
  await page.getByText('New needle: just now').waitFor();
  const change = await counted(phone, async () => {
    await tap(page, 'I turned something');
    await titled(page, 'Which');
    await tap(page, 'Bobbin case screw');
    await tap(page, 'Tighten 5 on the clock');
    await tap(page, 'Write it down');
    await titled(page, 'Long one');
  });
  // the task's first screen asks which screw: the tap that opens it on Frame is not of the task
  t.diagnostic(`taps: ${change - 1} for a change, ${change} with the one that opens it (may be 3)`);
  assert.ok(change - 1 <= 3, `${change - 1} taps`);
  const changes = await records(page, 'change');
  assert.deepEqual(
    changes.map((r) => value(r, 'minutes')),
    [5],
  );

  const drop = await counted(phone, async () => {
    await tap(page, 'Drop test');
    await titled(page, 'Phone at eye height');
    await tap(page, 'Start');
    await titled(page, 'What did each drop do?');
    await tap(page, 'All three right');
    await page.getByText('In band').first().waitFor();
  });
  t.diagnostic(`taps: ${drop - 1} for a good drop test, ${drop} with the one that opens it (may be 2)`);
  assert.ok(drop - 1 <= 2, `${drop - 1} taps`);
  assert.deepEqual(phone.errors, []);
});

test('a first balancing, from Get ready to Good enough, and the recipe', { timeout: 180_000 }, async (t) => {
  const rows = await phoneOf((ctx) => ({ ...ctx, gaps }));
  const { phone, page } = await atBench(rows);
  await tap(page, 'Balance the machine');
  await titled(page, 'Slide a card corner');
  let titles = [];
  const onFrame = async (p) => new URL(p.url()).pathname === '/';
  const taps = await counted(phone, async () => {
    titles = await through(page, well, onFrame);
  });
  t.diagnostic(`taps: ${taps} for a first balancing with its recipe (may be 30)`);
  assert.ok(taps <= 30, `${taps} taps: ${titles.join(' / ')}`);
  const [balancing] = await records(page, 'balancing');
  assert.equal(value(balancing, 'ended'), 'good-enough');
  assert.equal(value(balancing, 'work'), 'custom');
  const recipes = await records(page, 'recipe');
  assert.equal(recipes.length, 1);
  assert.equal(value(balancing, 'kept'), recipes[0].id);

  // The next one of the same quilt is one round: a screw and what follows from it until the lines are rated again.
  await tap(page, 'Balance the machine');
  await titled(page, 'Slide a card corner');
  const atNext = async (p) => (await p.locator('.task-screen[data-task=balance][data-step=next] h1').count()) > 0;
  // looks come before a knob: they are answered until a turn is what comes next
  const atTurn = async (p) => /^Top tension knob: (tighten|loosen) /.test((await titleOf(p)) ?? '');
  const loose = { 'Draw the top thread': 'Almost none', 'Stopped? Look at both faces': 'Top stands up on the back' };
  await through(page, { ...well, ...loose }, atTurn);
  const said = await titleOf(page);
  let round = [];
  const again = await counted(phone, async () => {
    let turned = false;
    round = await through(page, { ...well, 'Stopped? Look at both faces': 'Neither shows' }, async (p) => {
      if ((await titleOf(p)) !== said) turned = true;
      return turned && (await atNext(p));
    });
  });
  t.diagnostic(`taps: ${again} for a repeat round (may be 5): ${round.join(' / ')}`);
  assert.ok(again <= 5, `${again} taps: ${round.join(' / ')}`);
  assert.ok((await records(page, 'change')).length > 0, `a screw was turned: ${round.join(' / ')}`);
  assert.deepEqual(phone.errors, []);
});

/** A month of one-tap facts, none of them copied yet. */
const busy = (ctx) => ({
  ...ctx,
  events: Array.from({ length: 30 }, (_, i) => ({
    id: String(i).padStart(32, 'c'),
    at: ctx.now - (40 - i) * 3_600_000,
    by: '',
    type: i === 0 ? 'good' : 'new-bobbin',
  })),
});

test('a copy is asked for, a note is about something, and the own stitch stands beside a picture', {
  timeout: 120_000,
}, async () => {
  const { phone, page, url } = await atBench(await phoneOf(busy));
  const due = page.getByText(/^Only on this phone: \d\d things, and no copy yet\.$/);
  await due.waitFor();
  const [copy] = await Promise.all([page.waitForEvent('download'), tap(page, 'Save a copy')]);
  assert.match(copy.suggestedFilename(), /\.evenpull$/);
  await due.waitFor({ state: 'detached' });

  await page.goto(`${url}book`);
  await appStarted(page);
  await tap(page, 'New note');
  await titled(page, 'Note');
  await page.getByLabel('Write here').fill('Slow down at the points.');
  const about = (words) => page.getByRole('group', { name: 'About' }).getByLabel(words, { exact: true });
  for (const words of ['Long one', 'Blue dot', 'River stones', '40 polyester'])
    assert.ok(await about(words).isChecked());
  await about('60 polyester').tap();
  const [thread] = (await records(page, 'thread')).filter((r) => value(r, 'number') === '60');
  await until(
    'it is about the other thread',
    async () => value((await records(page, 'note'))[0], 'thread') === thread.id,
  );
  assert.ok(!(await about('40 polyester').isChecked()));
  await page.goto(`${url}book`);
  await appStarted(page);
  await page.getByLabel('Search notes').fill('blue do');
  await page.getByRole('link', { name: /^Slow down at the points/ }).tap();
  await titled(page, 'Note');
  await page.evaluate(() => scrollTo(0, 10_000));
  await until('the note is scrolled', () => page.evaluate(() => scrollY > 0));
  await page.getByRole('link', { name: 'Back to the Book' }).tap();
  await titled(page, 'Book');
  assert.equal(await page.evaluate(() => scrollY), 0, 'a screen begins at its top');

  await page.goto(url);
  await appStarted(page);
  await tap(page, 'What do you see?');
  await titled(page, 'What is it?');
  await page.getByText(/^Since it was last good: .*new bobbin 11 h ago, /).waitFor();
  await tap(page, 'On the top face');
  await titled(page, 'What shows on the top face?');
  await tap(page, 'Bobbin dots in the holes');
  await tap(page, 'Show the pictures');
  await titled(page, 'Which picture is it?');
  assert.equal(await page.evaluate(() => scrollY), 0, 'a step begins at its top, however far down the last one was');
  await page
    .getByText(/^Strong match/)
    .first()
    .waitFor();
  await tap(page, 'Compare your own stitch');
  await tap(page, 'Compare');
  await titled(page, 'Which of the two is it?');
  const buffer = await page.screenshot({ type: 'png' });
  await page.locator('input[type=file]').setInputFiles({ name: 'stitch.png', mimeType: 'image/png', buffer });
  const own = page.getByRole('img', { name: 'Your own stitch' });
  await until('the own stitch shows', async () => (await own.count()) > 0 && own.evaluate((i) => i.naturalWidth > 0));
  await page.locator('figure').filter({ hasNot: own }).getByRole('button').first().tap();
  await until('the path is kept', async () => (await records(page, 'symptom')).length === 1);
  const [[photo], [path]] = [await records(page, 'photo'), await records(page, 'symptom')];
  assert.equal(value(photo, 'parent'), path.id);
  assert.deepEqual(phone.errors, []);
});
