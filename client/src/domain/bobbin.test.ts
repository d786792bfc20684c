import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  bobbinM,
  bobbinMm3,
  bobbinMOfDensity,
  completeE,
  linePerMm2,
  mmPerStitch,
  ownCount,
  perInch,
  plan,
  seamThread,
  stitchesOf,
  stitchesPerInch,
  stitchThread,
} from './bobbin';
import { metresOf } from './thread';

/** The length of half an ellipse of this width and depth, by many short chords. */
function walked(width: number, depth: number): number {
  const n = 200_000;
  let sum = 0;
  let [x, y] = [width / 2, 0];
  for (let i = 1; i <= n; i++) {
    const a = (Math.PI * i) / n;
    const [nx, ny] = [(width / 2) * Math.cos(a), depth * Math.sin(a)];
    sum += Math.hypot(nx - x, ny - y);
    [x, y] = [nx, ny];
  }
  return sum;
}

describe('one stitch', () => {
  test('published figures', () => {
    expect(stitchesPerInch(2.5)).toBeCloseTo(10.16, 9); // a sewing page's 25.4 / 2.5
    expect(perInch(0.01, 10)).toBeCloseTo(2.2, 9); // textile calculation primer, type 301
    expect(seamThread(220, 2.5, 0.5)).toEqual({ total: 550, needle: 275, bobbin: 275 }); // worked garment example, cm
  });

  test('a rectangle is the printed formula, however the lock lies', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 1, max: 6, noNaN: true }),
        fc.double({ min: 0, max: 10, noNaN: true }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        (pitch, thickness, lock) => {
          const { ratio } = stitchThread(pitch, thickness, lock, 'rectangle');
          expect(ratio).toBeCloseTo(perInch(thickness / 25.4, stitchesPerInch(pitch)), 9);
        },
      ),
    );
  });

  test.each([
    [2.54, 4, 0.5],
    [2.5, 2.5, 0.6],
    [2.3, 3, 0],
    [2.3, 3, 1],
    [6, 1, 0.5],
  ])('half an ellipse of pitch %f, thickness %f, lock %f, walked in short chords', (pitch, thickness, lock) => {
    const got = stitchThread(pitch, thickness, lock, 'half-ellipse');
    expect(got.needleMm).toBeCloseTo(walked(pitch, lock * thickness), 6);
    expect(got.bobbinMm).toBeCloseTo(walked(pitch, (1 - lock) * thickness), 6);
  });

  test('a half circle', () => {
    expect(completeE(0)).toBeCloseTo(Math.PI / 2, 12);
    expect(completeE(1)).toBe(1);
    expect(stitchThread(2, 2, 0.5, 'half-ellipse').needleMm).toBeCloseTo(Math.PI, 12);
  });
});

describe('a bobbin', () => {
  const size = { outerMm: 22, coreMm: 7, widthMm: 9 };

  test('holds what its dimensions say', () => {
    expect(bobbinMm3(size)).toBeCloseTo(3074.834, 2); // pi/4 (22² - 7²) 9, by hand
    expect(bobbinM(bobbinMm3(size), 27, 1.38, 0.65, 0.75)).toBeCloseTo(76.6146, 3);
    expect(bobbinMOfDensity(bobbinMm3(size), 27, 0.6)).toBeCloseTo(68.3296, 3);
  });

  test('once weighed, says what one of another thread holds', () => {
    const grams = 1.9;
    expect(metresOf(grams, 27)).toBeCloseTo(70.37, 2);
    expect(metresOf(grams, 18)).toBeCloseTo(105.56, 2); // finer thread, more of it
  });

  test('sews whole stitches', () => {
    expect(stitchesOf(60, 6.54)).toBe(9174); // arithmetic
  });
});

describe('a quilt', () => {
  const quilt = {
    widthMm: 2000,
    heightMm: 1500,
    density: { spacingMm: 30 },
    stitchesPerInch: 10,
    thicknessMm: 4,
    lock: 0.5,
    waste: 0.1,
  };

  test('by geometry', () => {
    const p = plan({ ...quilt, bobbinM: 60, coneM: 1000 });
    expect(p.lineM).toBeCloseTo(100, 9); // 3 m2 at 3 cm
    expect(p.stitches).toBe(39_370);
    expect(p.topM.least).toBeCloseTo((39_370 * 5.2007 * 1.1) / 1000, 2);
    expect(p.topM.most).toBeCloseTo((39_370 * 6.54 * 1.1) / 1000, 6);
    expect(p.bobbinM).toEqual(p.topM); // balanced
    expect(p.bobbins).toEqual({ least: 4, most: 5 });
    expect(p.changes).toEqual({ least: 3, most: 4 });
    expect(p.stitchesPerBobbin).toEqual({ least: 9174, most: 11_536 });
    expect(p.cones).toEqual({ least: 1, most: 1 });
  });

  test('without knowing what a bobbin or a cone holds there are metres only', () => {
    const p = plan(quilt);
    expect(p.bobbins).toBeUndefined();
    expect(p.changes).toBeUndefined();
    expect(p.cones).toBeUndefined();
    expect(p.bobbinM.most).toBeGreaterThan(280);
  });

  test('a measured square is the same as lines at that distance', () => {
    expect(linePerMm2({ squareMm: 100, lineMm: 500 })).toBeCloseTo(linePerMm2({ spacingMm: 20 }), 12);
    expect(mmPerStitch(12)).toBeCloseTo(2.11666666667, 9); // definition of the inch
  });
});

describe("the studio's own count", () => {
  const small = { widthMm: 1000, heightMm: 1000 };

  test('scales by area and spacing, with its spread', () => {
    const past = [
      { ...small, spacingMm: 20, bobbins: 4 },
      { ...small, spacingMm: 25, bobbins: 4 },
      { ...small, spacingMm: 20, bobbins: 6 },
    ];
    expect(ownCount(past, { widthMm: 1500, heightMm: 1000, spacingMm: 20 })).toEqual({
      least: 6,
      middle: 8,
      most: 9,
      quilts: 3,
    });
  });

  test('leaves out what is another size, another density or not counted', () => {
    const now = { ...small, spacingMm: 20, work: 'custom' };
    const out = [
      { widthMm: 2100, heightMm: 1000, spacingMm: 20, bobbins: 9 },
      { ...small, spacingMm: 31, bobbins: 2 },
      { ...small, spacingMm: 20, bobbins: 0 },
      { spacingMm: 20, bobbins: 5 },
      { ...small, bobbins: 5, work: 'show' },
    ];
    expect(ownCount(out, now)).toBeUndefined();
    expect(ownCount([...out, { ...small, bobbins: 5, work: 'custom' }], now)).toMatchObject({ middle: 5, quilts: 1 });
    expect(ownCount([{ ...small, spacingMm: 20, bobbins: 5 }], { spacingMm: 20 })).toBeUndefined();
  });
});
