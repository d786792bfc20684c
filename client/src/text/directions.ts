/** What a sewn star says, in one sentence. */
import type { Directions, Face } from '../domain/directions';
import { scoreSays } from './scores';
import { rowName } from './task-screen';

const faces: { readonly [face in Face]: string } = {
  'top-on-back': 'Top colour on the back',
  'bobbin-on-top': 'Bobbin colour on top',
};

const ways: { readonly [degrees: number]: string } = {
  0: 'going away',
  45: 'going away to the right',
  90: 'going right',
  135: 'coming back to the right',
  180: 'coming back',
  225: 'coming back to the left',
  270: 'going left',
  315: 'going away to the left',
};

/** One mode that shows it alone says more than any direction. */
export function directionsSay({ verdict: v, modes }: Directions): string {
  if (modes === 'regulated-only') return 'Only regulated sewing shows it: that is the regulator, not tension.';
  if (modes === 'manual-only') return 'Only manual sewing shows it: that is hands and motor, not tension.';
  switch (v.is) {
    case 'balanced':
      return 'Good every way it was sewn.';
    case 'tension':
      return `${faces[v.face]} every way it was sewn: that is tension.`;
    case 'both':
      return `${faces[v.face]} every way, worst ${ways[v.worst]}: tension first, then the star again.`;
    case 'direction':
      return `${faces[v.face]}, worst ${ways[v.worst]}: that is a direction, not tension.`;
    case 'curves':
      return `${faces[v.face]} on the circles only: that is speed, not tension.`;
    case 'too-few':
      return 'One way is not like the other: the star will show more.';
    case 'scattered':
      return 'The lines differ, but toward no one side: no knob yet.';
    case 'unread':
      return 'These lines could not be told by eye.';
  }
}

/** Score of a ray as the signs of the star: T for top on the back, B for bobbin on top, twice where it stands up. */
export const raySign = (score: number): string => (score > 0 ? 'T' : 'B').repeat(Math.abs(score));

/** "Away: top dots on the back. Toward you: good." for readers of the screen. */
export const starSays = (rays: readonly { readonly direction: number | string; readonly score: number }[]): string =>
  rays.map((r) => `${rowName(String(r.direction))}: ${scoreSays[r.score] ?? ''}.`).join(' ');

export const modeName: { readonly [mode: string]: string } = { regulated: 'Regulated', manual: 'Manual' };
