// Films for a browser whose camera is a file (YUV4MPEG2, 4:2:0, gray), and what a hand-held phone makes of a screen of codes.
import { closeSync, openSync, writeSync } from 'node:fs';

/** What a browser is started with to take this film, over and over, for its camera. */
export const cameraIs = (file) => [
  '--use-fake-ui-for-media-stream',
  '--use-fake-device-for-media-stream',
  `--use-file-for-fake-video-capture=${file}`,
];

/** Writes a film; `frames` are gray pixels row by row. */
export function writeFilm(file, { width, height, perSecond }, frames) {
  const colours = Buffer.alloc(Math.ceil(width / 2) * Math.ceil(height / 2) * 2, 128); // none
  const to = openSync(file, 'w');
  writeSync(to, `YUV4MPEG2 W${width} H${height} F${perSecond * 2}:2 Ip A1:1 C420jpeg\n`);
  for (const frame of frames) {
    writeSync(to, 'FRAME\n');
    writeSync(to, frame);
    writeSync(to, colours);
  }
  closeSync(to);
}

/** Numbers from 0 to 1, the same ones for a seed. */
export function seeded(seed) {
  let n = seed >>> 0;
  return () => {
    n = (Math.imul(n, 1_664_525) + 1_013_904_223) >>> 0;
    return n / 2 ** 32;
  };
}

const [dark, light, around] = [50, 215, 90]; // a screen in a room, as a camera has it

/**
 * One look at a code: turned by `degrees` round the middle of a square picture, out of focus by about half a square, with
 * noise. `cells` are rows of 0 and 1 with their quiet zone; `under` is what still shines through of the code before.
 */
export function look(cells, { px, degrees, random, under }) {
  const size = cells.length;
  const radians = (degrees * Math.PI) / 180;
  const [cos, sin] = [Math.cos(radians), Math.sin(radians)];
  const scale = (size * (Math.abs(cos) + Math.abs(sin))) / px; // all of it is in the picture
  const gray = (of, x, y) => {
    const row = of[Math.floor(y)];
    const cell = row?.[Math.floor(x)];
    return cell === undefined ? around : cell ? dark : light;
  };
  const sharp = new Float32Array(px * px);
  for (let y = 0; y < px; y++)
    for (let x = 0; x < px; x++) {
      const [dx, dy] = [(x + 0.5 - px / 2) * scale, (y + 0.5 - px / 2) * scale];
      const [u, v] = [dx * cos + dy * sin + size / 2, dy * cos - dx * sin + size / 2];
      const here = gray(cells, u, v);
      sharp[y * px + x] = under ? (here + gray(under, u, v)) / 2 : here;
    }
  const frame = Buffer.alloc(px * px, around);
  for (let y = 1; y < px - 1; y++)
    for (let x = 1; x < px - 1; x++) {
      let sum = 0;
      for (let j = -1; j <= 1; j++) for (let i = -1; i <= 1; i++) sum += sharp[(y + j) * px + x + i];
      frame[y * px + x] = sum / 9 + (random() - 0.5) * 30;
    }
  return frame;
}
