/** What the cloth itself shows on a face: needle holes, a patch, gathers, a cloth that jumps, a wave before the foot. */
import type { Plan } from './stitch-plan';
import { area, curve, ellipse, line, move, type Point, type Shape, stroke, type Thread } from './stitch-shapes';

/** Needle holes. Wide ones let daylight through and show the yarns they cut. */
export function holeMark(holes: readonly (Point & { open: boolean })[], wide: number, thick: number): Shape[] {
  if (wide <= 1.5) return [area('hole', holes.map((h) => ellipse(h.x, h.y, h.open ? 3.2 : 2.2)).join(''))];
  const r = (thick * wide) / 2;
  const yarns = holes.flatMap(({ x, y }) =>
    [48, 132, 228, 312].map((turn) => {
      const a = (turn * Math.PI) / 180;
      const [c, s] = [Math.cos(a), Math.sin(a)];
      return stroke({ x: x + r * c, y: y + r * s }, { x: x + (r + 5) * c, y: y + (r + 5) * s });
    }),
  );
  return [area('daylight', holes.map((h) => ellipse(h.x, h.y, r)).join('')), area('fine', yarns.join(''))];
}

/** Hatching from upper right to lower left between two edges. */
function hatch(from: number, to: number, height: number): string {
  let d = '';
  for (let x = from + 8; x < to + height; x += 12) {
    const [a, b] = [Math.min(x, to), Math.max(x - height, from)];
    d += stroke({ x: a, y: x - a }, { x: b, y: x - b });
  }
  return d;
}

export function clothMarks({ params, holes }: Plan, own: Thread, y: number, height: number): Shape[] {
  const shapes: Shape[] = [];
  if (params.where.kind === 'patch') {
    const from = (holes[params.where.from]?.x ?? 0) - 18;
    const to = (holes[params.where.to]?.x ?? 0) + 18;
    shapes.push(area('patch', `${move(from, 0)}H${to}V${height}H${from}Z`), area('fine', hatch(from, to, height)));
  }
  switch (params.cloth) {
    case 'flat':
      break;
    case 'drawn':
      shapes.push(
        area(
          'fine',
          holes
            .flatMap(({ x }) =>
              [-1, 1].flatMap((up) =>
                [-10, 0, 10].map(
                  (d) =>
                    move(x + d * 0.5, y + 8 * up) +
                    curve(x + d * 0.6, y + 16 * up, x + d * 1.2, y + 20 * up, x + d * 1.6, y + 32 * up),
                ),
              ),
            )
            .join(''),
        ),
      );
      break;
    case 'lifted':
      shapes.push(area('fine', [16, 27, 38].map((r) => ellipse(140, y, r, r * 0.82)).join('')));
      break;
    case 'wave': {
      const crests = own === 'top' ? [146, 160, 174, 188] : [160, 166];
      const d = crests.map(
        (x, i) =>
          move(x, 4) +
          curve(x + 12, 22, x + 12, height - 22, x, height - 4) +
          (own === 'bobbin' && i === 0 ? tuck(x, height) : ''),
      );
      shapes.push(area('fine', d.join('')));
      if (own === 'top') shapes.push(area('steel', ellipse(118, y, 20, 20)));
    }
  }
  return shapes;
}

/** A fold pressed flat and sewn over. */
const tuck = (x: number, height: number) =>
  [0.2, 0.4, 0.6, 0.8].map((t) => move(x + 9, height * t - 5) + line([x - 7, height * t + 5])).join('');
