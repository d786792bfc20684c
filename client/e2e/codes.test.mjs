// A station's card from its print; a whole studio from one phone's screen through the camera of another, with no server: blur, noise, rotation, looks that
// were lost, a code of somebody else's, and a tab that was closed half way.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import test from 'node:test';
import { encodeQR } from 'qr';
import { browser } from './browser.mjs';
import { cameraIs, look, seeded, writeFilm } from './camera.mjs';
import { fill, kept } from './database.mjs';
import { choose, tap, titled } from './hand.mjs';
import { appStarted, folder, go, openPhone, startServer, until, whole } from './harness.mjs';
import { pictures, print, read } from './print.mjs';
import { phoneOf } from './tasks.mjs';
import { alone, at, field } from './workbench.mjs';

const id = (n) => String(n).padStart(32, 'd');
const minute = 60_000;
/** A book of so many ops: what `phoneOf` sets up, the rest turns and drops of an evening. */
const bookOf = (ops) =>
  phoneOf((ctx) => {
    const { machine } = ctx;
    const { bobbinCase, bobbinThread: thread, bobbinKind } = ctx.bench;
    const screw = `bobbin:${bobbinCase}`;
    const row = (n, more) => ({ id: id(n), at: ctx.now - (ops - n) * minute, by: '', ...more });
    const random = seeded(ops);
    const some = (n) => Math.floor(random() * n);
    const turned = [row(0, { screw, type: 'neutral', after: [] })];
    const read = [];
    for (let n = 1; n < ops - upfront; n++) {
      if (n % 3 === 0) turned.push(row(n, { screw, type: 'move', minutes: 1 + some(9), after: [turned.at(-1).id] }));
      else {
        const drops = [0, 1, 2].map(() => ({ answer: 'right', tenthsIn: 30 + some(30) }));
        read.push(row(n, { type: 'drop', machine, bobbinCase, thread, bobbinKind, fill: 'full', drops }));
      }
    }
    return { ...ctx, changes: turned, readings: read };
  });
const upfront = 7; // the machine, two cases, two threads, a quilt and the bench

/** The codes that the screen shows, one after the other, each as rows of 0 and 1, until all of them were seen. */
const filmed = (page, count) =>
  page.evaluate(async (count) => {
    const canvas = document.querySelector('.code-run canvas');
    const seen = new Map();
    let [last, changes] = ['', 0];
    const begun = performance.now();
    while (seen.size < count) {
      await new Promise(requestAnimationFrame);
      const { width } = canvas;
      if (width !== canvas.height) continue; // nothing is drawn yet
      const { data } = canvas.getContext('2d').getImageData(0, 0, width, width);
      const rows = Array.from({ length: width }, (_, y) =>
        Array.from({ length: width }, (_, x) => (data[4 * (y * width + x)] ? 0 : 1)),
      );
      const now = rows.join();
      if (now === last) continue;
      seen.set(now, rows);
      [last, changes] = [now, changes + 1];
    }
    return { codes: [...seen.values()], perSecond: (1000 * (changes - 1)) / (performance.now() - begun) };
  }, count);

const [px, looks, codesPerSecond] = [400, 3, 4.5];

/**
 * What the camera of the other phone gets: the run twice, `looks` a code, of which the first is half the code before; one
 * code of seven is missed, each time another; somebody else's code comes into the picture; the phone turns in the hand.
 */
function* camera(codes, foreign) {
  const random = seeded(7);
  let before = foreign;
  for (const [round, missed] of [3, 5].entries())
    for (const [n, cells] of [...codes, foreign].entries()) {
      const degrees = 15 * Math.sin(n / 3) + (n % 11 === 5 ? 90 : 0) + 7 * round;
      for (let nth = 0; nth < looks; nth++)
        yield n % 7 === missed
          ? Buffer.alloc(px * px, 120)
          : look(cells, { px, degrees, random, under: nth === 0 ? before : undefined });
      before = cells;
    }
}

/** What a copy of this phone holds, line by line, but for its head with its time and its foot. */
async function copyOf(page) {
  await page.getByRole('link', { name: 'Back to People & copies' }).tap();
  await titled(page, 'People');
  const saved = page.waitForEvent('download');
  await tap(page, 'Save a copy');
  const lines = readFileSync(await (await saved).path(), 'utf8').split('\n');
  return lines.slice(1, -2);
}

const keptCodes = async (page) => (await page.evaluate(kept)).meta.filter((m) => String(m.key).startsWith('code '));

