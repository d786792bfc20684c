// The verdict on a drop test reads the ledger: the same three drops lead to two different next acts.
import assert from 'node:assert/strict';
import test from 'node:test';
import { browser } from './browser.mjs';
import { fill, kept } from './database.mjs';
import { tap, titled, titleOf } from './hand.mjs';
import { go, openPhone, startServer, until } from './harness.mjs';
import { phoneOf } from './tasks.mjs';

const minute = 60_000;
const id = (n) => String(n).padStart(32, 'e');
const bobbinOf = (ctx) => `bobbin:${ctx.bench.bobbinCase}`;

/** In band half an hour ago, with this thread in this case. */
const inBand = (ctx) => ({
  ...ctx,
  gaps: { pickUpS: 0, holdS: 2, quietS: 2 },
  readings: [
    {
      id: id(1),
      at: ctx.now - 30 * minute,
      by: '',
      type: 'drop',
      bobbinCase: ctx.bench.bobbinCase,
      thread: ctx.bench.bobbinThread,
      bobbinKind: ctx.bench.bobbinKind,
      fill: 'full',
      drops: [{ answer: 'right' }, { answer: 'right' }, { answer: 'right' }],
    },
  ],
});

/** And the case screw was turned since. */
const turnedSince = (ctx) => {
  const known = inBand(ctx);
  const move = { screw: bobbinOf(ctx), type: 'move', minutes: 5, after: [] };
  return { ...known, changes: [{ id: id(2), at: ctx.now - 10 * minute, by: '', ...move }] };
};

/** Three drops that fall short, all by taps. Gives what the result says, and where its main act leads. */
async function shortDrops(t, url, rows) {
  const phone = await openPhone(t, { browser });
  const { page } = phone;
  await go(page, url);
  await page.evaluate(fill, rows);
  await go(page, url);
  await tap(page, 'Drop test');
  await titled(page, 'Phone at eye height');
  await tap(page, 'Start');
  await titled(page, 'What did each drop do?');
  for (const drop of ['Drop 1', 'Drop 2', 'Drop 3']) {
    const row = page.getByRole('region', { name: drop });
    await row.getByRole('button', { name: 'Short', exact: true }).tap();
    await row.locator('button[aria-pressed=true]', { hasText: 'Short' }).waitFor();
  }
  await page.locator('main.task footer .main-act').tap();
  await page.getByText('Too tight').first().waitFor();
  const verdict = await page.locator('main.task').textContent();
  const title = await titleOf(page);
  await tap(page, 'Do this next');
  const next = await until('the next step', async () => {
    const now = await titleOf(page);
    return now === title ? undefined : (now ?? 'Frame');
  });
  const { records } = await page.evaluate(kept);
  const readings = records
    .filter((r) => r.kind === 'reading')
    .map((r) => r.fields.drops.live[0].value.map((d) => d.answer));
  assert.ok(readings.some((r) => r.join() === 'short,short,short'));
  assert.deepEqual(phone.errors, []);
  return { title, verdict, next };
}

test('the same drops, two next acts, by the ledger alone', { timeout: 120_000 }, async (t) => {
  const server = await startServer(t);
  const drops = async (change) => shortDrops(t, server.url, await phoneOf(change));
  const [nobody, turned] = await Promise.all([drops(inBand), drops(turnedSince)]); // each waits for its own tones
  t.diagnostic(`figure: nobody turned it: "${nobody.title}" then "${nobody.next}"`);
  t.diagnostic(`figure: turned since: "${turned.title}" then "${turned.next}"`);
  assert.match(nobody.next, /^Slide a card corner/, 'first what has nothing to do with the screw');
  assert.doesNotMatch(nobody.verdict, /loosen|tighten/i);
  assert.notEqual(turned.title, nobody.title);
  assert.doesNotMatch(turned.next, /^Slide a card corner/);
  assert.match(`${turned.verdict} ${turned.next}`, /turn|loosen/i);
});

/** And a case of another machine, which was turned too. */
const besides = (ctx) => {
  const known = turnedSince(ctx);
  const other = id(8);
  const move = {
    screw: `bobbin:${id(9)}`,
    type: 'move',
    minutes: 5,
    after: [],
    id: id(3),
    at: ctx.now - minute,
    by: '',
  };
  return {
    ...known,
    machines: [...ctx.machines, { id: other, at: 0, by: '', name: 'Window seat' }],
    bobbinCases: [...ctx.bobbinCases, { id: id(9), at: 0, by: '', label: 'Red ring', fits: [other] }],
    changes: [...known.changes, move],
  };
};

test('a line of the ledger is turned back once, and only the cases of this machine are there', {
  timeout: 60_000,
}, async (t) => {
  const server = await startServer(t);
  const phone = await openPhone(t, { browser });
  const { page } = phone;
  await go(page, server.url);
  await page.evaluate(fill, await phoneOf(besides));
  await go(page, `${server.url}changes`);
  await page.getByText('Tighten 5 on the clock').first().waitFor();
  assert.doesNotMatch((await page.locator('main').textContent()) ?? '', /Red ring/);
  const back = page.getByRole('button', { name: 'I turned it back' });
  assert.equal(await back.count(), 1);
  await back.tap();
  await page.getByText('turned back', { exact: true }).waitFor();
  assert.equal(await back.count(), 1, 'the turning back can be turned back, the move not again');
  await page.locator('li', { hasText: 'Turned back:' }).getByRole('button', { name: 'I turned it back' }).waitFor();
  const { records } = await page.evaluate(kept);
  const minutes = records.filter((r) => r.kind === 'change').map((r) => r.fields.minutes?.live[0]?.value);
  assert.deepEqual(minutes.sort(), [-5, 5, 5]);
  assert.deepEqual(phone.errors, []);
});
