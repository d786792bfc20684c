// A class hour on the teacher's phone alone: fifteen stations, no signal, and a flat battery in the middle of it.
import assert from 'node:assert/strict';
import test from 'node:test';
import { fill, kept } from './database.mjs';
import { counted, tap, titled } from './hand.mjs';
import { axe, go, offlineReady, openPhone, startServer, until } from './harness.mjs';
import { phoneOf } from './tasks.mjs';

const minute = 60_000;
/** What the hour brings: minute, station, state, and the step that was given. */
const hour = [
  ...[1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15].map((n) => [n, n, 'Waiting']),
  [16, 13, 'Stop'],
  [18, 1, 'Step', 'Card under the case spring'],
  [20, 2, 'Good'],
  [22, 3, 'Step', 'New needle'],
  [24, 4, 'Step', 'Card under the case spring'],
  [26, 9, 'Step', 'Card under the case spring'],
];
const words = (page) => page.locator('main').textContent();
const tops = (page) =>
  page.locator('.station').evaluateAll((all) => all.map((s) => s.getAttribute('aria-label')?.replace('Station ', '')));

test('an hour of fifteen stations', { timeout: 180_000 }, async (t) => {
  const server = await startServer(t);
  const phone = await openPhone(t, { options: { bypassCSP: true } });
  const began = Date.now();
  const at = (minutes) => phone.page.clock.setFixedTime(began + minutes * minute);
  await go(phone.page, server.url);
  await phone.page.evaluate(fill, await phoneOf());
  await go(phone.page, `${server.url}book`);
  await offlineReady(phone.page);
  await server.stop();

  const making = await counted(phone, async () => {
    await phone.page.getByRole('link', { name: /^A class/ }).tap();
    await tap(phone.page, 'Start a class of 15');
    await titled(phone.page, 'Class of');
  });
  assert.equal(making, 2);

  let taps = 0;
  const visit = async ([minutes, n, state, step]) => {
    await at(minutes);
    taps += await counted(phone, async () => {
      const station = phone.page.getByRole('region', { name: `Station ${n}`, exact: true });
      await station
        .getByRole('button', { name: `${state === 'Waiting' ? 'Wait' : state}, Station ${n}`, exact: true })
        .tap();
      if (step) await station.getByRole('button', { name: step, exact: true }).tap();
      const said = step ?? state;
      await station.getByText(said).first().waitFor();
      if (!step) await station.locator('button[aria-pressed=true]').waitFor();
    });
  };
  for (const v of hour.slice(0, 17)) await visit(v);
  assert.deepEqual(await tops(phone.page), ['13', ...[1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 14, 15].map(String)]);

  const board = phone.page.url();
  await until('the last visit is on disk', async () => {
    const { records } = await phone.page.evaluate(kept);
    return records.filter((r) => r.kind === 'visit').length === 17;
  });
  await phone.kill();
  await phone.reopen();
  await at(17);
  await go(phone.page, board);
  await phone.page.getByText('15 of 15 seen').waitFor();
  await counted(phone, () => tap(phone.page, 'Step, Station 2'));
  assert.deepEqual(await axe(phone.page), []);
  await counted(phone, () => tap(phone.page, 'Step, Station 2')); // closed again
  assert.match((await words(phone.page)) ?? '', /Power off\. Nobody sews/);

  for (const v of hour.slice(17, -1)) await visit(v);
  assert.doesNotMatch((await words(phone.page)) ?? '', /Tell everyone/);
  await visit(hour.at(-1));
  await phone.page.getByText('Three stations or more: Card under the case spring. Tell everyone.').waitFor();
  assert.doesNotMatch((await words(phone.page)) ?? '', /Back now/);
  await at(34);
  await phone.page.reload();
  await phone.page.getByText('Back now to 1, 3, 4', { exact: true }).waitFor();

  const visits = hour.length;
  const steps = hour.filter(([, , , step]) => step).length;
  t.diagnostic(`taps: ${making} to make a class, ${taps} for ${visits} visits with ${steps} steps given`);
  assert.equal(taps, visits + steps, 'one tap for the state, one for the step');

  const book = phone.page.getByRole('region', { name: 'Station 13', exact: true });
  await book.getByRole('link', { name: /^13/ }).tap();
  await titled(phone.page, 'Station 13');
  await phone.page.getByLabel('What you saw here').fill('Ticks at the hook');
  await phone.page.getByLabel('What you saw here').blur();
  await tap(phone.page, 'Take back'); // the stop was a wrong tap
  await phone.page.getByText('Removed.', { exact: true }).waitFor();
  await phone.page.getByRole('link', { name: 'Back to the board' }).tap();
  await phone.page.getByText('15 of 15 seen').waitFor();
  assert.equal((await tops(phone.page))[0], '1', 'nothing stops any more');
  const { records } = await phone.page.evaluate(kept);
  const station = records.find((r) => r.fields.number?.live[0]?.value === 13);
  assert.equal(station.fields.text.live[0].value, 'Ticks at the hook');
  assert.deepEqual(phone.errors, []);
});
