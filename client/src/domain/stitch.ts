/**
 * The stitch picture: from what a piece of sewing is (`StitchParams`) to three views of it, as shapes without colours.
 * One function draws every symptom, so all have the same crop, scale, light (upper left) and pens; no drawing is kept.
 */
import { faceView } from './stitch-face';
import type { StitchParams } from './stitch-params';
import { planOf } from './stitch-plan';
import { sectionView } from './stitch-section';
import { type View, width } from './stitch-shapes';

export type { Paint, Shape, Thread, View } from './stitch-shapes';

/** Seen from above the top face, cut along the line, and from below the back face (not mirrored: hole under hole). */
export type StitchScene = {
  readonly width: number;
  readonly top: View;
  readonly section: View;
  readonly back: View;
};

/** `size` is how wide the picture will stand, in px: under 200 it is drawn bolder and without letters. */
export function stitchScene(params: StitchParams, size: number): StitchScene {
  const plan = planOf(params, size);
  return { width, top: faceView(plan, 'top'), section: sectionView(plan), back: faceView(plan, 'bobbin') };
}
