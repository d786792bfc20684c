import { expect, test } from 'vitest';
import {
  barFor,
  bounds,
  type Calibration,
  card,
  cardStep,
  pxBounds,
  rulerState,
  type Screen,
  stitchLength,
} from './ruler';

const phone: Screen = { width: 360, height: 740, ratio: 3, zoom: 1 };
const kept: Calibration = { pxPerMm: 6.3, screen: phone };

test('ten stitches of an inch are ten to the inch, and 2.5 mm is the trade’s ten', () => {
  expect(stitchLength(25.4)).toEqual({ tenthsPerInch: 100, mm: 2.54 });
  expect(stitchLength(25)?.tenthsPerInch).toBe(102);
  expect(stitchLength(21.17)?.tenthsPerInch).toBe(120); // 12 to the inch
});

test('a length that ten stitches can not have is no answer', () => {
  expect([stitchLength(bounds.least), stitchLength(bounds.most)].map((s) => s?.tenthsPerInch)).toEqual([300, 20]);
  for (const mm of [0, -3, 8, 128, Number.NaN, Number.POSITIVE_INFINITY]) expect(stitchLength(mm)).toBeUndefined();
});

test('the card is the published one', () => {
  expect([card.long, card.short]).toEqual([85.6, 53.98]);
});

test('a screen is trusted as it was when it was held against the card, and turned', () => {
  const state = (change: Partial<Screen>, of: Calibration | undefined = kept) =>
    rulerState(of, { ...phone, ...change });
  expect(state({})).toBe('ready');
  expect(state({ width: 740, height: 360 })).toBe('ready');
  expect(rulerState(undefined, phone)).toBe('new');
  expect(state({ ratio: 2 })).toBe('check-again');
  expect(state({ width: 411 })).toBe('check-again');
  expect(state({ zoom: 1.3 })).toBe('zoomed');
  expect(state({ zoom: 0.8 })).toBe('zoomed');
  for (const pxPerMm of [0, 500, Number.NaN]) expect(state({}, { ...kept, pxPerMm })).toBe('new');
});

test('one px at the card’s edge is one px, and the edge stays on a screen', () => {
  const px = (n: number) => Math.round(n * card.short * 1000) / 1000;
  expect(px(cardStep(340 / card.short, 1))).toBe(341);
  expect(px(cardStep(340 / card.short, -5))).toBe(335);
  expect(cardStep(pxBounds.least, -5)).toBe(pxBounds.least);
  expect(cardStep(pxBounds.most, 5)).toBe(pxBounds.most);
});

test('the bar has room, and is as long as that allows', () => {
  expect([400, 315, 314, 251, 188, 90].map((room) => barFor(6.3, room))).toEqual([50, 50, 40, 30, 20, 20]);
});
