/** The cloth in the cut: a band from y = 30 to y = 70 that may be drawn in, lifted or pushed up, and what moves it. */
import type { Plan } from './stitch-plan';
import { area, arrow, box, ellipse, line, move, type Point, type Shape, width } from './stitch-shapes';

export const top = 30;
export const back = 70;

/** Where the two faces of the cloth stand. */
export type Faces = { readonly top: number; readonly back: number };

export function facesAt({ params, holes }: Plan, x: number): Faces {
  switch (params.cloth) {
    case 'flat':
      return { top, back };
    case 'drawn': {
      const near = Math.min(...holes.map((h) => Math.abs(h.x - x)), Math.abs(x + 20), Math.abs(x - 260));
      const pinch = 13 * Math.cos(Math.min(near / 20, 1) * (Math.PI / 2));
      return { top: top + pinch, back: back - pinch };
    }
    case 'lifted': {
      const up = 17 * Math.exp(-(((x - 140) / 42) ** 2));
      return { top: top - up, back: back - up };
    }
    case 'wave': {
      const up = Math.exp(-(((x - 174) / 17) ** 2));
      return { top: top - 19 * up, back: back - 10 * up };
    }
  }
}

/** Top fabric, batting with its wisps, backing; in large pictures of flat cloth the cut yarns of the two fabrics too. */
export function clothBand(plan: Plan): Shape[] {
  const step = { flat: width, drawn: 10, lifted: 15, wave: 10 }[plan.params.cloth]; // fine enough for its bends
  const along = (y: (f: Faces) => number): Point[] => {
    const points: Point[] = [];
    for (let x = 0; x <= width; x += step) points.push({ x, y: y(facesAt(plan, x)) });
    return points;
  };
  const sheet = ([first, ...upper]: Point[], lower: Point[]) =>
    first
      ? `${move(first.x, first.y)}${line(...[...upper, ...lower.reverse()].map(({ x, y }) => [x, y] as const))}Z`
      : '';
  const large = plan.letters > 0 && plan.params.cloth === 'flat'; // cloth that bends is busy enough
  const wisps = Array.from({ length: large ? 19 : 14 }, (_, i) => {
    const x = large ? 6 + 12.7 * i : 10 + 17 * i;
    const f = facesAt(plan, x);
    const y = f.top + (f.back - f.top) * (0.28 + 0.48 * ((i * 0.37) % 1));
    return `${move(x - 5, y)}q3-${4 + (i % 3)} 5 0t${4 + (i % 4)} ${(i % 3) - 1}`;
  });
  const threads = (y: (f: Faces) => number) => {
    const [first, ...rest] = along(y);
    return first ? move(first.x, first.y) + line(...rest.map((p) => [p.x, p.y] as const)) : '';
  };
  const weave = large ? [area('weave', threads((f) => f.top + 2.5) + threads((f) => f.back - 2.5))] : [];
  const band = (inset: number) =>
    sheet(
      along((f) => f.top + inset),
      along((f) => f.back - inset),
    );
  return [area('cloth', band(0)), area('batting', band(5)), ...weave, area('fibre', wisps.join(''))];
}

/** Needle and foot, where they tell why the cloth moves. */
export function machineParts({ params }: Plan): Shape[] {
  if (params.cloth === 'lifted') {
    return [area('steel', `${move(136, 0)}L144 0L144 62L140 78L136 62Z`), area('hole', ellipse(140, 66, 1.2, 4))];
  }
  if (params.cloth === 'wave') {
    return [
      area('steel', box(98, 23, 46, 4) + box(116, 0, 8, 23)),
      area('mark', arrow({ x: 104, y: 11 }, { x: 150, y: 11 }, 7)),
    ];
  }
  return [];
}
