import { tick } from './drawings';
import './star-picker.css';

/** 0 = away from you, then clockwise seen from above. */
export type RayId = 0 | 45 | 90 | 135 | 180 | 225 | 270 | 315 | 'circle-left' | 'circle-right';
/** `mark` is the short sign in the ray's target, '' for one that looks like the rest; `name` says the ray and its score. */
export type Ray = { id: RayId; name: string; mark: string };

/**
 * The sewn star seen from above, you at the lower edge. All rays count as alike until tapped; each tap moves one ray on
 * to its next score, which the caller decides. Circles stand under the star.
 */
export function StarPicker(props: { label: string; rays: readonly Ray[]; onCycle: (id: RayId) => void }) {
  const rays = props.rays.filter((ray) => typeof ray.id === 'number');
  const circles = props.rays.filter((ray) => typeof ray.id === 'string');
  const spot = (turn: number, r: number) => {
    const a = (turn * Math.PI) / 180;
    return [50 + r * Math.sin(a), 50 - r * Math.cos(a)] as const;
  };
  return (
    <fieldset class="star">
      <legend class="unseen">{props.label}</legend>
      <div class="rays">
        <svg viewBox="0 0 100 100" aria-hidden="true">
          {rays.map((ray) => {
            const [x, y] = spot(Number(ray.id), 28);
            const [a, b] = spot(Number(ray.id), 9);
            return <path key={ray.id} class={ray.mark ? 'odd' : undefined} d={`M${a} ${b}L${x} ${y}`} />;
          })}
        </svg>
        {rays.map((ray) => {
          const [x, y] = spot(Number(ray.id), 42);
          return <Target key={ray.id} ray={ray} onCycle={props.onCycle} style={{ left: `${x}%`, top: `${y}%` }} />;
        })}
      </div>
      <div class="circles">
        {circles.map((ray) => (
          <Target key={ray.id} ray={ray} onCycle={props.onCycle} />
        ))}
      </div>
    </fieldset>
  );
}

function Target(props: { ray: Ray; onCycle: (id: RayId) => void; style?: { left: string; top: string } }) {
  const { ray, onCycle, style } = props;
  return (
    <button type="button" style={style} class={ray.mark ? 'odd' : undefined} onClick={() => onCycle(ray.id)}>
      <span class="unseen">{ray.name}</span>
      {ray.id === 'circle-left' && <Turn mirrored />}
      {ray.id === 'circle-right' && <Turn />}
      {ray.mark ? <span aria-hidden="true">{ray.mark}</span> : tick}
    </button>
  );
}

/** A circle with an arrow: to the right as the clock goes, mirrored to the left. */
function Turn({ mirrored }: { mirrored?: boolean }) {
  return (
    <svg class={mirrored ? 'turn mirrored' : 'turn'} viewBox="0 0 32 32" aria-hidden="true">
      <path d="M8 24A11 11 0 1 1 24 24M24 24L25 16M24 24L16 24" />
    </svg>
  );
}
