// Every pair of the 31 symptoms can be told apart at 96 px, in colour and in grey: at least 4 % of the pixels of their
// pictures differ by more than 10 in CIEDE2000.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';
import { browser } from './browser.mjs';
import { desk, openPhone } from './harness.mjs';
import { sources } from './tasks.mjs';

const leastShare = 0.04;
const leastDistance = 10;
const size = 96;

/** The 31 pictures as the app draws them, in the app's own sheet; and the pixels of each, four bytes a pixel. */
async function drawn(t, { stitchSymptoms, stitchView, asText, h }) {
  const { stitchOfSymptom } = stitchSymptoms;
  const symptoms = [...stitchOfSymptom.keys()];
  const picture = (n) => asText.asText(h(stitchView.StitchView, { params: stitchOfSymptom.get(n), label: '', size }));
  const sheet = ['styles/tokens', 'ui/stitch-view'].map((f) => readFileSync(`client/src/${f}.css`, 'utf8')).join('\n');
  const { page } = await openPhone(t, { browser, look: desk });
  await page.setContent(
    `<style>${sheet} body { margin: 0; background: var(--paper) }</style>${symptoms.map(picture).join('')}`,
  );
  const boxes = await page.evaluate(() =>
    [...document.querySelectorAll('body > svg')].map((e) => {
      const { x, y, width, height } = e.getBoundingClientRect();
      return [x, y, width, height].map(Math.round);
    }),
  );
  const png = (await page.screenshot({ fullPage: true })).toString('base64');
  const pixels = await page.evaluate(
    async ([png, boxes]) => {
      const image = await createImageBitmap(await (await fetch(`data:image/png;base64,${png}`)).blob());
      const canvas = new OffscreenCanvas(image.width, image.height).getContext('2d');
      canvas.drawImage(image, 0, 0);
      return boxes.map((box) => new Uint8Array(canvas.getImageData(...box).data.buffer).toBase64());
    },
    [png, boxes],
  );
  return new Map(symptoms.map((n, i) => [n, Buffer.from(pixels[i], 'base64')]));
}

/** The share of pixels that are seen to differ. */
function shareApart(a, b, distance) {
  let apart = 0;
  for (let i = 0; i < a.length; i++) if (a[i] !== b[i] && distance(a[i], b[i]) > leastDistance) apart++;
  return apart / a.length;
}

/** Every pixel as one number, what is compared. `ink` makes it of the bytes and the place of its first. */
const inks = (bytes, ink) => Uint32Array.from({ length: bytes.length / 4 }, (_, i) => ink(bytes, 4 * i));
const colour = (bytes, i) => (bytes[i] << 16) | (bytes[i + 1] << 8) | bytes[i + 2];

test('every pair of symptoms is told apart at 96 px', { timeout: 300_000 }, async (t) => {
  const src = await sources();
  const pictures = await drawn(t, src);
  const { ciede2000, labOf, linear } = src.colour;
  assert.equal(pictures.size, 31);

  const encoded = (y) => Math.round(255 * (y <= 0.0031308 ? 12.92 * y : 1.055 * y ** (1 / 2.4) - 0.055));
  /** A pixel as a print without colour shows it: its own luminance (Y of sRGB), and nothing else of it. */
  const grey = (bytes, i) => {
    const [r, g, b] = [0, 1, 2].map((c) => linear(bytes[i + c] / 255));
    return 0x010101 * encoded(0.2126 * r + 0.7152 * g + 0.0722 * b);
  };
  const labs = new Map();
  const lab = (ink) => {
    if (!labs.has(ink)) labs.set(ink, labOf([(ink >> 16) / 255, ((ink >> 8) & 255) / 255, (ink & 255) / 255]));
    return labs.get(ink);
  };
  const known = new Map();
  const distance = (p, q) => {
    const key = p < q ? p * 2 ** 24 + q : q * 2 ** 24 + p;
    if (!known.has(key)) known.set(key, ciede2000(lab(p), lab(q)));
    return known.get(key);
  };

  const numbers = [...pictures.keys()];
  for (const [name, ink] of Object.entries({ colour, grey })) {
    const seen = new Map(numbers.map((n) => [n, inks(pictures.get(n), ink)]));
    const all = numbers.flatMap((a, at) =>
      numbers.slice(at + 1).map((b) => [shareApart(seen.get(a), seen.get(b), distance), a, b]),
    );
    assert.equal(all.length, 465);
    all.sort((x, y) => x[0] - y[0]);
    const said = ([share, a, b]) => `${a} and ${b}: ${(100 * share).toFixed(1)} %`;
    t.diagnostic(`figure: nearest in ${name}: ${all.slice(0, 3).map(said).join(', ')} (at least 4 %)`);
    assert.deepEqual(all.filter(([share]) => share < leastShare).map(said), [], `in ${name}`);
  }
});
