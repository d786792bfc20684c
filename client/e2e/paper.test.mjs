// Sheets printed with the server gone and measured in the PDF, codes read back from pictures of them, and a machine handed over.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import test from 'node:test';
import { choose, tap, titled } from './hand.mjs';
import { appStarted, folder, go, openPhone, startServer, until, whole } from './harness.mjs';
import { bars, film, photosIn, pictures, print, read } from './print.mjs';
import { phoneOf } from './tasks.mjs';
import { at, field, oneAlone, put, records, value } from './workbench.mjs';

const near = (got, want, off, what) => assert.ok(Math.abs(got - want) <= off, `${what}: ${got}, not ${want}`);
const sizes = { a4: [210, 297], letter: [215.9, 279.4], card: [101.6, 152.4] }; // ISO 216, ANSI Y14.1, 4 x 6 in

const atBench = oneAlone();
/** Letters of 11.5 pt, as tall as this face has them: read at arm's length. Beside the bar and in the stitch they may be smaller. */
const legible = 13.9;
const maySmall = new Set('This bar is 50 mm long. If it is not, print again at 100 %. T B 5 mm'.split(' '));
const minute = 60_000;
const id = (n) => String(n).padStart(32, 'e');

/** A machine in the middle of a round, that was good before: there is something to say in every line. */
const rows = () =>
  phoneOf((ctx) => {
    const put = (n, minutesAgo, more) => ({ id: id(n), at: ctx.now - minutesAgo * minute, by: '', ...more });
    const { machine } = ctx;
    const { bobbinCase, bobbinThread: thread, bobbinKind, quilt } = ctx.bench;
    const [top, bobbin] = [`top:${machine}`, `bobbin:${bobbinCase}`];
    const place = { balancing: id(20), round: 2 };
    const drops = [40, 50, 55].map((tenthsIn) => ({ answer: 'right', tenthsIn }));
    const found = ['bobbin_look', 'case_seat', 'hook_look', 'needle_look', 'supply_look', 'threading_walk'];
    const states = ['fine', 'latched', 'clean', 'fine', 'fine', 'right'];
    return {
      ...ctx,
      bench: { ...ctx.bench, needle: '100', batting: 'Wolle, ½ dick' },
      changes: [
        put(1, 55, { screw: top, type: 'neutral', after: [] }),
        put(2, 54, { screw: bobbin, type: 'neutral', after: [] }),
        put(3, 30, { screw: top, type: 'move', minutes: 30, after: [id(1)] }),
        put(4, 29, { screw: bobbin, type: 'move', minutes: -5, after: [id(2)] }),
      ],
      readings: [
        put(5, 50, { type: 'drop', bobbinCase, thread, bobbinKind, fill: 'full', drops }),
        put(6, 27, { type: 'pull', answer: 'as_usual' }),
      ],
      events: [
        put(7, 53, { type: 'new-needle' }),
        put(8, 45, { type: 'good', bobbinCase }),
        put(9, 44, { type: 'new-bobbin', bobbinCase, quilt, thread }),
        put(10, 40, { type: 'new-bobbin', bobbinCase, quilt, thread }),
      ],
      balancings: [put(20, 31, { machine, quilt })],
      samples: [
        put(21, 20, {
          ...place,
          mode: 'manual',
          rays: [0, 180].map((d) => ({ direction: d, score: -1 })),
          allAlike: true,
        }),
      ],
      findings: [
        ...found.map((finding, i) => put(30 + i, 26 - i / 10, { finding, state: states[i], ...place })),
        put(40, 25, { finding: 'push_up', state: 'sags', ...place }),
      ],
      symptoms: [put(50, 24, { named: 5, answers: {} }), put(51, 23, { named: 7, answers: {}, corrects: id(50) })],
    };
  });

/** Chooses a paper, prints the sheet that is shown, and holds its pages and its bar to it. */
async function sheet(page, dir, name, paper, pages = 1) {
  await choose(page, 'paper', paper);
  await page.locator(`article.paper.${paper}-size`).waitFor();
  const path = join(dir, `${name}-${paper}.pdf`);
  await print(page, path);
  const found = await read(path);
  const what = `${name} on ${paper}`;
  assert.equal(found.length, pages, what);
  for (const p of found) {
    near(p.width, sizes[paper][0], 0.2, `width of ${what}`);
    near(p.height, sizes[paper][1], 0.2, `height of ${what}`);
  }
  const words = found.flatMap((p) => p.words.map((w) => w.text)).join(' ');
  const bar = await bars(path);
  assert.equal(bar.length, 1, `one bar on ${what}`);
  near(bar[0], 50, 0.2, `the bar on ${what}`);
  const small = found.flatMap((p) => p.words.filter((w) => w.tall < legible).map((w) => w.text));
  assert.deepEqual(
    [...new Set(small)].filter((word) => !maySmall.has(word)),
    [],
    `small on ${what}`,
  );
  return { path, words, pages: found };
}

