import { starDirections } from '../domain/sheet';

/**
 * The star from above, a unit a millimetre, with oneself at the lower edge: eight lines of `ray` from the middle, and a circle each
 * way. `names` are the words at the ends of the lines, in the order of `starDirections`.
 */
export function PaperStar(props: {
  ray: number;
  circle: number;
  label: string;
  names: readonly string[];
  ways: readonly [string, string];
}) {
  const { ray, circle, label, names, ways } = props;
  const edge = ray + 8;
  const below = edge + 4 + circle;
  const height = below + circle + 4;
  const spot = (turn: number, r: number) => {
    const a = (turn * Math.PI) / 180;
    return [Math.round(100 * r * Math.sin(a)) / 100, Math.round(-100 * r * Math.cos(a)) / 100] as const;
  };
  return (
    <svg
      class="paper-star"
      viewBox={`${-edge} ${-edge} ${2 * edge} ${edge + height}`}
      width={`${2 * edge}mm`}
      height={`${edge + height}mm`}
      role="img"
      aria-label={label}
    >
      {starDirections.map((turn, i) => {
        const [x, y] = spot(turn, ray);
        const level = turn % 180 === 90; // its name stands on the line, so that it stays on the paper
        return (
          <g key={turn}>
            <path class="strong" d={`M0 0L${x} ${y}`} />
            <text
              x={x}
              y={level ? -2 : y < 0 ? y - 2 : y + 5.5}
              style={{ textAnchor: level ? (x > 0 ? 'end' : 'start') : 'middle' }}
            >
              {names[i]}
            </text>
          </g>
        );
      })}
      {([-1, 1] as const).map((side, i) => (
        <g key={side}>
          <circle class="strong" cx={side * (circle + 4)} cy={below} r={circle} />
          <path d={arrow(side * (circle + 4), below - circle, side)} />
          <text x={side * (circle + 4)} y={below + 1.5}>
            {ways[i]}
          </text>
        </g>
      ))}
    </svg>
  );
}

/** At the top of a circle: the way it is sewn. */
const arrow = (x: number, y: number, way: 1 | -1) =>
  `M${x - 2 * way} ${y - 2}L${x + 2 * way} ${y}L${x - 2 * way} ${y + 2}`;
