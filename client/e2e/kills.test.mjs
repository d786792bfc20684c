// At every step of every task the phone dies right after a tap. Opened again, with the server gone, it stands on the same
// step with the same readings and the same typed words. Every step has its row; the first tier goes through a part of them.
import assert from 'node:assert/strict';
import test from 'node:test';
import { fill, kept } from './database.mjs';
import { appStarted, go, offlineReady, openPhone, part, startServer, until } from './harness.mjs';
import { same, shown, watched } from './screen.mjs';
import { places, plainly } from './tasks.mjs';

/** Phones at work at once: one a core. */
const lanes = 2;

test('killed at every step of every task', { timeout: 1_200_000 }, async (t) => {
  const began = Date.now();
  const [server, table] = await Promise.all([startServer(t), places()]);
  const found = new Set(table.places.map((p) => p.name));
  assert.deepEqual(
    table.steps.filter((s) => !found.has(s)),
    [],
    'every step has a way to it',
  );
  const phones = await Promise.all(Array.from({ length: lanes }, () => openPhone(t)));
  for (const phone of phones) {
    await watched(phone);
    await go(phone.page, server.url);
    await offlineReady(phone.page);
  }
  await server.stop();

  const tried = part(table.places, 50, (p) => p.action.do === 'type' || p.before.length > 0);
  const left = [...tried];
  const seen = new Map();
  async function lane(phone) {
    for (let place = left.shift(); place; place = left.shift()) {
      try {
        const before = await tapAndDie(phone, server.url, place);
        await phone.reopen();
        await watched(phone);
        await phone.page.goto(`${server.url}${before.path.slice(1)}`);
        await appStarted(phone.page);
        const after = await until('the same screen is there again', async () => {
          const now = await shown(phone.page);
          return now.title !== '' && (settled(place, now, before) || Date.now() > phone.since + 30_000)
            ? now
            : undefined;
        });
        const done = await phone.page.evaluate(() => document.querySelector('.done-line')?.textContent);
        seen.set(place.name, {
          before,
          after,
          done,
          kept: await phone.page.evaluate(kept),
          errors: phone.errors.splice(0),
        });
      } catch (e) {
        seen.set(place.name, { failed: e });
        if (phone.page.isClosed()) await watched(await phone.reopen().then(() => phone));
        if (!phone.page.url().startsWith(server.url)) await go(phone.page, server.url);
      }
    }
  }
  await Promise.all(phones.map(lane));

  for (const place of tried) await t.test(place.name, () => holds(place, seen.get(place.name)));
  t.diagnostic(
    `figure: ${seen.size} of ${table.steps.length} steps killed and opened again in ${((Date.now() - began) / 1000).toFixed(0)} s`,
  );
});

/** What is asked after a cut run stands there, or the screen is what it was. */
const settled = (place, now, before) =>
  place.expected.state?.asking ? same(namesOf(now), [...place.asks].sort()) : same(now, before);
const namesOf = (seen) =>
  seen.controls
    .map((c) => c.split('|')[0])
    .filter((name) => !name.startsWith('?')) // the help of the step
    .sort();

/** Puts the phone there, taps, and ends the browser as soon as the screen has answered. Gives what the screen showed. */
async function tapAndDie(phone, url, place) {
  const { page } = phone;
  const words = place.action.text;
  const task = place.rows.tasks[0];
  task.touchedAt = task.state.touchedAt = Date.now(); // away for no time at all
  await page.evaluate(fill, place.rows);
  await page.goto(`${url}task`);
  for (const one of place.before) await press(page, one.label);
  const button = await ready(page, place);
  const was = await shown(page);
  if (words !== undefined) await button.fill(words);
  else await button.tap();
  const answered = await page.waitForFunction(
    ([old, words]) => {
      const now = window.evenpullScreen();
      if (words !== undefined) return now.fields.includes(words) && now.open && now;
      // a part that is read with its first use is there
      const drawn = !now.waits && now.controls.some((c) => !/^(Leave|Back|\?)/.test(c));
      return JSON.stringify(now) !== old && drawn && now;
    },
    [JSON.stringify(was), words],
    { polling: 'raf', timeout: 20_000 },
  );
  const before = await answered.jsonValue();
  if (words !== undefined) await until('the words are kept', async () => same(await typedWords(page), [words]), 10_000);
  await phone.kill();
  phone.since = Date.now();
  return before;
}

const startsWith = (label) => new RegExp(`^${label.replace(/[.*+?^${}()|[\]\\]/g, '\\$&')}`);

async function ready(page, { label, action }) {
  const control =
    action.do === 'type' ? page.getByLabel(label) : page.getByRole('button', { name: startsWith(label) }).first();
  await control.waitFor({ timeout: 20_000 });
  return control;
}

async function press(page, label) {
  await page
    .getByRole('button', { name: startsWith(label) })
    .first()
    .tap({ timeout: 20_000 });
}

/** What is typed into the open task, as it is on the disk. */
async function typedWords(page) {
  const { tasks } = await page.evaluate(kept);
  return tasks.map((t) => t.state.data.text);
}

/** Screen, task and records are what they were and what the engine says. */
function holds(place, seen) {
  if (seen.failed) throw seen.failed;
  assert.equal(place.expected.refused, false, 'the engine takes the tap');
  // What sound paced is never taken up by itself: it asks first. All else is as it was.
  const asked = namesOf(seen.after);
  if (place.expected.state?.asking) assert.deepEqual(asked, [...place.asks].sort());
  else assert.deepEqual(seen.after, seen.before, 'the screen is the same');
  assert.equal(seen.done ?? undefined, place.done, 'one line says what was done before');
  assert.deepEqual(seen.errors, []);
  const { known, expected } = place;
  const states = seen.kept.tasks.map((r) => r.state);
  assert.deepEqual(
    plainly(states, known),
    plainly(expected.state ? [expected.state] : [], known),
    'the task is the same',
  );
  assert.deepEqual(written(place, seen.kept.records), wanted(expected.drafts, known), 'the records are there');
  if (place.action.text !== undefined) assert.ok(JSON.stringify(states).includes(JSON.stringify(place.action.text)));
}

const line = (kind, field, value, known) => JSON.stringify(plainly([kind, field, value], known));

/** Every value that is on the disk now and was not before. */
function written({ rows, known }, records) {
  const values = (r) =>
    Object.entries(r.fields).flatMap(([f, { live }]) => live.map((v) => [v.dot, line(r.kind, f, v.value, known)]));
  const old = new Set(rows.records.flatMap(values).map(([dot]) => dot));
  return records
    .flatMap(values)
    .filter(([dot]) => !old.has(dot))
    .map(([, text]) => text)
    .sort();
}

function wanted(drafts, known) {
  return drafts.flatMap((d) => Object.entries(d.set).map(([field, value]) => line(d.kind, field, value, known))).sort();
}