test('each sheet is printed at its true size', { timeout: 180_000 }, async (t) => {
  const { phone, page, url } = await atBench(await rows());
  const dir = await folder(t);
  await at(page, url, '/paper', 'On paper');
  await page.getByRole('link', { name: 'Drop strip' }).tap();
  await titled(page, 'Drop strip');
  for (const [paper, pages] of [
    ['a4', 1],
    ['letter', 1],
    ['card', 2],
  ]) {
    const { pages: found, words } = await sheet(page, dir, 'strip', paper, pages);
    const y = (text) => found[0].words.find((w) => w.text === text && w.x < 50 && w.y > 30).y; // figures of the strip
    near(y('3') - y('1'), 50.8, 0.1, 'from 1 to 3 in');
    near(y('100') - y('50'), 50, 0.1, 'from 50 to 100 mm');
    if (paper !== 'card') near(y('6') - y('4'), 50.8, 0.1, 'from 4 to 6 in');
    if (paper !== 'card') near(y('150') - y('100'), 50, 0.1, 'from 100 to 150 mm');
    assert.match(words, /Drop strip: Blue dot, 60 polyester/);
    assert.match(words, /this case in band, 3\.7 in to 5\.8 in/);
  }
  for (const [i, [name, title, says]] of [
    ['bench', 'Bench card', /Bench card: Long one.*River stones.*40 polyester.*60 polyester.*Blue dot/],
    ['labels', 'Labels', /Blue dot.*Two notches/],
    ['star', 'Star', /Away.*Toward/],
    ['class', 'Class sheet', /Name and machine/],
  ].entries()) {
    await at(page, url, `/paper/${name}`, title);
    for (const paper of whole ? ['a4', 'letter', 'card'] : [['letter', 'card', 'card', 'a4'][i]]) {
      const { words } = await sheet(page, dir, name, paper);
      assert.match(words, says, name);
    }
  }
  assert.deepEqual(phone.errors, []);
});

