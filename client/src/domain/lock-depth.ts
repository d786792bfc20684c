/**
 * One stitch with its lock moved through the sandwich by hand, to be learned from: where it stands tells which thread
 * pulls harder. The places are those of the symptom table (dots 0.15, pulled up 0, a wire −0.1); what lies between is drawn.
 */
import { dotBelow } from './stitch-face';
import type { Depth, StitchParams, ThreadForm } from './stitch-params';
import { stitchOfSymptom } from './stitch-symptoms';

/** From a wire over the top face to a wire under the back, in steps of a twentieth of the sandwich. */
export const lockWay = { from: -0.1, to: 1.1, step: 0.05, middle: 0.5 } as const;

/** Which thread pulls harder; `much` where it lies straight and the other is drawn round it. */
export type Pull = { readonly harder: 'neither' | 'top' | 'bobbin'; readonly much: boolean };

export function pullAt(depth: Depth): Pull {
  if (depth < dotBelow) return { harder: 'top', much: depth <= 0 };
  if (1 - depth < dotBelow) return { harder: 'bobbin', much: depth >= 1 };
  return { harder: 'neither', much: false };
}

/** A depth on the way, whatever is asked for; steps of a twentieth leave no rests of binary fractions behind. */
export function onWay(depth: number): Depth {
  const held = Math.min(lockWay.to, Math.max(lockWay.from, depth));
  return Math.round(held / lockWay.step) / Math.round(1 / lockWay.step);
}

export function stitchAt(depth: Depth): StitchParams {
  const { harder, much } = pullAt(depth);
  const beyond = harder === 'top' ? -depth : depth - 1; // how far it stands out of the cloth
  const drawn: ThreadForm = much ? { loop: (5 + Math.round(50 * beyond)) / 10 } : 'gentle';
  return {
    ...(stitchOfSymptom.get(1) as StitchParams),
    lock: { kind: 'level', depth },
    top: harder === 'top' && much ? 'straight' : harder === 'bobbin' ? drawn : 'gentle',
    bobbin: harder === 'bobbin' && much ? 'straight' : harder === 'top' ? drawn : 'gentle',
  };
}
