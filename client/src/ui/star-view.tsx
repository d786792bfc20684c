import './star-view.css';

/** `direction` in degrees: 0 = away from you, then clockwise seen from above; circles by name. `sign` is '' where it is good. */
export type SewnRay = { readonly direction: number | string; readonly sign: string };

/** A sewn star to look at, from above with you at the lower edge: thick rays with their signs are the odd ones. */
export function StarView(props: { label: string; rays: readonly SewnRay[]; caption?: string }) {
  const straight = props.rays.filter((r) => typeof r.direction === 'number');
  const circles = props.rays.filter((r) => typeof r.direction !== 'number');
  const spot = (turn: number, r: number) => {
    const a = (turn * Math.PI) / 180;
    return [50 + r * Math.sin(a), 50 - r * Math.cos(a)].map((n) => n.toFixed(1)) as [string, string];
  };
  return (
    <figure class="star-view">
      <svg viewBox={circles.length > 0 ? '0 0 100 122' : '0 0 100 100'} role="img" aria-label={props.label}>
        <circle class="you" cx="50" cy="50" r="1.6" />
        {straight.map((ray) => {
          const turn = Number(ray.direction);
          const [[x0, y0], [x, y], [tx, ty]] = [spot(turn, 6), spot(turn, 32), spot(turn, 42)];
          return (
            <g key={ray.direction} class={ray.sign ? 'odd' : undefined}>
              <path d={`M${x0} ${y0}L${x} ${y}`} />
              {ray.sign ? (
                <text x={tx} y={ty}>
                  {ray.sign}
                </text>
              ) : (
                <circle class="fine" cx={tx} cy={ty} r="2" />
              )}
            </g>
          );
        })}
        {circles.map((ray, i) => (
          <g key={ray.direction} class={ray.sign ? 'odd' : undefined}>
            <circle cx={34 + 32 * i} cy="109" r="9" />
            {ray.sign && (
              <text x={34 + 32 * i} y="109">
                {ray.sign}
              </text>
            )}
          </g>
        ))}
      </svg>
      {props.caption && <figcaption>{props.caption}</figcaption>}
    </figure>
  );
}
