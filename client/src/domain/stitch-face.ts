/**
 * One face of the cloth. The thread of this side lies in stitches from hole to hole; of the other thread one sees
 * only what the lock has let through: nothing, a speck in the hole, a bump over the line, a tie across it, a free loop.
 */
import { clothMarks, holeMark } from './stitch-cloth';
import { endOf } from './stitch-ends';
import { type Hole, loopOf, oddHole, type Plan } from './stitch-plan';
import {
  area,
  arrow,
  box,
  cord,
  curve,
  ellipse,
  hairs,
  lens,
  line,
  loop,
  move,
  type Point,
  type Shape,
  stroke,
  type Thread,
  tangle,
  type View,
  width,
} from './stitch-shapes';

const height = 76;
const middle = 38;

/** Nearer to a face than this, in thicknesses of the sandwich, a lock shows a dot of the other thread (our choice). */
export const dotBelow = 0.36;

/** How far the lock stands from this face, in thicknesses of the sandwich; below 0 it stands out of it. */
const fromFace = (hole: Hole, own: Thread) => (own === 'top' ? hole.depth : 1 - hole.depth);

/** Where the line of stitches runs: straight, or over a hill when the sewing curves. */
const lineAt = ({ params }: Plan, x: number): Point => ({
  x,
  y: params.where.kind === 'curve' ? 14 + 44 * ((x - 120) / 110) ** 2 : middle,
});

/** The other thread where it comes through at p. `e` is `fromFace`, `high` the height of its free loop. */
function through(p: Point, other: Thread, e: number, high: number, wire: boolean, thick: number, at: number): Shape[] {
  if (high >= 1.5 && high < 3) return [cord(other, loop(p.x, p.y, 12 * high + 10, 24, 0.62), thick)]; // one by itself has room
  if (high >= 3) {
    const lean = (at % 2 === 0 ? 20 : 165) + 14 * Math.sin(at * 2.3); // big loops fall to both sides of the line
    const tall = 8 + 5.5 * Math.min(high, 3.6) + 2 * Math.cos(at * 1.9);
    const one = (turn: number) => loop(p.x, p.y, tall, turn);
    if (high >= 4.5) return [lean, lean + 65, lean - 70].map((turn) => cord(other, one(turn), thick * 0.8));
    return [cord(other, one(lean) + one(200 - lean), thick * 0.8)];
  }
  if (e >= dotBelow) return [];
  if (e > 0.04) {
    const r = thick * (0.56 + (dotBelow - e) * 0.9);
    return [{ kind: 'specks', of: other, d: ellipse(p.x, p.y, r) }];
  }
  if (wire && e < 0)
    return [cord(other, stroke({ x: p.x - 4, y: p.y - 14 }, { x: p.x + 4, y: p.y + 14 }), thick * 0.8)];
  return [{ kind: 'specks', of: other, d: ellipse(p.x, p.y, thick * 0.72, thick * 1.25) }];
}

/** The thread of this side from stop to stop: stitches, or a wire, or a slack wavering line. */
function lying(plan: Plan, own: Thread): Shape[] {
  const { params, thick } = plan;
  const other: Thread = own === 'top' ? 'bobbin' : 'top';
  const ended = params.ends;
  const stops = plan.holes.filter((h) => h.at <= plan.last && !h.skipped);
  const points = stops.map((h) => lineAt(plan, h.x));
  const form = (i: number) => stops[i]?.[own] ?? 'gentle';
  const first = points[0];
  const last = points[points.length - 1];
  if (!first || !last) return [];

  let outline = '';
  let plies = '';
  let cords = '';
  const lay = (a: Point, b: Point, i: number) => {
    const here = form(i);
    if (here === 'straight' || form(i - 1) === 'straight') {
      cords += cords.endsWith(line([a.x, a.y])) ? line([b.x, b.y]) : stroke(a, b);
    } else if (params.lock.kind === 'wander') {
      const bow = i % 2 === 0 ? 15 : -15;
      cords += move(a.x, a.y) + curve(a.x + 10, a.y + bow, b.x - 10, b.y + bow, b.x, b.y);
    } else if (b.x - a.x > 70) {
      cords += move(a.x, a.y) + curve(a.x + 18, a.y - 15, b.x - 18, b.y - 15, b.x, b.y); // over a hole that was skipped
    } else {
      const one = lens(
        a,
        b,
        (thick / 2) * (own === 'top' && loopOf(here) > 0 ? 1.7 : 1.35),
        own === 'top' ? 1.6 : -1.6,
      );
      outline += one.outline;
      plies += one.plies;
    }
  };
  if (!plan.begins) lay(lineAt(plan, first.x - 40), first, 0);
  points.forEach((p, i) => {
    const next = points[i + 1];
    if (next) lay(p, next, i + 1);
  });
  const jammed = plan.last < plan.holes.length - 1;
  if (!jammed && !ended) lay(last, lineAt(plan, last.x + 40), points.length);
  // Without its partner the thread that is left floats on, held by nothing.
  if (ended?.thread === other)
    cords += move(last.x, last.y) + curve(last.x + 30, last.y - 16, 200, last.y + 14, width + 6, last.y - 5);

  const shapes: Shape[] = [];
  if (outline) shapes.push({ kind: 'stitches', of: own, outline, plies });
  if (cords) shapes.push(cord(own, cords, thick));
  if (plan.begins) shapes.push(cord(own, move(first.x, first.y) + curve(8, 36, 12, 20, 3, 12), thick * 0.8));
  return shapes;
}

