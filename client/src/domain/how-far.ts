/**
 * How far to turn next. Where the knob balances is estimated from the rounds sewn (Bayes over straight lines, scores read as
 * words in order); of the steps this knob allows, the one is taken that is most likely to need no other.
 *
 * Scores are −2 … +2, below 0 where bobbin colour shows on top. Places are clock-minutes, + is tighter, counted from anywhere as
 * long as it is one count. Rounds from before anything but this knob changed do not belong here. Looking two rounds ahead was
 * tried on the virtual machine and saves nothing.
 */
import { type Node, normalBelow, type Pair } from './estimate';

export type Knob = 'top' | 'bobbin';
/** One round: where the knob stood, and the scores of its rays (of a case screw: −1 … +1 for what its drop said). */
export type Sewn = { readonly place: number; readonly scores: readonly number[] };
/** The pull behind the needle against what is usual: worth something only while far off. */
export type Felt = { readonly place: number; readonly is: 'as_usual' | 'stiff' | 'light' };
/** What is believed of a knob's slope: score per clock-minute, as a logarithm. */
export type Slope = { readonly at: number; readonly sd: number };

export type HowFarInput = {
  readonly knob: Knob;
  readonly here: number; // where it stands
  readonly rounds: readonly Sewn[]; // oldest first
  readonly feels?: readonly Felt[];
  readonly slope?: Slope; // learned from this studio's history
  /** Where it was good before on this machine with this pair, in the same count. */
  readonly home?: number;
};

/** How sure it is, in words only: that it needs no other turn, that it comes near, or a first guess. */
export type Sure = 'likely' | 'near' | 'guess';
export type HowFar = {
  /** + is tighter; 0: no step is as good as where it stands, or it stands between two places seen to be wrong with no step left. */
  readonly minutes: number;
  readonly sure: Sure;
  /** The rounds do not go with a knob that works: it was turned and nothing moved, or it moved the wrong way. */
  readonly doubt?: { readonly why: 'no-effect' | 'wrong-way'; readonly sewnAgain: boolean };
};

/**
 * Steps in clock-minutes: of the top 30 to 60 at a time and 15 when near, never more than one turn; of a case screw 5, and 2
 * when near. Common practice, no published source.
 */
export const allowedSteps: { readonly [knob in Knob]: readonly number[] } = { top: [15, 30, 45, 60], bobbin: [2, 5] };

/** From balance to the first dots: twenty minutes of the top, three of a case screw, within a factor of two or three. */
export const usualSlope: { readonly [knob in Knob]: Slope } = {
  top: { at: Math.log(0.5 / 20), sd: 0.55 },
  bobbin: { at: Math.log(0.5 / 3), sd: 0.55 },
};
/** How far off it may stand before anything is known (standard deviation), how far the grid reaches, and a place that was good before. */
const spans = {
  top: { sd: 150, reach: 360, home: 60, feel: 120 },
  bobbin: { sd: 12, reach: 30, home: 5, feel: 10 },
} as const;

/** Where the words part, on a scale on which "balanced" ends at ½; as the stitch pictures draw dots and loops. */
const [good, loops] = [0.5, 1.2];
/** Scatter from round to round, and how often a round is plainly misread. Neither matters much: half of it does as well. */
const scatter = 0.3;
const misread = 0.06;
/** What else may be: a knob that does nothing, one that turns the other way. */
const shares = { works: 0.94, dead: 0.04, backwards: 0.02 } as const;
/** Under this the readings contradict the knob. */
const believed = 0.8;
/** A place counts as lying on one side of the balance when it is this sure. */
const surely = 0.9;

const table = Float64Array.from({ length: 1601 }, (_, i) => normalBelow((i - 800) / 100));
const below = (z: number) => (z <= -8 ? 0 : z >= 8 ? 1 : (table[Math.round(z * 100) + 800] ?? 0));
const bell = (z: number) => Math.exp((-z * z) / 2);

type Stretch = { readonly low: number; readonly high: number };
const within = (y: number, s: Stretch) => below((s.high - y) / scatter) - below((s.low - y) / scatter);
const balanced: Stretch = { low: -good, high: good };

