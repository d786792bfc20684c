import type { Mark, Piece } from '../domain/sheet';

const width = 43; // mm: two stand side by side on a card
const above = 10; // room for the words over the first line
const below = 3;

/**
 * One piece of the drop strip, a unit a millimetre: inches at the left edge, millimetres at the right, the band hatched
 * between them. `zero` are the words at the zero line, '' on a piece that does not begin there.
 */
export function PaperStrip(props: { piece: Piece; label: string; units: readonly [string, string]; zero: string }) {
  const { piece, label, units, zero } = props;
  const length = piece.to - piece.from;
  const height = above + length + below;
  const y = (mm: number) => round(above + mm);
  const { band } = piece;
  return (
    <svg
      class="paper-strip"
      viewBox={`0 0 ${width} ${height}`}
      width={`${width}mm`}
      height={`${height}mm`}
      role="img"
      aria-label={label}
    >
      <path d={`M0.2 0.2H${width - 0.2}V${height - 0.2}H0.2Z`} />
      {band && <path d={hatching(y(band.from), y(band.to))} />}
      {band && <path class="strong" d={`M16 ${y(band.from)}H25V${y(band.to)}H16Z`} />}
      <path class="strong" d={`M0.2 ${y(0)}H${width - 0.2}`} />
      <path d={ticks(piece.inches, y, 0.2, 1, false)} />
      <path class="strong" d={ticks(piece.inches, y, 0.2, 1, true)} />
      <path d={ticks(piece.millimetres, y, width - 0.2, -1, false)} />
      <path class="strong" d={ticks(piece.millimetres, y, width - 0.2, -1, true)} />
      {figures(piece.inches, y, 11)}
      {figures(piece.millimetres, y, width - 13)}
      <text x="4" y="4.4">
        {units[0]}
      </text>
      <text x={width - 6} y="4.4">
        {units[1]}
      </text>
      {zero && (
        <text x={width / 2} y={above - 1.2}>
          {zero}
        </text>
      )}
    </svg>
  );
}

const round = (mm: number) => Math.round(mm * 1000) / 1000;

function ticks(marks: readonly Mark[], y: (mm: number) => number, edge: number, way: 1 | -1, strong: boolean): string {
  return marks
    .filter((m) => m.strong === strong)
    .map((m) => `M${edge} ${y(m.mm)}h${way * (m.strong ? 8 : m.label ? 7 : 4)}`)
    .join('');
}

/** Beside its line; at the first line below it, for that one goes all the way across. */
const figures = (marks: readonly Mark[], y: (mm: number) => number, x: number) =>
  marks.flatMap((m) =>
    m.label === undefined
      ? []
      : [
          <text key={`${x} ${m.label}`} x={x} y={round(y(m.mm) + (m.mm < 1 ? 5 : 1.6))}>
            {m.label}
          </text>,
        ],
  );

function hatching(from: number, to: number): string {
  let d = '';
  for (let y = from + 3; y < to; y += 3) d += `M16 ${round(y)}L25 ${round(Math.max(from, y - 6))}`;
  return d;
}
