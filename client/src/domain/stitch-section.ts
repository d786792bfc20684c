/**
 * The cut along the line of stitches: top fabric, batting and backing, and in each hole the two threads hooked round one
 * another where the lock lies. The straight thread is the one that pulls: it never bends, and the other is drawn round it.
 */
import { back, clothBand, facesAt, machineParts, top } from './stitch-band';
import { endCut } from './stitch-ends';
import { loopOf, oddHole, type Plan } from './stitch-plan';
import { run } from './stitch-run';
import { area, arrow, box, cord, ellipse, hairs, type Shape, stroke, tangle, type View } from './stitch-shapes';

const height = 126;

/** The bobbin as it empties: full at the left, nearly bare at the right. */
function bobbins(): Shape[] {
  const [full, bare, y] = [24, 92, 98];
  return [
    area('daylight', ellipse(full, y, 16) + ellipse(bare, y, 16)),
    { kind: 'specks', of: 'bobbin', d: ellipse(full, y, 14) + ellipse(bare, y, 7) },
    area('daylight', ellipse(full, y, 4) + ellipse(bare, y, 4)),
    area('mark', arrow({ x: 44, y }, { x: 70, y }, 7)),
  ];
}

export function sectionView(plan: Plan): View {
  const { params, thick } = plan;
  const sewn = plan.holes.filter((h) => h.at <= plan.last);
  const shapes: Shape[] = clothBand(plan);
  if (params.where.kind === 'patch') {
    const from = (plan.holes[params.where.from]?.x ?? 0) - 18;
    const to = (plan.holes[params.where.to]?.x ?? 0) + 18;
    shapes.push(area('patch', box(from, top - 5, to - from, 9)));
  }
  const wide = params.holeWidth > 1.5 ? thick * params.holeWidth : 0;
  for (const h of sewn) {
    const f = facesAt(plan, h.x);
    if (wide) shapes.push(area('daylight', box(h.x - wide / 2, f.top - 1, wide, f.back - f.top + 2)));
    else if (h.skipped) shapes.push(area('daylight', box(h.x - 3, f.top, 6, f.back - f.top)));
  }
  const b = run(plan, 'bobbin');
  const t = run(plan, 'top');
  const thin = thick * 0.8;
  shapes.push(cord('top', t.whole, thin), cord('bobbin', b.whole, thin));
  // Which thread lies in front is too fine for a small picture, and no matter where it is the cloth that moves.
  if (t.front && plan.letters && params.cloth === 'flat') shapes.push(cord('top', t.front, thin));
  if (params.fibre) {
    const y = params.fibre === 'top' ? top - 2 : back + 3;
    shapes.push(
      area(
        'fibre',
        hairs(
          sewn.flatMap(({ x }) => [-7, -5, -2, 0, 2, 5, 7].map((d) => ({ x: x + d, y }))),
          11,
        ),
      ),
    );
  }
  if (params.wad !== undefined) {
    const x = plan.holes[params.wad]?.x ?? 120;
    shapes.push(cord('bobbin', tangle(x, 91, 18, 70), thin), cord('top', tangle(x, 90, 17, 10), thin));
  }
  if (params.lock.kind === 'drift') shapes.push(...bobbins());
  const odd = oddHole(plan);
  if (odd) {
    const [from, to] = loopOf(odd.top) > 0 ? [108, 92] : [6, 14];
    shapes.push(area('mark', arrow({ x: odd.x - 84, y: from }, { x: odd.x - 30, y: to }, 12)));
  }
  if (params.where.kind === 'ray') {
    shapes.push(
      area('mark', arrow({ x: 16, y: 12 }, { x: 92, y: 12 }, 8) + arrow({ x: 224, y: 12 }, { x: 148, y: 12 }, 8)),
    );
  }
  if (params.ends) shapes.push(...endCut(params.ends, plan.holes[params.ends.hole]?.x ?? 0, { top, back }, thin));
  shapes.push(...machineParts(plan));
  // 5 mm, two stitches of ten to the inch (2.54 mm, drawn as 2.5).
  const bar =
    stroke({ x: 152, y: 119 }, { x: 232, y: 119 }) +
    stroke({ x: 152, y: 115 }, { x: 152, y: 123 }) +
    stroke({ x: 232, y: 115 }, { x: 232, y: 123 });
  shapes.push(area('mark', bar));
  if (plan.letters) {
    const size = plan.letters;
    shapes.push(
      { kind: 'text', of: 'top', x: 5, y: size, size, text: 'T' },
      { kind: 'text', of: 'bobbin', x: 5, y: 119 + size * 0.36, size, text: 'B' },
      { kind: 'text', of: 'mark', x: 146, y: 119 + size * 0.36, size, text: '5 mm' },
    );
  }
  return { height, shapes };
}
