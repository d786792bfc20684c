/** The two plots, small enough for a phone. What each shows stands beside it in words. */
import type { Past, RoundCourse } from '../domain/task/history';
import './plots.css';

const wide = 260;
const high = 150;
const [left, right, top, bottom] = [74, 6, 22, 24];

/** Slanted lines that fill a box, for what is in or out of bounds without a colour. */
function hatched(x: number, y: number, w: number, h: number): string {
  let d = '';
  for (let at = 6; at < w + h; at += 9) {
    const [a, b] = [Math.min(at, w), Math.min(at, h)];
    d += `M${x + a} ${y + at - a}L${x + at - b} ${y + b}`;
  }
  return d;
}

/** Drops over time: one column for each thing that happened, in order. `scale` says a length at the axis. */
export function DropPlot(props: {
  past: readonly Past[];
  band: { readonly from: number; readonly to: number };
  label: string;
  scale: (tenths: number) => string;
}) {
  const { past, band, label, scale } = props;
  const highest = Math.max(band.to, ...past.map((p) => (p.was === 'drops' ? p.high : 0))) + 5;
  const y = (tenths: number) => Math.round(high - bottom - (tenths / highest) * (high - bottom - top));
  const x = (i: number) => Math.round(left + ((i + 0.5) / past.length) * (wide - left - right));
  return (
    <svg class="plot" viewBox={`0 0 ${wide} ${high}`} role="img" aria-label={label}>
      <path class="hatching" d={hatched(left, y(band.to), wide - left - right, y(band.from) - y(band.to))} />
      <path
        class="axis"
        d={`M${left} ${top}V${high - bottom}H${wide - right}M${left} ${y(band.from)}h-6M${left} ${y(band.to)}h-6`}
      />
      <text x={left - 9} y={y(band.from) + 5} text-anchor="end">
        {scale(band.from)}
      </text>
      <text x={left - 9} y={y(band.to) + 5} text-anchor="end">
        {scale(band.to)}
      </text>
      {past.map((p, i) => {
        const at = x(i);
        switch (p.was) {
          case 'drops':
            return (
              <g key={i}>
                <path class="spread" d={`M${at} ${y(p.low)}V${y(p.high)}`} />
                <circle class="dot" cx={at} cy={y(p.middle)} r="5" />
              </g>
            );
          case 'good':
            return <path key={i} class="good" d={`M${at - 6} ${high - 12}l5 5l8 -11`} />;
          default:
            return (
              <g key={i}>
                <path class="turned" d={`M${at} ${top}V${high - bottom}`} />
                {p.was === 'turned' && (
                  <text x={at} y={top - 6} text-anchor="middle">
                    {p.minutes > 0 ? `+${p.minutes}` : `−${-p.minutes}`}
                  </text>
                )}
              </g>
            );
        }
      })}
    </svg>
  );
}

/** Rounds of a balancing: how the stitch was against where the knob stood, the sides seen to be bad hatched. */
export function RoundPlot(props: {
  course: RoundCourse;
  label: string;
  words: { readonly looser: string; readonly tighter: string; readonly onTop: string; readonly onBack: string };
}) {
  const { course, label, words } = props;
  const { rounds, here, tooTight, tooLoose } = course;
  const places = [here, ...rounds.map((r) => r.place)];
  const [from, to] = [Math.min(...places) - 30, Math.max(...places) + 30];
  const x = (place: number) => Math.round(8 + ((place - from) / (to - from)) * (wide - 16));
  const [above, below] = [38, 142];
  const y = (score: number) => (above + below) / 2 - Math.round(score * 19);
  const box = (a: number, b: number) => hatched(a, above, b - a, below - above);
  const says = (x: number, y: number, text: string) => (
    <text x={x} y={y} text-anchor={x > 8 ? 'end' : undefined}>
      {text}
    </text>
  );
  return (
    <svg class="plot" viewBox={`0 0 ${wide} 186`} role="img" aria-label={label}>
      {tooLoose !== undefined && <path class="hatching" d={box(8, x(tooLoose))} />}
      {tooTight !== undefined && <path class="hatching" d={box(x(tooTight), wide - 8)} />}
      <path class="axis" d={`M8 ${above}H${wide - 8}V${below}H8Z`} />
      <path class="turned" d={`M8 ${y(0)}H${wide - 8}`} />
      <path class="here" d={`M${x(here)} ${above}l-6 -9h12Z`} />
      {rounds.map((r, i) => (
        <g key={i}>
          <circle class="ring" cx={x(r.place)} cy={y(r.score)} r="10" />
          <text x={x(r.place)} y={y(r.score) + 5} text-anchor="middle">
            {i + 1}
          </text>
        </g>
      ))}
      {says(8, 17, words.onBack)}
      {says(8, below + 18, words.onTop)}
      {says(8, below + 38, words.looser)}
      {says(wide - 8, below + 38, words.tighter)}
    </svg>
  );
}
