// A whole first balancing by taps alone, from a phone that has nothing on it to the kept recipe, and the battery goes flat
// after every single tap (in the first tier, after every fourth): each time the phone comes back to the same screen, with
// the server gone.
import assert from 'node:assert/strict';
import test from 'node:test';
import { kept } from './database.mjs';
import { tap, well } from './hand.mjs';
import { go, offlineReady, openPhone, startServer, until, whole } from './harness.mjs';
import { drawn, same, shown, watched } from './screen.mjs';

/** What is done at each step, by its title: one tap after the other, and words that are typed; elsewhere the main act. */
const acts = {
  ...Object.fromEntries(Object.entries(well).filter(([, words]) => words)),
  'What do you call this machine?': [{ type: 'Long one' }, 'That is its name'],
  'What is the label': [{ type: 'Blue dot' }, 'Use this label'],
  'Phone at eye height': 'Finger-pad check', // what sound paces is killed step by step in the table of all steps
  'Case on your finger pads': 'Tips up and stays',
  'Is this machine on a frame': 'On a frame',
  'Which ways of sewing': ['Regulated', 'Manual', 'That is all it has'],
  'Keep this setting as a recipe?': [{ type: 'First light' }, 'Keep it'],
};

test('a first balancing, killed after every tap', { timeout: 1_200_000 }, async (t) => {
  const began = Date.now();
  const server = await startServer(t);
  const phone = await openPhone(t);
  await watched(phone);
  await go(phone.page, server.url);
  await offlineReady(phone.page);
  await server.stop();

  let kills = 0;
  let acted = 0;
  /** Acts, waits for what it comes to, ends the browser, opens it again, and holds screen and disk to what they were. */
  async function survives(what, act, done) {
    const before = await shown(phone.page);
    await act();
    const after = await until(`what follows "${what}"`, async () => {
      const now = await shown(phone.page).catch(() => undefined);
      return now && !same(now, before) && now.title !== '' && drawn(now) && (!done || (await done(now))) && now;
    });
    if (acted++ % 12 && !whole) return;
    const disk = rows(await phone.page.evaluate(kept));
    await phone.kill();
    kills++;
    await phone.reopen();
    await watched(phone);
    await go(phone.page, server.url + after.path.slice(1));
    await until(`the same screen after "${what}"`, async () => same(await shown(phone.page), after)).catch(async () => {
      assert.deepEqual(await shown(phone.page), after, `the screen after "${what}"`);
    });
    assert.deepEqual(rows(await phone.page.evaluate(kept)), disk, `the disk after "${what}"`);
    assert.deepEqual(phone.errors, []);
  }
  const main = () => phone.page.locator('main.task footer .main-act').tap();
  const type = (words) => phone.page.locator('main.task input[type=text]').fill(words);
  const isTyped = (words) => async (now) =>
    now.open && // what is typed can be used
    (await phone.page.evaluate(kept)).tasks.some(
      (k) => k.state.back?.data.text === words || k.state.data.text === words,
    );

  await survives('Start on this phone', () => tap(phone.page, 'Start on this phone'));
  const titles = [];
  for (let now = await shown(phone.page); now.path !== '/'; now = await shown(phone.page)) {
    titles.push(now.title);
    assert.ok(titles.length < 60, titles.join(' / '));
    const given = Object.entries(acts).find(([title]) => now.title.startsWith(title))?.[1];
    for (const one of [given].flat()) {
      if (!one) await survives(`the main act of "${now.title}"`, main);
      else if (one.type) await survives(`"${one.type}"`, () => type(one.type), isTyped(one.type));
      else await survives(one, () => tap(phone.page, one, 'main.task'));
    }
    if (titles.length === 1) await survives('Balance the machine', () => tap(phone.page, 'Balance the machine'));
  }
  const { records } = await phone.page.evaluate(kept);
  const values = (kind, field) => records.filter((r) => r.kind === kind).map((r) => r.fields[field]?.live[0]?.value);
  assert.deepEqual(values('machine', 'name'), ['Long one']);
  assert.deepEqual(values('machine', 'body'), ['frame']);
  assert.deepEqual(values('machine', 'modes'), [['regulated', 'manual']]);
  assert.deepEqual(values('bobbinCase', 'label'), ['Blue dot']);
  assert.deepEqual(values('balancing', 'ended'), ['good-enough']);
  assert.deepEqual(values('recipe', 'name'), ['First light']);
  t.diagnostic(`figure: ${kills} kills in ${((Date.now() - began) / 1000).toFixed(0)} s: ${titles.join(' / ')}`);
});

/** What is on the disk, but for when it was last looked at. */
function rows({ records, tasks }) {
  const plain = (v) => JSON.parse(JSON.stringify(v, (key, x) => (key === 'touchedAt' ? undefined : x)));
  const byId = (a, b) => (`${a.kind}${a.id}` < `${b.kind}${b.id}` ? -1 : 1);
  return { records: plain(records).sort(byId), tasks: plain(tasks) };
}