/** The stretch of the scale that a round's rays speak for: one word where they are alike, else around their mean. */
function stretch(scores: readonly number[]): Stretch {
  const mean = scores.reduce((n, s) => n + s, 0) / Math.max(1, scores.length);
  const size = Math.abs(mean);
  const side = (s: Stretch): Stretch => (mean < 0 ? { low: -s.high, high: -s.low } : s);
  if (scores.some((s) => s !== scores[0])) {
    const middle = size <= 1 ? 0.85 * size : 0.85 + 0.7 * (size - 1);
    return side({ low: middle - 0.35, high: middle + 0.35 });
  }
  if (size < 0.5) return balanced;
  return side(size < 1.5 ? { low: good, high: loops } : { low: loops, high: Number.POSITIVE_INFINITY });
}

/** Plainly misread: one face taken for the other, or anything at all. */
function chanceOf(y: number, s: Stretch): number {
  const mirrored = within(y, { low: -s.high, high: -s.low });
  return (1 - misread) * within(y, s) + (misread / 2) * (mirrored + 0.25);
}

/** `off`: how much tighter than balance it stands. */
function feelChance(off: number, is: Felt['is'], far: number): number {
  const [stiff, light] = [below((off - far) / (far / 2)), below((-off - far) / (far / 2))];
  return 0.05 + 0.85 * (is === 'stiff' ? stiff : is === 'light' ? light : 1 - stiff - light);
}

/** What is believed after the rounds: lines of a working knob (weights sum to 1; x from `here`), and whether it works. */
export type Estimate = { readonly lines: readonly Node[]; readonly works: number; readonly dead: number };

export function estimate(input: HowFarInput): Estimate {
  const { knob, here } = input;
  const rounds = input.rounds.map((r) => ({ x: r.place - here, is: stretch(r.scores) }));
  const feels = (input.feels ?? []).map((f) => ({ x: f.place - here, is: f.is }));
  const { feel } = spans[knob];
  const told = ({ alpha, beta, weight }: Node): Node => {
    let w = weight;
    for (const r of rounds) w *= chanceOf(alpha + beta * r.x, r.is);
    for (const f of feels) w *= beta === 0 ? 0.3 : feelChance(f.x + alpha / beta, f.is, feel);
    return { alpha, beta, weight: w };
  };
  const sum = (nodes: readonly Node[]) => nodes.reduce((n, x) => n + x.weight, 0);
  const slopes = slopesOf(input.slope ?? usualSlope[knob]);
  const lines = grid(input, slopes, 1).map(told);
  const [w, d, b] = [
    shares.works * sum(lines),
    shares.dead * sum(deadLines.map(told)),
    shares.backwards * sum(grid(input, slopes, -1).map(told)),
  ];
  const all = sum(lines);
  return {
    lines: lines.map((n) => ({ ...n, weight: n.weight / all })),
    works: w / (w + d + b),
    dead: d / (w + d + b),
  };
}

const rescaled = (nodes: readonly Node[]): readonly Node[] => {
  const all = nodes.reduce((n, x) => n + x.weight, 0);
  return nodes.map((n) => ({ ...n, weight: n.weight / all }));
};
const deadLines = rescaled(
  Array.from({ length: 13 }, (_, i) => (i - 6) / 2).map((y) => ({ alpha: y, beta: 0, weight: bell(y / 1.5) })),
);

/** Places on the grid: even, so that none lies on a place that a step can reach. */
const places = 96;

/** Lines y = α + βx over places of balance and slopes (logarithm and weight). A tighter top brings bobbin colour up, a tighter bobbin takes it down. */
function grid({ knob, here, rounds, home }: HowFarInput, slopes: readonly Pair[], turn: 1 | -1): readonly Node[] {
  const { sd, reach, home: near } = spans[knob];
  const from = (rounds[0]?.place ?? here) - here;
  const sign = (knob === 'top' ? -1 : 1) * turn;
  return rescaled(
    Array.from({ length: places }, (_, i) => from + reach * ((2 * i + 1) / places - 1)).flatMap((place) => {
      const anywhere = bell((place - from) / sd) / sd;
      const weight =
        home === undefined ? anywhere : 0.2 * anywhere + (0.8 * bell((place - (home - here)) / near)) / near;
      return slopes.map(([log, w]) => {
        const beta = sign * Math.exp(log);
        return { alpha: -beta * place, beta, weight: weight * w };
      });
    }),
  );
}
const slopesOf = ({ at, sd }: Slope): readonly Pair[] =>
  [-2, -1.5, -1, -0.5, 0, 0.5, 1, 1.5, 2].map((z) => [at + sd * z, bell(z)] as const);

