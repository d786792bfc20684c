/**
 * What one small piece of sewing looks like, as numbers. `stitch.ts` draws any of these in three views (top face, back
 * face, section). The picture is six holes wide; holes are numbered 0 to 5 from where the sewing began.
 *
 * Own choice throughout, no published source: the parameters describe what is seen, they measure nothing.
 */

/** The holes in one picture. */
export const holesShown = 6;

/**
 * Depth of a lock: 0 on the top face, 0.5 in the middle of the batting, 1 on the back face. Below 0 it stands above the
 * top face, over 1 it hangs below the back.
 */
export type Depth = number;

/** Where the locks lie along the line. */
export type Lock =
  | { readonly kind: 'level'; readonly depth: Depth }
  /** Hole by hole, one depth and then the other. */
  | { readonly kind: 'alternate'; readonly depths: readonly [Depth, Depth] }
  /** Each hole elsewhere within `spread` of the middle; the drawing picks fixed offsets, not random ones. */
  | { readonly kind: 'wander'; readonly middle: Depth; readonly spread: number }
  /** A sine over `period` holes. */
  | { readonly kind: 'wave'; readonly middle: Depth; readonly swing: number; readonly period: number }
  /** From the first hole to the last in a straight line. */
  | { readonly kind: 'drift'; readonly from: Depth; readonly to: Depth };

/** How a thread lies: straight as a wire, dipping a little at each hole, or standing in free loops. */
export type ThreadForm = 'straight' | 'gentle' | { readonly loop: number }; // loop height: 1 = a quarter of the sandwich's thickness

/** Which holes are at fault. The others are drawn balanced (lock 0.5, both threads gentle). */
export type Where =
  | { readonly kind: 'every' }
  | { readonly kind: 'holes'; readonly holes: readonly number[] }
  /** All holes lie on a curve, and all of them show it. */
  | { readonly kind: 'curve' }
  /** A star of eight short lines of which one shows it; 0 = away, clockwise seen from above. */
  | { readonly kind: 'ray'; readonly direction: 0 | 45 | 90 | 135 | 180 | 225 | 270 | 315 }
  /** A shaded patch of other cloth from one hole to another, inside which it shows. */
  | { readonly kind: 'patch'; readonly from: number; readonly to: number };

export type StitchParams = {
  readonly lock: Lock;
  readonly top: ThreadForm;
  readonly bobbin: ThreadForm;
  readonly where: Where;
  /** Stitch lengths: all alike, or long and short. */
  readonly length: 'even' | 'uneven';
  /** On a curve: the thread that cuts the corner as a chord, while the other's legs lean over to it. */
  readonly chord?: 'top' | 'bobbin';
  /** Holes the needle made with no lock in them: both threads pass over. */
  readonly skipped?: readonly number[];
  /** A thread that ends at a hole, and how its end looks. Beyond it only the other thread goes on. */
  readonly ends?: {
    readonly thread: 'top' | 'bobbin';
    readonly hole: number;
    readonly look: 'clean' | 'frayed' | 'kinked';
  };
  /** A hard wad of thread under one hole. */
  readonly wad?: number;
  /** Width of the needle holes in thread widths; 1 = closed up. */
  readonly holeWidth: number;
  /** The cloth: flat, drawn together at the line, lifted with the needle, or pushed up in a wave ahead of the foot. */
  readonly cloth: 'flat' | 'drawn' | 'lifted' | 'wave';
  /** Tufts of batting drawn through at the holes of this face. */
  readonly fibre?: 'top' | 'back';
};