/** The corner cut: this side's thread is a chord, and the other reaches over to it from each hole. */
function chord(plan: Plan, own: Thread): Shape[] {
  const other: Thread = own === 'top' ? 'bobbin' : 'top';
  const y = lineAt(plan, 20).y + 2;
  const legs = plan.holes
    .filter((h) => h.at > 0 && h.at < plan.holes.length - 1)
    .map((h) => {
      const p = lineAt(plan, h.x);
      const foot = h.x + (120 - h.x) * 0.22;
      return (
        move(p.x - 2, p.y) +
        curve(p.x - 3, p.y + 14, foot - 3, y - 12, foot, y + 3) +
        curve(foot + 4, y - 8, p.x + 4, p.y + 14, p.x + 2, p.y)
      );
    });
  return [
    cord(own, stroke({ x: -6, y }, { x: width + 6, y }), plan.thick),
    cord(other, legs.join(''), plan.thick * 0.6),
  ];
}

/** Eight short lines out from the middle, each with an arrow; one of them shows the fault. */
function star(plan: Plan, own: Thread, direction: number): Shape[] {
  const other: Thread = own === 'top' ? 'bobbin' : 'top';
  const sample = plan.holes[5];
  const shapes: Shape[] = [];
  const at = (turn: number, r: number): Point => {
    const a = (turn * Math.PI) / 180;
    return { x: 120 + r * Math.sin(a), y: middle - r * Math.cos(a) };
  };
  let rays = '';
  let heads = '';
  for (let turn = 0; turn < 360; turn += 45) {
    rays += stroke(at(turn, 7), at(turn, 34));
    if (turn !== direction) heads += ellipse(at(turn, 34).x, at(turn, 34).y, 1);
  }
  shapes.push(cord(own, rays, plan.thick * 0.55), area('hole', heads));
  if (sample) {
    for (const r of [14, 23, 32]) {
      shapes.push(...through(at(direction, r), other, fromFace(sample, own), 0, false, plan.thick * 1.3, 0));
    }
  }
  shapes.push(area('mark', arrow(at(direction + 34, 20), at(direction + 16, 43), 8)));
  return shapes;
}

export function faceView(plan: Plan, own: Thread): View {
  const { params, thick } = plan;
  const other: Thread = own === 'top' ? 'bobbin' : 'top';
  const side = own === 'top' ? 'top' : 'back';
  const shapes: Shape[] = [area('cloth', box(0, 0, width, height))];
  if (params.where.kind === 'ray') {
    shapes.push(...star(plan, own, params.where.direction));
  } else {
    const sewn = plan.holes.filter((h) => h.at <= plan.last);
    shapes.push(...clothMarks(plan, own, middle, height));
    shapes.push(
      ...holeMark(
        sewn.map((h) => ({ ...lineAt(plan, h.x), open: h.skipped })),
        params.holeWidth,
        thick,
      ),
    );
    if (params.lock.kind === 'wander')
      shapes.push(area('steel', stroke({ x: 78, y: middle + 22 }, { x: 122, y: middle - 24 })));
    shapes.push(...(params.chord === own ? chord(plan, own) : lying(plan, own)));
    if (params.lock.kind === 'wander') shapes.push(area('steel', ellipse(123, middle - 26, 4)));
    for (const hole of params.chord ? [] : sewn) {
      if (hole.skipped || params.lock.kind === 'wander') continue;
      const wire = hole[own] === 'straight';
      shapes.push(
        ...through(lineAt(plan, hole.x), other, fromFace(hole, own), loopOf(hole[other]), wire, thick, hole.at),
      );
    }
    if (params.fibre === side) {
      const tufts = sewn.flatMap(({ x }) =>
        [-5, -4, -2, -1, 0, 1, 2, 4, 5].map((d) => ({ x: x + d, y: middle + (d % 3) })),
      );
      shapes.push(area('fibre', hairs(tufts, 20)));
    }
    if (params.wad !== undefined && own === 'bobbin') {
      const x = plan.holes[params.wad]?.x ?? 120;
      for (const [of, turn] of [
        ['top', 0],
        ['bobbin', 50],
        ['top', 200],
      ] as const) {
        shapes.push(cord(of, tangle(x, middle, 24, turn), thick * 0.7));
      }
    }
    const odd = oddHole(plan);
    if (odd && loopOf(odd[other]) > 0)
      shapes.push(area('mark', arrow({ x: odd.x + 84, y: 12 }, { x: odd.x + 30, y: 22 }, 12)));
    const end = params.ends;
    if (end) shapes.push(...endOf(end, lineAt(plan, plan.holes[end.hole]?.x ?? 0), own, thick));
    if (params.lock.kind === 'wave') {
      const [a, b] = [plan.holes[0]?.x ?? 0, (plan.holes[0]?.x ?? 0) + 40 * params.lock.period];
      const y = height - 10;
      const arms = arrow({ x: (a + b) / 2, y }, { x: a, y }) + arrow({ x: (a + b) / 2, y }, { x: b, y });
      shapes.push(
        area(
          'mark',
          `${arms}${stroke({ x: a, y: y - 6 }, { x: a, y: y + 6 })}${stroke({ x: b, y: y - 6 }, { x: b, y: y + 6 })}`,
        ),
      );
    }
  }
  if (plan.letters) {
    shapes.push({
      kind: 'text',
      of: own,
      x: 5,
      y: plan.letters + 1,
      size: plan.letters,
      text: own === 'top' ? 'T' : 'B',
    });
  }
  return { height, shapes };
}
