/**
 * Stitches per inch, from the length of ten stitches: by any ruler, or by this screen once it was held against a card.
 * Never used to pass or fail anything: what a screen measures is "about".
 */
import { mmPerInch } from './units';

/** Ten stitches have eleven holes. Between 2 and 30 an inch is taken (our choice): beyond, something was miscounted. */
export const counted = 10;
export const bounds = { least: (counted * mmPerInch) / 30, most: (counted * mmPerInch) / 2 }; // mm

export type StitchLength = { readonly tenthsPerInch: number; readonly mm: number };

/** From the length of ten stitches in mm; undefined outside the bounds. */
export function stitchLength(tenMm: number): StitchLength | undefined {
  if (!(tenMm >= bounds.least && tenMm <= bounds.most)) return undefined;
  const mm = tenMm / counted;
  return { tenthsPerInch: Math.round((10 * mmPerInch) / mm), mm };
}

/** A bank card is of size ID-1: 85.60 x 53.98 mm (ISO/IEC 7810). Its short edge fits across a phone. */
export const card = { long: 85.6, short: 53.98 };
/** The second check, by any ruler. Our choice. */
export const checkMm = 20;

/** Where px are of another size, the figures are too: the screen and its scale belong to the calibration. */
export type Screen = { readonly width: number; readonly height: number; readonly ratio: number; readonly zoom: number };
export type Calibration = { readonly pxPerMm: number; readonly screen: Screen };

/** CSS px in a mm: a phone has about 6.3 (160 an inch, our measure). Outside 2 to 12 no screen lies that we know of. */
export const pxBounds = { least: 2, most: 12, usual: 160 / mmPerInch };

/** The bar for whoever has a ruler and no card: the longest of these that has room, in mm. */
export const barFor = (pxPerMm: number, roomPx: number): number =>
  [50, 40, 30].find((mm) => mm * pxPerMm <= roomPx) ?? checkMm;

/** A turned phone is the same screen. */
export const sameScreen = (a: Screen, b: Screen): boolean =>
  a.ratio === b.ratio &&
  Math.min(a.width, a.height) === Math.min(b.width, b.height) &&
  Math.max(a.width, a.height) === Math.max(b.width, b.height);

/** How it stands with the screen as a ruler: zoomed in it says nothing, on another screen it is to be checked again. */
export type RulerState = 'zoomed' | 'new' | 'check-again' | 'ready';

export function rulerState(kept: Calibration | undefined, now: Screen): RulerState {
  if (Math.abs(now.zoom - 1) > 0.001) return 'zoomed';
  if (!kept || !(kept.pxPerMm >= pxBounds.least && kept.pxPerMm <= pxBounds.most)) return 'new';
  return sameScreen(kept.screen, now) ? 'ready' : 'check-again';
}

/** px per mm when the card's edge is this many px, by one px more or fewer; held within the bounds. */
export function cardStep(pxPerMm: number, byPx: number): number {
  const px = Math.round(pxPerMm * card.short) + byPx;
  return Math.min(pxBounds.most, Math.max(pxBounds.least, px / card.short));
}