async function handedOver(t, ops) {
  const rows = await bookOf(ops);
  assert.equal(rows.outbox.length, ops, 'ops in the book');
  const server = await startServer(t);
  const giver = await openPhone(t, { browser });
  await go(giver.page, server.url);
  await giver.page.evaluate(fill, rows);
  await at(giver.page, server.url, '/codes/show', 'Show this studio as codes');
  const count = Number(/^\d+/.exec(await giver.page.getByText(/^\d+ codes, about/).textContent())[0]);
  await giver.page.getByText('The picture flickers four to five times a second.').waitFor();
  await tap(giver.page, 'Start showing');
  const file = join(await folder(t), 'run.y4m'); // opened with the camera
  const [{ codes, perSecond }, { phone, page }] = await Promise.all([
    filmed(giver.page, count),
    alone(t, { args: cameraIs(file) }),
  ]);
  t.diagnostic(`figure: ${ops} ops as ${count} codes, ${perSecond.toFixed(1)} shown a second`);
  await tap(giver.page, 'Pause');
  await tap(giver.page, 'Go on');
  await tap(giver.page, 'Stop');
  const had = await copyOf(giver.page);
  assert.equal(had.length, rows.records.length);
  await at(giver.page, server.url, '/codes', 'Read a studio from codes'); // this browser has no camera
  await tap(giver.page, 'Use the camera');
  await giver.page.getByText('The camera can’t be used here. Allow it for this page').waitFor();

  const foreign = encodeQR('https://lantern.example/', 'raw', { ecc: 'medium', border: 4 }).map((r) => r.map(Number));
  writeFilm(file, { width: px, height: px, perSecond: codesPerSecond * looks }, camera(codes, foreign));
  await page.getByRole('link', { name: 'Read another phone’s codes' }).tap();
  await titled(page, 'Read a studio from codes');
  await page.getByText('The picture flickers four to five times a second.').waitFor();
  let begun = Date.now();
  await tap(page, 'Use the camera');
  const bar = page.locator('progress');
  const here = () => bar.evaluate((p) => p.value);
  await until('half of it', async () => (await bar.count()) > 0 && (await here()) >= count / 2);
  let took = Date.now() - begun;
  assert.equal(await bar.evaluate((p) => p.max), count);
  await page.reload();
  await appStarted(page);
  await page.getByRole('button', { name: 'Go on reading' }).waitFor();
  assert.ok((await here()) >= count / 2, 'what was read is kept');
  begun = Date.now();
  await tap(page, 'Go on reading');
  await page.getByText('It becomes this phone’s studio.').waitFor({ timeout: 60_000 + 2_000 * count }); // a few times round
  took += Date.now() - begun;
  await page.getByText('This copy of “Long one”, made on').waitFor();
  t.diagnostic(`figure: a book of ${ops} ops was read by camera in ${(took / 1000).toFixed(1)} s`);
  assert.equal((await keptCodes(page)).length, count);
  await tap(page, 'Throw away what was read');
  await tap(page, 'Keep it');
  await tap(page, 'Leave it');
  await page.getByRole('link', { name: 'Read another phone’s codes' }).tap();
  await page.getByText('This copy of “Long one”, made on').waitFor(); // nothing of it is lost
  await tap(page, 'Bring it in');
  await page.getByText(`${had.length} records opened.`).waitFor();
  assert.equal((await keptCodes(page)).length, 0);
  await page.getByRole('button', { name: 'Read another one' }).waitFor();
  assert.deepEqual(await copyOf(page), had);
  assert.deepEqual([...giver.errors, ...phone.errors], []);
}

test('a book of 60 ops arrives complete by camera', { timeout: 180_000 }, (t) => handedOver(t, 60));

if (whole) test('a book of 600 ops arrives complete by camera', { timeout: 600_000 }, (t) => handedOver(t, 600));

test('a station’s card is read from its print, and goes on the board', { timeout: 180_000 }, async (t) => {
  const server = await startServer(t);
  const student = await openPhone(t, { browser });
  await go(student.page, server.url);
  await student.page.evaluate(fill, await bookOf(12));
  await at(student.page, server.url, '/hand-over/station', 'Hand over');
  await field(student.page, 'Station number in the class (optional)').fill('61');
  await student.page.getByText('A number from 1 to 60.').waitFor();
  await field(student.page, 'Station number in the class (optional)').fill('4');
  await student.page.locator('article.paper svg.qr').waitFor();
  await choose(student.page, 'paper', 'card');
  await student.page.locator('article.paper.card-size').waitFor();
  const path = join(await folder(t), 'station.pdf');
  await print(student.page, path);
  const pages = await read(path);
  assert.equal(pages.length, 1);
  const words = pages[0].words.map((w) => w.text).join(' ');
  assert.match(
    words,
    /Station card: Long one.*How it stands Waiting\. As it stood .*Bobbin case Blue dot.*Last drop .*Top, from flush/,
  );

  const teacher = await openPhone(t, { browser });
  const { page } = teacher;
  await go(page, server.url);
  await tap(page, 'Start on this phone');
  await tap(page, 'That is its name');
  await titled(page, 'My machine');
  await at(page, server.url, '/class', 'Class');
  await tap(page, 'Start a class of 15');
  await titled(page, 'Class of');
  await page.getByRole('link', { name: 'Read a station’s card' }).tap();
  await titled(page, 'Read a code from paper');
  for (const [code, sentence] of [
    ['EVENPULL STATION 1 00000000 {"w":"good"}', 'This card came damaged, and nothing was taken from it.'],
    ['EVENPULL RUN 1 000', 'This is one code of a whole studio.'],
  ]) {
    await field(page, 'Six signs of a label').fill(code);
    await tap(page, 'Find it');
    await page.getByRole('alert').filter({ hasText: sentence }).waitFor();
  }
  await page
    .locator('input[type=file]')
    .first()
    .setInputFiles((await pictures(path))[0]);
  await page.getByRole('heading', { name: 'Station 4, Long one' }).waitFor();
  for (const line of ['Blue dot', /^Waiting\. As it stood /]) await page.getByText(line).waitFor();
  await tap(page, 'Put it on the board: Station 4');
  await titled(page, 'Class of');
  await page.getByText('1 of 15 seen, 0 good').waitFor();
  assert.match(await page.getByRole('region', { name: 'Station 4' }).getByRole('link').textContent(), /Waiting/);
  assert.deepEqual([...student.errors, ...teacher.errors], []);
});
