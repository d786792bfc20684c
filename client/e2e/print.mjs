// What the browser prints, measured in the PDF by poppler's tools: pages, words with their places, and the bar of 50 mm.
import { execFile } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { promisify } from 'node:util';
import { writeFilm } from './camera.mjs';

const run = promisify(execFile);
const mmPerPoint = 25.4 / 72;
const pxPerMm = 10;

/** Prints the page as the sheet's own style asks, to this file. */
export async function print(page, path) {
  await page.evaluate(() => document.fonts.ready);
  await page.pdf({ path, preferCSSPageSize: true });
}

/** [{ width, height, words: [{ text, x, y, tall }] }], one a page, in millimetres from the upper left corner; how tall its letters are in points. */
export async function read(path) {
  const { stdout } = await run('pdftotext', ['-bbox', path, '-']);
  const pages = stdout.split('<page ').slice(1);
  const mm = (text) => Number(text) * mmPerPoint;
  return pages.map((page) => {
    const [, width, height] = /^width="([\d.]+)" height="([\d.]+)"/.exec(page);
    const found = page.matchAll(/<word xMin="([\d.-]+)" yMin="([\d.-]+)" xMax="[\d.-]+" yMax="([\d.-]+)">([^<]*)</g);
    const words = [...found].map(([, x, y, end, text]) => ({
      text,
      x: mm(x),
      y: mm(y),
      tall: Number(end) - Number(y),
    }));
    return { width: mm(width), height: mm(height), words };
  });
}

/** How many photographs are on the pages. */
export async function photosIn(path) {
  const { stdout } = await run('pdfimages', ['-list', path]);
  return stdout.split('\n').filter((line) => / image /.test(line)).length;
}

/** Pictures of every page, as files. */
export async function pictures(path, { dpi = 150 } = {}) {
  const stem = path.replace(/\.pdf$/, '');
  await run('pdftoppm', ['-png', '-r', String(dpi), path, stem]);
  return filesOf(stem, '.png');
}

const filesOf = (stem, end) =>
  readdirSync(dirname(stem))
    .filter((f) => f.startsWith(`${basename(stem)}-`) && f.endsWith(end))
    .sort()
    .map((f) => join(dirname(stem), f));

/** The first page as a film of one still picture, for a browser whose camera is a file. */
export async function film(path) {
  const stem = path.replace(/\.pdf$/, '-film');
  await run('pdftoppm', ['-gray', '-r', '150', '-f', '1', '-l', '1', path, stem]);
  const { width, height, pixels } = grayOf(readFileSync(filesOf(stem, '.pgm')[0]));
  writeFilm(`${stem}.y4m`, { width, height, perSecond: 10 }, [pixels]);
  return `${stem}.y4m`;
}

/** The lengths in mm of all solid bars: dark, 1.5 to 2.5 mm thick, and 40 to 60 mm long. */
export async function bars(path) {
  const stem = path.replace(/\.pdf$/, '-gray');
  await run('pdftoppm', ['-gray', '-r', String(25.4 * pxPerMm), path, stem]);
  return filesOf(stem, '.pgm').flatMap((file) => barsOf(readFileSync(file)));
}

function grayOf(bytes) {
  const [head, width, height] = /^P5\s(\d+)\s(\d+)\s255\s/.exec(bytes.toString('latin1', 0, 40));
  return { width: Number(width), height: Number(height), pixels: bytes.subarray(head.length) };
}

function barsOf(bytes) {
  const { width, pixels } = grayOf(bytes);
  const rows = new Map(); // where a run begins and how long it is, with the rows that have it
  for (let at = 0; at < pixels.length; ) {
    if (pixels[at] > 127) {
      at++;
      continue;
    }
    const end = Math.ceil((at + 1) / width) * width;
    let to = at + 1;
    while (to < end && pixels[to] <= 127) to++;
    const long = to - at;
    if (long > 40 * pxPerMm && long < 60 * pxPerMm) {
      const key = `${at % width} ${long}`;
      rows.set(key, (rows.get(key) ?? 0) + 1);
    }
    at = to;
  }
  return [...rows]
    .filter(([, thick]) => thick >= 1.5 * pxPerMm && thick <= 2.5 * pxPerMm)
    .map(([key]) => Number(key.split(' ')[1]) / pxPerMm);
}
