/**
 * The cut along the line of stitches: top fabric, batting and backing as a band from y = 30 to y = 70, and in each hole
 * the two threads hooked round one another where the lock lies. The straight thread is the one that pulls: it never
 * bends, and the other is drawn round it.
 */
import { endCut } from './stitch-ends';
import { type Hole, loopOf, type Plan } from './stitch-plan';
import {
  area,
  arrow,
  box,
  cord,
  curve,
  ellipse,
  hairs,
  line,
  move,
  type Point,
  type Shape,
  stroke,
  type Thread,
  tangle,
  through,
  type View,
  width,
} from './stitch-shapes';

const height = 126;
const top = 30;
const back = 70;

/** Where the two faces of the cloth stand at x. */
function faces({ params, holes }: Plan, x: number): { top: number; back: number } {
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

function cloth(plan: Plan): Shape[] {
  const step = plan.params.cloth === 'flat' ? 240 : 10;
  const along = (y: (f: { top: number; back: number }) => number): Point[] => {
    const points: Point[] = [];
    for (let x = 0; x <= width; x += step) points.push({ x, y: y(faces(plan, x)) });
    return points;
  };
  const sheet = (upper: Point[], lower: Point[]) => `${through(upper)}${through(lower.reverse()).replace('M', 'L')}Z`;
  const wisps = Array.from({ length: 17 }, (_, i) => {
    const x = 8 + 14 * i;
    const f = faces(plan, x);
    const y = f.top + (f.back - f.top) * (0.32 + 0.4 * ((i * 0.37) % 1));
    return move(x - 5, y) + curve(x - 2, y - 5, x + 2, y + 5, x + 5, y - 1);
  });
  return [
    area(
      'batting',
      sheet(
        along((f) => f.top + 4),
        along((f) => f.back - 4),
      ),
    ),
    area('fibre', wisps.join('')),
    area(
      'cloth',
      sheet(
        along((f) => f.top),
        along((f) => f.top + 5),
      ),
    ),
    area(
      'cloth',
      sheet(
        along((f) => f.back - 5),
        along((f) => f.back),
      ),
    ),
  ];
}

/** One thread in one hole, drawn as if it came from above; the bobbin thread is its mirror image. */
type Dip = {
  readonly x: number;
  readonly lip: number;
  readonly out: number;
  readonly end: number;
  readonly loop: number;
};

/** From the lip at x − 9 down to the lock and up again, or out of the other face into a free loop. */
function dip({ x, lip, out, end, loop }: Dip, up: 1 | -1): { down: string; rise: string } {
  if (loop < 1) {
    return { down: curve(x - 2, lip, x - 4, end, x, end), rise: curve(x + 4, end, x + 2, lip, x + 9, lip) };
  }
  const bulge = Math.min(5 + 3.5 * loop, 17);
  const into = lip + 8 * up;
  return {
    down:
      curve(x - 3, lip, x - 2.5, lip, x - 2.5, into) +
      line([x - 2.5, out]) +
      curve(x - bulge, out + 5 * up, x - bulge, end, x, end),
    rise:
      curve(x + bulge, end, x + bulge, out + 5 * up, x + 2.5, out) +
      line([x + 2.5, into]) +
      curve(x + 2.5, lip, x + 3, lip, x + 9, lip),
  };
}

/** The whole run of one thread through the cut, and its rising halves alone, which lie in front of the other thread. */
function run(plan: Plan, of: Thread): { whole: string; front: string } {
  const { params, thick } = plan;
  const up = of === 'top' ? 1 : -1;
  const other: Thread = of === 'top' ? 'bobbin' : 'top';
  const own = (f: { top: number; back: number }) => (of === 'top' ? f.top - 2 : f.back + 2);
  const depthOf = (h: Hole) => {
    const f = faces(plan, h.x);
    return f.top + (f.back - f.top) * h.depth;
  };
  const wireAt = (h: Hole) => {
    const stands = own(faces(plan, h.x));
    if (params.cloth === 'drawn') return stands;
    return of === 'top' ? Math.min(stands, depthOf(h) - 2) : Math.max(stands, depthOf(h) + 2);
  };
  const endsHere = params.ends?.thread === of ? params.ends.hole : undefined;
  const stops = plan.holes.filter((h) => h.at <= Math.min(plan.last, endsHere ?? plan.last));
  const first = stops[0];
  if (!first) return { whole: '', front: '' };

  const slack = params.lock.kind === 'wander' ? 12 * up : 0;
  const edgeY = (h: Hole | undefined, x: number) => (h?.[of] === 'straight' ? wireAt(h) : own(faces(plan, x)));
  let at: Point = plan.begins ? { x: first.x - 9, y: own(faces(plan, first.x)) } : { x: -6, y: edgeY(first, 0) };
  let whole = move(at.x, at.y);
  let front = '';
  const go = (x: number, y: number) => {
    const mid = (at.x + x) / 2;
    if (slack && x - at.x > 12) whole += curve(at.x + 5, at.y - slack * 1.3, x - 5, y - slack * 1.3, x, y);
    else if (params.cloth === 'flat' || x - at.x < 6)
      whole += at.y === y ? line([x, y]) : curve(mid, at.y, mid, y, x, y);
    else {
      const steps = 4;
      for (let i = 1; i <= steps; i += 1) {
        const px = at.x + ((x - at.x) * i) / steps;
        whole += line([px, i === steps ? y : own(faces(plan, px))]);
      }
    }
    at = { x, y };
  };
  for (const hole of stops) {
    const { x } = hole;
    if (hole.skipped) continue;
    if (hole[of] === 'straight') {
      go(x, wireAt(hole));
      continue;
    }
    const f = faces(plan, x);
    const lip = own(f);
    const far = of === 'top' ? f.back : f.top;
    const loop = params.lock.kind === 'wander' ? 0 : loopOf(hole[of]);
    const partner = hole[other] === 'straight';
    let end = depthOf(hole) + 3 * up;
    if (partner) {
      // Drawn round a wire: past it on the far side, wherever that wire stands.
      const wire =
        params.cloth === 'drawn'
          ? far + 2 * up
          : of === 'top'
            ? Math.max(far + 2, depthOf(hole) + 2)
            : Math.min(far - 2, depthOf(hole) - 2);
      end = wire + (thick * 0.85 + 6 * Math.min(loop, 1)) * up;
    }
    if (loop >= 1.5) end = far + (5 + 9 * Math.min(loop, 3.6)) * up;
    go(x - 9, lip);
    const d = dip({ x, lip, out: far, end, loop: loop >= 1.5 ? loop : 0 }, up);
    whole += d.down + d.rise;
    front += move(x, end) + d.rise;
    at = { x: x + 9, y: lip };
  }
  if (endsHere === undefined && plan.last === plan.holes.length - 1)
    go(width + 6, edgeY(stops[stops.length - 1], width));
  if (endsHere !== undefined && params.ends) {
    const { look } = params.ends;
    const lean = -13 * up;
    whole +=
      look === 'kinked'
        ? curve(at.x + 26, at.y, at.x + 20, at.y + lean * 1.6, at.x + 8, at.y + lean) +
          curve(at.x, at.y + lean * 0.2, at.x + 34, at.y, at.x + 24, at.y + lean * 1.5)
        : curve(at.x + 6, at.y, at.x + 12, at.y + lean * 0.4, at.x + 14, at.y + lean);
  }
  return { whole, front };
}

/** Needle and foot, where they tell why the cloth moves. */
function machine({ params }: Plan): Shape[] {
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

/** The bobbin as it empties: full at the left, nearly bare at the right. */
function bobbins(): Shape[] {
  const one = (x: number, coil: number): Shape[] => [
    area('daylight', ellipse(x, 98, 16)),
    cord('bobbin', ellipse(x, 98, (coil + 5) / 2), coil - 4),
    area('mark', ellipse(x, 98, 3)),
  ];
  return [...one(24, 12), ...one(92, 6.5), area('mark', arrow({ x: 44, y: 98 }, { x: 70, y: 98 }, 7))];
}

export function sectionView(plan: Plan): View {
  const { params, thick } = plan;
  const sewn = plan.holes.filter((h) => h.at <= plan.last);
  const shapes: Shape[] = [...cloth(plan)];
  if (params.where.kind === 'patch') {
    const from = (plan.holes[params.where.from]?.x ?? 0) - 18;
    const to = (plan.holes[params.where.to]?.x ?? 0) + 18;
    shapes.push(area('patch', box(from, top - 5, to - from, 9)));
  }
  const wide = params.holeWidth > 1.5 ? thick * params.holeWidth : 0;
  for (const h of sewn) {
    const f = faces(plan, h.x);
    if (wide) shapes.push(area('daylight', box(h.x - wide / 2, f.top - 1, wide, f.back - f.top + 2)));
    else if (h.skipped) shapes.push(area('daylight', box(h.x - 3, f.top, 6, f.back - f.top)));
  }
  const b = run(plan, 'bobbin');
  const t = run(plan, 'top');
  const thin = thick * 0.8;
  shapes.push(cord('top', t.whole, thin), cord('bobbin', b.whole, thin));
  if (t.front) shapes.push(cord('top', t.front, thin));
  if (params.fibre) {
    const y = params.fibre === 'top' ? top - 2 : back + 3;
    shapes.push(
      area(
        'fibre',
        hairs(
          sewn.flatMap(({ x }) => [-6, -3, 0, 3, 6].map((d) => ({ x: x + d, y }))),
          11,
        ),
      ),
    );
  }
  if (params.wad !== undefined) {
    const x = plan.holes[params.wad]?.x ?? 120;
    shapes.push(
      cord('top', tangle(x, 90, 18, 10), thin),
      cord('bobbin', tangle(x, 91, 16, 70), thin),
      cord('top', tangle(x, 90, 15, 200), thin),
    );
  }
  if (params.lock.kind === 'drift') shapes.push(...bobbins());
  if (params.where.kind === 'ray') {
    shapes.push(
      area('mark', arrow({ x: 16, y: 12 }, { x: 92, y: 12 }, 8) + arrow({ x: 224, y: 12 }, { x: 148, y: 12 }, 8)),
    );
  }
  if (params.ends) shapes.push(...endCut(params.ends, plan.holes[params.ends.hole]?.x ?? 0, { top, back }, thin));
  shapes.push(...machine(plan));
  // 5 mm, two stitches of ten to the inch (2.54 mm, drawn as 2.5).
  const bar =
    stroke({ x: 152, y: 119 }, { x: 232, y: 119 }) +
    stroke({ x: 152, y: 115 }, { x: 152, y: 123 }) +
    stroke({ x: 232, y: 115 }, { x: 232, y: 123 });
  shapes.push(area('mark', bar));
  if (plan.letters) {
    const size = plan.letters;
    shapes.push(
      { kind: 'text', of: 'top', x: 5, y: top - 9, size, text: 'T' },
      { kind: 'text', of: 'bobbin', x: 5, y: back + 9 + size * 0.75, size, text: 'B' },
      { kind: 'text', of: 'mark', x: 146, y: 119 + size * 0.36, size, text: '5 mm' },
    );
  }
  return { height, shapes };
}