test('a recipe and a label are read back from pictures of their print', { timeout: 180_000 }, async (t) => {
  const { phone, page, url } = await atBench(await rows());
  const dir = await folder(t);
  await at(page, url, '/book', 'Book');
  await tap(page, 'Keep what is set up as a recipe');
  await titled(page, 'River stones');
  await put(page, 'What to remember', 'Slower over the seams.');
  await until('the words are kept', async () => value((await records(page, 'recipe'))[0], 'text') !== undefined);
  const [recipe] = await records(page, 'recipe');
  await page.getByRole('link', { name: 'Print its card' }).tap();
  await titled(page, 'Print its card');
  await page.locator('article.paper svg.qr').waitFor();
  await page.getByRole('img', { name: /^Its last lines, bobbin dots on top,/ }).waitFor();
  for (const paper of whole ? ['a4', 'letter'] : []) await sheet(page, dir, 'recipe', paper);
  const { path, words } = await sheet(page, dir, 'recipe', 'card', 2);
  assert.match(words, /Recipe: River stones.*Its last lines Bobbin dots on top.*Slower over the seams\./);
  const [card] = await pictures(path);
  await at(page, url, '/paper/labels', 'Labels');
  await page.locator('article.paper svg.qr').first().waitFor();
  const labels = await sheet(page, dir, 'labels', 'a4');
  const [typed] = /[2-9A-HJKMNP-Z]{3} [2-9A-HJKMNP-Z]{3}(?= )/.exec(
    labels.words.slice(labels.words.indexOf('Two notches')),
  );

  const open = async (of, file) => {
    const name = typeof file === 'string' ? { files: file } : file;
    await of
      .locator('input[type=file]')
      .first()
      .setInputFiles(name.files ?? name);
  };
  // The phone that has it is told so; the label is found by its code as by its picture.
  await at(page, url, '/book/code', 'Read a code from paper');
  await open(page, card);
  await page.getByText('This recipe is here already.').waitFor();
  await open(page, (await pictures(labels.path))[0]);
  await page.getByRole('heading', { name: /^Bobbin case: (Blue dot|Two notches)$/ }).waitFor();
  await field(page, 'Six signs of a label').fill(typed.toLowerCase());
  await tap(page, 'Find it');
  await page.getByRole('heading', { name: 'Bobbin case: Two notches' }).waitFor();
  await tap(page, 'It is in this machine now');
  await page.getByText('It is in this machine, as the bench has it.').waitFor();
  for (const [wrong, sentence] of [
    ['7KM XW', 'This is no code of Evenpull.'],
    ['222222', 'No bobbin case of this studio has this label.'],
    ['https://lantern.example/7KMXW2', 'This is no code of Evenpull.'],
    ['EVENPULL RECIPE 1 00000000 {"n":"Night sky"}', 'This code is damaged or cut short'],
    ['EVENPULL RECIPE 9 00000000 {}', 'This card was printed by a newer Evenpull.'],
  ]) {
    await field(page, 'Six signs of a label').fill(wrong);
    await tap(page, 'Find it');
    await page.getByRole('alert').filter({ hasText: sentence }).waitFor();
    assert.equal(await field(page, 'Six signs of a label').inputValue(), wrong);
  }
  assert.equal((await records(page, 'recipe')).length, 1);

  // A phone of another studio, with the card before its camera, gets the whole of it from paper alone.
  const server = await startServer(t);
  const camera = ['--use-fake-ui-for-media-stream', '--use-fake-device-for-media-stream'];
  const other = await openPhone(t, { args: [...camera, `--use-file-for-fake-video-capture=${await film(path)}`] });
  await go(other.page, server.url);
  await tap(other.page, 'Start on this phone');
  await tap(other.page, 'That is its name');
  await titled(other.page, 'My machine');
  await at(other.page, server.url, '/book/code', 'Read a code from paper');
  await open(other.page, { name: 'wall.svg', mimeType: 'image/svg+xml', buffer: Buffer.from(blank) });
  await other.page.getByRole('alert').filter({ hasText: 'No code was found in this picture.' }).waitFor();
  await tap(other.page, 'Use the camera');
  await other.page.getByText('Its machine or bobbin case is none of this studio’s.').waitFor();
  await tap(other.page, 'Keep it');
  await titled(other.page, 'River stones');
  const [kept] = await records(other.page, 'recipe');
  assert.equal(kept.id, recipe.id);
  const carried = [
    ...['name', 'needle', 'batting', 'bobbinKind', 'fill', 'topMinutesFromFlush', 'bobbinMinutesHint'],
    ...['dropTenthsIn', 'score'],
  ];
  const values = (row) => Object.fromEntries(carried.map((f) => [f, value(row, f)]));
  assert.deepEqual(values(kept), {
    ...{ name: 'River stones', needle: '100', batting: 'Wolle, ½ dick', bobbinKind: 'pre-wound', fill: 'full' },
    ...{ topMinutesFromFlush: 30, bobbinMinutesHint: -5, dropTenthsIn: 50, score: -1 },
  });
  assert.deepEqual(values(kept), values(recipe));
  assert.equal(value(kept, 'text'), 'Slower over the seams.\nFrom paper, set on: Long one, Blue dot.');
  assert.equal(value(kept, 'machine'), undefined);
  const shelf = await records(other.page, 'thread');
  const thread = (part) => shelf.find((s) => s.id === value(kept, part));
  assert.deepEqual(
    ['number', 'fibre', 'colour'].map((f) => value(thread('topThread'), f)),
    ['40', 'polyester', '#113388'],
  );
  await other.page.reload();
  await appStarted(other.page);
  await titled(other.page, 'River stones');
  assert.deepEqual([...phone.errors, ...other.errors], []);
});

const blank = '<svg xmlns="http://www.w3.org/2000/svg" width="300" height="300"><path d="M20 20h90v200z"/></svg>';

