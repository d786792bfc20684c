/**
 * Thread colours: how far apart two of them look.
 *
 * Sources: sRGB transfer of IEC 61966-2-1; matrix and white from its primaries with D65 at (0.3127, 0.3290);
 * L*a*b* of CIE 15; colour difference CIEDE2000 as in Sharma, Wu, Dalal, Color Res. Appl. 30 (2005) 21-30.
 */

/** CIE L*a*b* under D65: lightness 0..100, a green to red, b blue to yellow. */
export type Lab = readonly [L: number, a: number, b: number];
/** sRGB, each channel 0..1. */
export type Rgb = readonly [r: number, g: number, b: number];
/** CIE XYZ with Y = 1 for white. */
export type Xyz = readonly [x: number, y: number, z: number];

const white: Xyz = [0.3127 / 0.329, 1, (1 - 0.3127 - 0.329) / 0.329];

/** Linear light 0..1 of one sRGB channel 0..1. */
export function linear(c: number): number {
  return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
}

/** '#rrggbb' as numbers. Anything else is a RangeError: what people type is checked before it comes here. */
export function rgbOf(hex: string): Rgb {
  if (!/^#[0-9a-f]{6}$/i.test(hex)) throw new RangeError(`colour: ${JSON.stringify(hex)} is not #rrggbb`);
  const channel = (at: number) => Number.parseInt(hex.slice(at, at + 2), 16) / 255;
  return [channel(1), channel(3), channel(5)];
}

export function xyzOf(rgb: Rgb): Xyz {
  const [r, g, b] = [linear(rgb[0]), linear(rgb[1]), linear(rgb[2])];
  return [
    0.4123907993 * r + 0.3575843394 * g + 0.1804807884 * b,
    0.2126390059 * r + 0.7151686788 * g + 0.0721923154 * b,
    0.0193308187 * r + 0.1191947798 * g + 0.9505321522 * b,
  ];
}

export function labOf(rgb: Rgb): Lab {
  const f = (v: number) => (v > (6 / 29) ** 3 ? Math.cbrt(v) : (v * (29 / 3) ** 3 + 16) / 116);
  const xyz = xyzOf(rgb);
  const [fx, fy, fz] = [f(xyz[0] / white[0]), f(xyz[1] / white[1]), f(xyz[2] / white[2])];
  return [116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)];
}

const rad = Math.PI / 180;
const hueOf = (a: number, b: number) => (a === 0 && b === 0 ? 0 : (Math.atan2(b, a) / rad + 360) % 360);

/** CIEDE2000 with all weights 1. Computed on plain L, a, b: scaling them flips pairs whose hues are 180 degrees apart. */
export function ciede2000([L1, a1, b1]: Lab, [L2, a2, b2]: Lab): number {
  const c7 = ((Math.hypot(a1, b1) + Math.hypot(a2, b2)) / 2) ** 7;
  const g = 0.5 * (1 - Math.sqrt(c7 / (c7 + 25 ** 7)));
  const [p1, p2] = [a1 * (1 + g), a2 * (1 + g)];
  const [C1, C2] = [Math.hypot(p1, b1), Math.hypot(p2, b2)];
  const [h1, h2] = [hueOf(p1, b1), hueOf(p2, b2)];

  const grey = C1 * C2 === 0; // a grey has no hue
  let turn = h2 - h1;
  if (turn > 180) turn -= 360;
  else if (turn < -180) turn += 360;
  const dL = L2 - L1;
  const dC = C2 - C1;
  const dH = grey ? 0 : 2 * Math.sqrt(C1 * C2) * Math.sin((turn / 2) * rad);

  const L = (L1 + L2) / 2;
  const C = (C1 + C2) / 2;
  let h = h1 + h2;
  if (!grey) {
    if (Math.abs(h1 - h2) > 180) h += h < 360 ? 360 : -360;
    h /= 2;
  }
  const t =
    1 -
    0.17 * Math.cos((h - 30) * rad) +
    0.24 * Math.cos(2 * h * rad) +
    0.32 * Math.cos((3 * h + 6) * rad) -
    0.2 * Math.cos((4 * h - 63) * rad);
  const sL = 1 + (0.015 * (L - 50) ** 2) / Math.sqrt(20 + (L - 50) ** 2);
  const sC = 1 + 0.045 * C;
  const sH = 1 + 0.015 * C * t;
  const rC = 2 * Math.sqrt(C ** 7 / (C ** 7 + 25 ** 7));
  const rT = -Math.sin(60 * Math.exp(-(((h - 275) / 25) ** 2)) * rad) * rC;
  return Math.sqrt((dL / sL) ** 2 + (dC / sC) ** 2 + (dH / sH) ** 2 + rT * (dC / sC) * (dH / sH));
}

/**
 * The distance under which two threads are called too alike, in CIEDE2000 units.
 *
 * Our choice, no published source. From memory: about 1 is just noticed on large patches, 2 to 3 is plain side by
 * side. A speck of thread in a needle hole is a fraction of a millimetre, seen at half a metre under a lamp, and small
 * things look less coloured than large ones; so we ask for several times that. At 20 white against cream or black
 * against dark navy is "too alike", red against orange is not.
 */
export const alikeBelow = 20;

/** True when the bobbin thread would be hard to see where it comes up among the top thread. Both '#rrggbb'. */
export function tooAlike(a: string, b: string): boolean {
  return ciede2000(labOf(rgbOf(a)), labOf(rgbOf(b))) < alikeBelow;
}
