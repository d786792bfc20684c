/**
 * One thread on its way through the cut. It is drawn as the top thread, which lies above and dips down into each hole;
 * the bobbin thread is its mirror image: `up` is 1 for the one and -1 for the other.
 */
import { type Faces, facesAt } from './stitch-band';
import { type Hole, loopOf, type Plan } from './stitch-plan';
import { bend, curve, line, move, type Point, type Thread, width } from './stitch-shapes';

/** The whole way, and its rising halves alone: they lie in front of the other thread, the sinking ones behind it. */
export type Run = { readonly whole: string; readonly front: string };

const upOf = (of: Thread) => (of === 'top' ? 1 : -1);
const lying = (f: Faces, of: Thread) => (of === 'top' ? f.top - 2 : f.back + 2);
const lockY = (f: Faces, depth: number) => f.top + (f.back - f.top) * depth;

/** Where a thread stands that is straight as a wire: on its face, or off it when the lock stands off it. */
function wireY(plan: Plan, of: Thread, hole: Hole): number {
  const f = facesAt(plan, hole.x);
  const lies = lying(f, of);
  if (plan.params.cloth === 'drawn') return lies;
  const stands = lockY(f, hole.depth) - 2 * upOf(of);
  return of === 'top' ? Math.min(lies, stands) : Math.max(lies, stands);
}

/** The farthest point of a thread in a hole: a little past the lock, round the other's wire, or at the end of a loop. */
function reach(plan: Plan, of: Thread, hole: Hole, loop: number): number {
  const up = upOf(of);
  const other: Thread = of === 'top' ? 'bobbin' : 'top';
  const f = facesAt(plan, hole.x);
  if (loop >= 1.5)
    return lying(f, other) + (loop < 3 ? Math.min(18 * loop, up > 0 ? 36 : 25) : 3 + 9 * Math.min(loop, 3.6)) * up; // one by itself has room
  if (hole[other] === 'straight') return wireY(plan, other, hole) + (plan.thick * 0.85 + 6 * Math.min(loop, 1)) * up;
  return lockY(f, hole.depth) + 3 * up;
}

type Dip = {
  readonly x: number;
  /** Where it goes into the cloth and where it would come out on the other side. */
  readonly lip: number;
  readonly out: number;
  readonly end: number;
  readonly loop: number;
};

/** From the lip at x − 9 down to the lock and up again, or out of the other face into a free loop. */
function dip({ x, lip, out, end, loop }: Dip, up: 1 | -1): { down: string; rise: string } {
  if (loop < 1.5) {
    return { down: curve(x - 2, lip, x - 4, end, x, end), rise: curve(x + 4, end, x + 2, lip, x + 9, lip) };
  }
  const bulge = loop < 3 ? 11 * loop : Math.min(5 + 3.5 * loop, 17);
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

/** From one lip to the next along the face: flat, in a slack arch, or following the cloth where that bends. */
function span(plan: Plan, of: Thread, from: Point, to: Point): string {
  const long = to.x - from.x;
  if (plan.params.lock.kind === 'wander' && long > 12) {
    const arch = 15.6 * upOf(of);
    return curve(from.x + 5, from.y - arch, to.x - 5, to.y - arch, to.x, to.y);
  }
  if (plan.params.cloth === 'flat' || long < 6) {
    const half = (from.x + to.x) / 2;
    return from.y === to.y ? line([to.x, to.y]) : curve(half, from.y, half, to.y, to.x, to.y);
  }
  const half = (from.x + to.x) / 2;
  const on = lying(facesAt(plan, half), of);
  return bend(half, 2 * on - (from.y + to.y) / 2, to.x, to.y); // passes through the cloth's own height half-way
}

/** The end of a broken thread, standing out of its last hole. */
function tail({ x, y }: Point, up: number, look: 'clean' | 'frayed' | 'kinked'): string {
  const off = -13 * up;
  return look === 'kinked'
    ? curve(x + 26, y, x + 20, y + off * 1.6, x + 8, y + off) +
        curve(x, y + off * 0.2, x + 34, y, x + 24, y + off * 1.5)
    : curve(x + 6, y, x + 12, y + off * 0.4, x + 14, y + off);
}

export function run(plan: Plan, of: Thread): Run {
  const { params } = plan;
  const up = upOf(of);
  const ends = params.ends?.thread === of ? params.ends : undefined;
  const stops = plan.holes.filter((h) => h.at <= Math.min(plan.last, ends?.hole ?? plan.last));
  const atEdge = (h: Hole | undefined, x: number): Point => ({
    x,
    y: h?.[of] === 'straight' ? wireY(plan, of, h) : lying(facesAt(plan, x), of),
  });
  const first = stops[0];
  let at = plan.begins && first ? { x: first.x - 9, y: lying(facesAt(plan, first.x), of) } : atEdge(first, -6);
  let whole = move(at.x, at.y);
  let front = '';
  const go = (to: Point) => {
    whole += span(plan, of, at, to);
    at = to;
  };
  for (const hole of stops) {
    if (hole.skipped) continue;
    const { x } = hole;
    if (hole[of] === 'straight') {
      go({ x, y: wireY(plan, of, hole) });
      continue;
    }
    const f = facesAt(plan, x);
    const lip = lying(f, of);
    const loop = params.lock.kind === 'wander' ? 0 : loopOf(hole[of]);
    const end = reach(plan, of, hole, loop);
    const { down, rise } = dip({ x, lip, out: of === 'top' ? f.back : f.top, end, loop }, up);
    go({ x: x - 9, y: lip });
    whole += down + rise;
    if (loop < 1.5) front += move(x, end) + rise; // a free loop lies before everything already
    at = { x: x + 9, y: lip };
  }
  if (ends) whole += tail(at, up, ends.look);
  else if (plan.last === plan.holes.length - 1) go(atEdge(stops[stops.length - 1], width + 6));
  return { whole, front };
}