test('a machine is handed over, taken, stopped and lifted', { timeout: 180_000 }, async (t) => {
  const { phone, page, url } = await atBench(await rows());
  const dir = await folder(t);
  await page.getByRole('link', { name: 'Hand over' }).tap();
  await titled(page, 'Hand over');
  await page.getByText('Nobody has said yet how this machine is.').waitFor();
  await choose(page, 'verdict', 'watch');
  await page.getByText('Say in a few words what to watch').waitFor();
  assert.ok(await page.getByRole('button', { name: 'Hand it over' }).isDisabled());
  await put(page, 'What to watch, or why not (needed unless it is good)', 'Frays at the <b>end</b> of a cone.');
  await put(page, 'Row of the quilt (optional)', '7 of 12');
  await choose(page, 'tight', 'drum');
  await page.reload();
  await appStarted(page);
  await tap(page, 'Hand it over');
  await page.getByText('Nobody has taken it yet.').waitFor();
  const upright = { x: 0, y: 0, width: 180, height: 320 };
  const photo = { name: 'good.png', mimeType: 'image/png', buffer: await page.screenshot({ clip: upright }) };
  await page.locator('input[type=file]').setInputFiles(photo);
  const shown = page.getByRole('img', { name: 'Photo of the good stitch' });
  await until('the photo shows', () => shown.evaluate((i) => i.naturalWidth > 0));
  const { words, path } = await sheet(page, dir, 'hand-over', 'letter');
  assert.equal(await photosIn(path), 1);
  assert.match(words, /Hand-over: Long one Watch it.*Frays at the .*end.* of a cone\. Said by me/);
  for (const line of [
    /Quilt and row River stones, row 7 of 12/,
    /How tight Tight as a drum/,
    /Needle 100, under an hour/,
    /Last good [^,]+, .*me/,
    /Top stands 30 on the clock \(half a turn\) tighter than neutral/,
    /Bobbin case stands Blue dot, 5 on the clock \(one hour mark\) looser than neutral/,
    /Last drop 5 in, drops right, full bobbin/,
    /Feel of the top thread Firm and smooth/,
    /Last lines Away: bobbin dots on top\. Toward: bobbin dots on top\./,
    /Open round Round 2 of a balancing that .* began/,
    /What was tried and 1 before that .*Walk the thread path with a finger\. All as it should be/,
    /What is due .*Brush hook and bobbin case\. Overdue: 2 bobbins since, due at 1\./,
  ])
    assert.match(words, line);

  const given = page.waitForEvent('download');
  await tap(page, 'Share as a file');
  const file = await given;
  assert.match(file.suggestedFilename(), /^evenpull-hand-over-\d{4}-\d\d-\d\d\.html$/);
  const html = readFileSync(await file.path(), 'utf8');
  assert.match(html, /Frays at the &lt;b&gt;end&lt;\/b&gt; of a cone\./);
  assert.doesNotMatch(html, /<script|https?:\/\/(?!www\.w3\.org)/);
  assert.match(html, /<img[^>]+src="data:image\/jpeg;base64,/);

  await at(page, url, '/', 'Long one');
  await page.getByText('Handed over by me: Watch it.').waitFor();
  await tap(page, 'What do you see?');
  await tap(page, 'On the top face');
  await tap(page, 'Bobbin dots in the holes');
  await tap(page, 'Show the pictures');
  await tap(page, 'Compare your own stitch');
  await tap(page, 'Compare');
  await page.locator('input[type=file]').setInputFiles(photo);
  const own = page.getByRole('img', { name: 'Your own stitch' });
  await own.waitFor();
  await page.locator('figure').filter({ hasNot: own }).getByRole('button').first().tap();
  await until('it is written', async () => (await records(page, 'symptom')).length === 3);
  await at(page, url, '/', 'Long one');
  await page.getByRole('link', { name: 'See the page' }).tap();
  await tap(page, 'I have it');
  await page.getByText('me has it').waitFor();

  await choose(page, 'verdict', 'stop');
  await put(page, 'What to watch, or why not (needed unless it is good)', 'It knocks.');
  await tap(page, 'Hand it over');
  await page.locator('article .first', { hasText: 'Do not run' }).waitFor();
  await choose(page, 'verdict', 'good');
  await page.getByText('This machine is marked “do not run”. Lift it first').waitFor();
  await choose(page, 'version', 'technician');
  await page.getByText('For the technician: Long one').waitFor();
  const seen = page.getByRole('img', { name: /^Bobbin dots on top/ });
  for (const img of [seen, shown]) await until('the photos show', () => img.evaluate((i) => i.naturalWidth > 0));
  const technician = await sheet(page, dir, 'technician', 'a4');
  assert.match(technician.words, /What happened.*Do not run: It knocks.*What was tried.*Tighten 30 on the clock/);
  assert.match(
    technician.words,
    /Top dots on the back, was something else \(.*Railroading on the back \(.*Bobbin dots on top/,
  );
  assert.equal(await photosIn(technician.path), 2, 'of the good stitch and of what was seen');
  // On cards it is more than one page; each is a card, nothing is cut off, and the bar is true.
  for (const [version, pages] of [
    ['technician', 3],
    ['taker', 3],
  ]) {
    await choose(page, 'version', version);
    const cards = await sheet(page, dir, `${version}-cards`, 'card', pages);
    assert.ok(
      cards.pages.every((p) => p.words.every((w) => w.x > 4 && w.y > 4 && w.y < 148)),
      'inside its edges',
    );
    for (const line of [/Do not run/, /It knocks/, /What was tried/]) assert.match(cards.words, line);
  }
  await choose(page, 'version', 'technician');
  await at(page, url, '/', 'Long one');
  await page.getByText('This machine is marked “do not run”: It knocks.').waitFor();
  await tap(page, 'Lift it, with a reason');
  const write = page.locator('main.task footer .main-act');
  const reason = page.locator('main.task textarea, main.task input').first();
  await reason.waitFor();
  assert.ok(await write.isDisabled(), 'not without a reason');
  await reason.fill('Belt replaced.');
  await write.tap();
  await titled(page, 'Long one');
  assert.equal(await page.getByText('This machine is marked “do not run”').count(), 0);
  const [lifted] = (await records(page, 'event')).filter((e) => value(e, 'type') === 'lifted');
  assert.equal(value(lifted, 'reason'), 'Belt replaced.');
  assert.deepEqual(phone.errors, []);
});
