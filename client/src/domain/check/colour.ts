/** Check values of thread colours. */
import { ciede2000, labOf, linear, type Rgb, rgbOf, xyzOf } from '../colour';
import type { Calcs, Given } from './calc';

const rgb = (g: Given): Rgb => (g.rgb ? (g.rgb as Rgb) : rgbOf(g.hex));

export const colour: Calcs = {
  ciede2000: (g) => ciede2000(g.lab1, g.lab2),
  srgb_to_lab: (g) => labOf(rgb(g)),
  srgb_to_xyz: (g) => xyzOf(rgb(g)),
  srgb_to_linear: (g) => linear(g.c),
};
