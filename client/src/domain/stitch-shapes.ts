/**
 * The small vocabulary of the stitch picture: shapes with roles and no colours, and the few pens that make them.
 * Lengths are picture units: a picture is 240 wide, one stitch of 2.5 mm is 40, so 5 mm is 80.
 */

export type Thread = 'top' | 'bobbin';

/** What a plain shape is made of; the view knows how each is painted in every theme. */
export type Paint = 'cloth' | 'batting' | 'weave' | 'patch' | 'hole' | 'daylight' | 'mark' | 'fine' | 'fibre' | 'steel';

export type Shape =
  | { readonly kind: 'area'; readonly paint: Paint; readonly d: string }
  /** A thread seen as a cord; `d` is its middle. */
  | { readonly kind: 'cord'; readonly of: Thread; readonly d: string; readonly width: number }
  /** Plump stitches between holes: their outlines, and the slanted lines where one ply winds over the next. */
  | { readonly kind: 'stitches'; readonly of: Thread; readonly outline: string; readonly plies: string }
  /** Where a thread shows in a hole, or stands up in a bump: too short to be dashed. */
  | { readonly kind: 'specks'; readonly of: Thread; readonly d: string }
  /** Loose fibres of a thread that frays. */
  | { readonly kind: 'fur'; readonly of: Thread; readonly d: string }
  /** A letter or a length, `size` units tall. */
  | {
      readonly kind: 'text';
      readonly of: Thread | 'mark';
      readonly x: number;
      readonly y: number;
      readonly size: number;
      readonly text: string;
    };

export type View = { readonly height: number; readonly shapes: readonly Shape[] };
export type Point = { readonly x: number; readonly y: number };

export const width = 240;

/** A number as short as a picture needs it: a tenth of a unit; + 0 turns -0 into 0. */
export const n = (v: number): string => String(Math.round(v * 10) / 10 + 0);
const xy = (x: number, y: number) => `${n(x)} ${n(y)}`.replace(' -', '-');

export const area = (paint: Paint, d: string): Shape => ({ kind: 'area', paint, d });
export const cord = (of: Thread, d: string, wide: number): Shape => ({ kind: 'cord', of, d, width: wide });

export const move = (x: number, y: number) => `M${xy(x, y)}`;
export const line = (...points: readonly (readonly [x: number, y: number])[]) =>
  points.map(([x, y]) => `L${xy(x, y)}`).join('');
export const curve = (a: number, b: number, c: number, d: number, x: number, y: number) =>
  `C${xy(a, b)} ${xy(c, d)} ${xy(x, y)}`.replaceAll(' -', '-');
export const bend = (a: number, b: number, x: number, y: number) => `Q${xy(a, b)} ${xy(x, y)}`;
export const stroke = (a: Point, b: Point) => move(a.x, a.y) + line([b.x, b.y]);

export const ellipse = (x: number, y: number, rx: number, ry = rx) =>
  `${move(x - rx, y)}a${n(rx)} ${n(ry)} 0 1 0 ${n(2 * rx)} 0a${n(rx)} ${n(ry)} 0 1 0 ${n(-2 * rx)} 0Z`;

export const box = (x: number, y: number, w: number, h: number) => `${move(x, y)}h${n(w)}v${n(h)}h${n(-w)}Z`;

/**
 * A stitch from hole to hole as a lens, pointed where it goes into the cloth; `plump` is half its thickness. The plies lean
 * by `lean`: forward for a positive one.
 */
export function lens(a: Point, b: Point, plump: number, lean: number): { outline: string; plies: string } {
  const [dx, dy] = [b.x - a.x, b.y - a.y];
  const len = Math.hypot(dx, dy) || 1;
  const [ux, uy] = [dx / len, dy / len];
  const at = (along: number, across: number): [number, number] => [
    a.x + ux * along - uy * across,
    a.y + uy * along + ux * across,
  ];
  const ends: [number, number] = [Math.min(3, len / 8), len - Math.min(3, len / 8)];
  const bulge = plump * 1.45; // a cubic reaches three quarters of its handles
  const side = (from: number, to: number, across: number) => {
    const third = (to - from) / 5;
    return curve(...at(from + third, across), ...at(to - third, across), ...at(to, 0));
  };
  const long = ends[1] - ends[0];
  const turns = Math.max(2, Math.round(long / 7));
  let plies = '';
  for (let i = 1; i < turns; i += 1) {
    const across = 0.8 * plump * Math.sqrt(Math.sin((Math.PI * i) / turns));
    const mid = ends[0] + (long * i) / turns;
    const [from, to] = [at(mid - lean, across), at(mid + lean, -across)];
    plies += `${move(...from)}l${xy(to[0] - from[0], to[1] - from[1])}`;
  }
  return {
    outline: `${move(...at(ends[0], 0))}${side(ends[0], ends[1], -bulge)}${side(ends[1], ends[0], bulge)}Z`,
    plies,
  };
}

/** A free loop that stands out of a hole at (x, y), leaning by `lean` degrees from straight down, `tall` units long, `slim` or round. */
export function loop(x: number, y: number, tall: number, lean: number, slim = 0.42): string {
  const [s, c] = [Math.sin((lean * Math.PI) / 180), Math.cos((lean * Math.PI) / 180)];
  const at = (across: number, down: number): [number, number] => [x + across * c - down * s, y + across * s + down * c];
  const w = 4 + tall * slim;
  return (
    move(...at(-1.5, 0)) +
    curve(...at(-w, tall * 0.35), ...at(-w * 0.9, tall), ...at(0, tall)) +
    curve(...at(w * 0.9, tall), ...at(w, tall * 0.35), ...at(1.5, 0))
  );
}

/** A hard tangle about (x, y): fixed turns, so that the same wad is drawn each time. */
export function tangle(x: number, y: number, r: number, turn: number): string {
  const whole = Math.round;
  let d = '';
  for (let i = 0; i < 8; i += 1) {
    const a = (i * 140 + turn) * (Math.PI / 180);
    const b = a + 2.1;
    const far = r * (0.65 + 0.35 * Math.abs(Math.sin(i * 1.7 + turn)));
    const [px, py] = [whole(x + far * Math.cos(a) * 1.25), whole(y + far * Math.sin(a) * 0.85)];
    const [c, s] = [whole(r * Math.cos(b)), whole(r * Math.sin(a))];
    const [e, f] = [whole(r * Math.sin(b)), whole(r * Math.cos(b))];
    d += i === 0 ? move(px, py) : curve(x + c, y - s, x - e, y + f, px, py);
  }
  return d;
}

/** Short hairs on a line of points: fur of a frayed thread, wisps of batting. */
export function hairs(points: readonly Point[], long: number): string {
  return points
    .map(({ x, y }, i) => {
      const a = ((i * 97) % 360) * (Math.PI / 180);
      const [dx, dy] = [Math.round(long * Math.cos(a)), Math.round(long * Math.sin(a))];
      return `${move(x, y)}q${xy(Math.round(dx / 2) + 2, Math.round(dy / 2) - 2)} ${xy(dx, dy)}`.replaceAll(' -', '-');
    })
    .join('');
}

/** An arrow from a to b, its head of two strokes. */
export function arrow(a: Point, b: Point, head = 6): string {
  const t = Math.atan2(b.y - a.y, b.x - a.x);
  const barb = (turn: number): [number, number] => [b.x - head * Math.cos(t + turn), b.y - head * Math.sin(t + turn)];
  return `${stroke(a, b)}${move(...barb(0.55))}${line([b.x, b.y], barb(-0.55))}`;
}
