/** How a thread that broke looks on a face, from the hole where it last held. */
import type { StitchParams } from './stitch-params';
import {
  area,
  cord,
  curve,
  hairs,
  loop,
  move,
  type Point,
  type Shape,
  stroke,
  type Thread,
  width,
} from './stitch-shapes';

type End = NonNullable<StitchParams['ends']>;

export function endOf(end: End, { x, y }: Point, own: Thread, thick: number): Shape[] {
  if (end.thread !== own) {
    // Seen from the other side a kinked thread leaves one small loop where it snapped.
    return end.look === 'kinked' ? [cord(end.thread, loop(x, y, 17, 20), thick * 0.8)] : [];
  }
  const tip: Point = { x: x + 22, y: y - 18 };
  const tail = move(x, y) + curve(x + 12, y - 1, x + 16, y - 8, tip.x, tip.y);
  const far = move(width + 6, y - 20) + curve(width - 14, y - 20, width - 20, y - 12, width - 34, y - 14);
  switch (end.look) {
    case 'clean': // cut across, as with scissors; the other half still hangs from the needle
      return [
        cord(own, tail + (own === 'top' ? far : ''), thick),
        area('mark', stroke({ x: tip.x - 6, y: tip.y - 5 }, { x: tip.x + 6, y: tip.y + 5 })),
        ...(own === 'top' ? [area('mark', stroke({ x: width - 34, y: y - 22 }, { x: width - 34, y: y - 6 }))] : []),
      ];
    case 'frayed': {
      // Furry from the last stitch on, then the plies part and thin out to nothing.
      const along = [-34, -27, -20, -13, -6, 0, 6, 12].map((d) => ({ x: x + d, y: y - (d > 0 ? d * 0.4 : 0) }));
      const plies = [-27, -17, -5, 6].map(
        (dy, i) => move(x + 8, y - 3) + curve(x + 18, y - 6, x + 24, y + dy, x + 40 - 3 * i, y + dy),
      );
      return [
        cord(own, move(x, y) + curve(x + 3, y, x + 6, y - 1, x + 9, y - 3), thick * 0.6),
        cord(own, plies.join(''), thick * 0.25),
        { kind: 'fur', of: own, d: hairs([...along, ...along.slice(2), ...along.slice(3), ...along.slice(4)], 17) },
      ];
    }
    case 'kinked':
      return [
        cord(
          own,
          move(x, y) +
            curve(x + 34, y + 2, x + 22, y - 26, x + 10, y - 14) +
            curve(x + 2, y - 2, x + 46, y + 2, x + 40, y - 18) +
            curve(x + 36, y - 30, x + 20, y - 22, x + 30, y - 12) +
            curve(x + 42, y - 2, x + 64, y - 6, x + 58, y - 22) +
            curve(x + 54, y - 32, x + 40, y - 22, x + 52, y - 14) +
            curve(x + 60, y - 10, x + 68, y - 10, x + 76, y - 18),
          thick * 0.75,
        ),
      ];
  }
}

/** What else a broken thread shows in the cut, beside the tail that stands out of its hole. */
export function endCut(end: End, x: number, cloth: { top: number; back: number }, thick: number): Shape[] {
  const up = end.thread === 'top' ? 1 : -1;
  const y = end.thread === 'top' ? cloth.top - 13 : cloth.back + 13;
  if (end.look === 'frayed') {
    const tip = [0, 1, 2, 3, 4, 5, 6].map((i) => ({ x: x + 24 - i, y: y + i * up }));
    return [{ kind: 'fur', of: end.thread, d: hairs([...tip, ...tip.slice(1), ...tip.slice(2)], 16) }];
  }
  if (end.look === 'clean' && end.thread === 'top') {
    const far = move(width + 6, y - 3) + curve(width - 10, y - 3, width - 20, y + 4, width - 34, y);
    return [cord('top', far, thick), area('mark', stroke({ x: width - 34, y: y - 7 }, { x: width - 34, y: y + 7 }))];
  }
  return [];
}