export function howFar(input: HowFarInput): HowFar {
  const { knob, here, rounds } = input;
  const e = estimate(input);
  const last = rounds.at(-1)?.scores ?? [];
  const walls = wallsOf(e, rounds, here);
  // What shows now is not turned against, whatever earlier rounds say: where they disagree, it is sewn again.
  const way = Math.sign(last.reduce((t, s) => t + s, 0)) * (knob === 'top' ? 1 : -1);
  const best = allowedSteps[knob]
    .flatMap((m) => [m, -m])
    .filter((m) => m * way >= 0 && m > walls.low && m < walls.high)
    .map((minutes) => ({ minutes, chance: goodAt(e, minutes) }))
    .reduce((a, b) => (b.chance > a.chance ? b : a), { minutes: 0, chance: goodAt(e, 0) });
  const doubt = {
    why: e.dead > 1 - e.works - e.dead ? 'no-effect' : 'wrong-way',
    sewnAgain: rounds.filter((r) => r.place === here).length > 1,
  } as const;
  return {
    minutes: best.minutes,
    sure: best.chance > 0.6 ? 'likely' : best.chance > 0.35 ? 'near' : 'guess',
    ...(e.works < believed ? { doubt } : {}),
  };
}

/** Chance that a round sewn there is balanced. */
const goodAt = (e: Estimate, x: number) => sumOf(e, (n) => within(n.alpha + n.beta * x, balanced));
const sumOf = (e: Estimate, f: (n: Node) => number) => e.lines.reduce((t, n) => t + n.weight * f(n), 0);

/** Moves that stay off every place already seen to be on the wrong side, which the turn must not come back to or pass. */
function wallsOf(e: Estimate, rounds: readonly Sewn[], here: number): { readonly low: number; readonly high: number } {
  let [low, high] = [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY];
  for (const x of [...rounds.map((r) => r.place - here), 0]) {
    const tighter = sumOf(e, (n) => (-n.alpha / n.beta > x ? 1 : 0)); // the chance that balance lies tighter than there
    if (tighter > surely) low = Math.max(low, x);
    if (tighter < 1 - surely) high = Math.min(high, x);
  }
  return { low, high };
}

/**
 * The slope that earlier balancings of this knob speak for, each with a place of its own. Pairs of threads differ by about a
 * quarter (our estimate), so a single one never settles it.
 */
export function learnedSlope(knob: Knob, balancings: readonly (readonly Sewn[])[]): Slope {
  const usual = usualSlope[knob];
  const told = balancings.filter((rounds) => rounds.length > 1);
  if (told.length === 0) return usual;
  const zs = Array.from({ length: 17 }, (_, i) => (i - 8) / 4);
  let weights = zs.map(bell);
  for (const rounds of told) {
    const one: HowFarInput = { knob, here: rounds[0]?.place ?? 0, rounds };
    const likely = zs.map((z) => evidence(one, usual.at + usual.sd * z));
    weights = zs.map((z, i) => {
      const near = zs.map((y) => bell(((z - y) * usual.sd) / pairSpread));
      const blurred = near.reduce((t, n, k) => t + n * (likely[k] ?? 0), 0) / near.reduce((t, n) => t + n, 0);
      return (weights[i] ?? 0) * blurred;
    });
  }
  const all = weights.reduce((t, w) => t + w, 0);
  const mean = zs.reduce((t, z, i) => t + (z * (weights[i] ?? 0)) / all, 0);
  const variance = zs.reduce((t, z, i) => t + ((z - mean) ** 2 * (weights[i] ?? 0)) / all, 0);
  return { at: usual.at + usual.sd * mean, sd: Math.max(leastSpread, usual.sd * Math.sqrt(variance)) };
}

/** How much the slope differs from pair to pair of threads, and the least that stays unsure: seen on the virtual machine. */
const pairSpread = 0.25;
const leastSpread = 0.35;

/** How well a working knob of this slope explains the rounds. */
function evidence(input: HowFarInput, slope: number): number {
  const rounds = input.rounds.map((r) => ({ x: r.place - input.here, is: stretch(r.scores) }));
  return grid(input, [[slope, 1]], 1).reduce(
    (t, n) => t + rounds.reduce((w, r) => w * chanceOf(n.alpha + n.beta * r.x, r.is), n.weight),
    0,
  );
}
