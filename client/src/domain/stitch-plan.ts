/** From the parameters of a stitch to what each of its holes looks like: what all three views have in common. */
import { holesShown, type Lock, type StitchParams, type ThreadForm } from './stitch-params';
import { width } from './stitch-shapes';

/** One needle hole: where it is and what happened in it. */
export type Hole = {
  readonly at: number;
  readonly x: number;
  readonly depth: number;
  readonly top: ThreadForm;
  readonly bobbin: ThreadForm;
  /** A hole without a lock, because the stitch was skipped or a thread had ended. */
  readonly skipped: boolean;
};

export type Plan = {
  readonly params: StitchParams;
  readonly holes: readonly Hole[];
  /** Thickness of a thread in units: bolder in small pictures. */
  readonly thick: number;
  /** Height of letters in units, 15 px on the screen, or 0 for none. */
  readonly letters: number;
  /** Sewing began in hole 0: nothing lies before it. */
  readonly begins: boolean;
  /** The last hole that was sewn, before the needle was jammed. */
  readonly last: number;
};

const uneven = [14, 76, 96, 152, 172, 228];
const offsets = [0.6, -1, 0.3, -0.4, 1, -0.7]; // where a wandering lock stands: fixed, so that a picture never changes

function depthAt(lock: Lock, i: number): number {
  switch (lock.kind) {
    case 'level':
      return lock.depth;
    case 'alternate':
      return lock.depths[i % 2 === 0 ? 0 : 1];
    case 'wander':
      return lock.middle + lock.spread * (offsets[i] ?? 0);
    case 'wave': // the first crest, toward the top face, stands in hole 0
      return lock.middle - lock.swing * Math.cos((2 * Math.PI * i) / lock.period);
    case 'drift':
      return lock.from + ((lock.to - lock.from) * i) / (holesShown - 1);
  }
}

function atFault({ where }: StitchParams, i: number): boolean {
  switch (where.kind) {
    case 'every':
    case 'curve':
      return true;
    case 'ray': // the cut shows a good line, and beside it the one that is not
      return i >= 3;
    case 'holes':
      return where.holes.includes(i);
    case 'patch':
      return i >= where.from && i <= where.to;
  }
}

function holeAt(params: StitchParams, at: number): Hole {
  const x = params.length === 'uneven' ? (uneven[at] ?? 0) : 20 + 40 * at;
  const ended = params.ends !== undefined && at > params.ends.hole;
  const skipped = ended || (params.skipped?.includes(at) ?? false);
  const fault = atFault(params, at);
  return {
    at,
    x,
    depth: fault ? depthAt(params.lock, at) : 0.5,
    top: fault ? params.top : 'gentle',
    bobbin: fault ? params.bobbin : 'gentle',
    skipped,
  };
}

export const loopOf = (form: ThreadForm): number => (typeof form === 'object' ? form.loop : 0);

/** The one hole of the picture that is not like the rest, where there is just one. */
export function oddHole({ params, holes }: Plan): Hole | undefined {
  const { where } = params;
  return where.kind === 'holes' && where.holes.length === 1 ? holes[where.holes[0] ?? -1] : undefined;
}

/** `size` is how wide the picture will stand, in px. */
export function planOf(params: StitchParams, size: number): Plan {
  const small = size < 200;
  const { where } = params;
  return {
    params,
    holes: Array.from({ length: holesShown }, (_, at) => holeAt(params, at)),
    thick: small ? 6.5 : 5.5,
    letters: small ? 0 : (15 * width) / size,
    begins:
      where.kind === 'holes' && where.holes.includes(0) && Math.max(loopOf(params.top), loopOf(params.bobbin)) >= 3,
    last: params.wad ?? holesShown - 1,
  };
}
