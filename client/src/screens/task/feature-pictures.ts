/** For each answer that can be drawn, the symptom whose picture shows it, and which view of it. */
import type { StitchSide } from '../../ui/stitch-view';

type Shown = { readonly symptom: number; readonly views: readonly StitchSide[] };

const top = ['top'] as const;
const back = ['back'] as const;
const cut = ['section'] as const;

const shown: {
  readonly [feature: string]: {
    readonly views: readonly StitchSide[];
    readonly of: { readonly [value: string]: number };
  };
} = {
  top_face: { views: top, of: { clear: 1, dots: 2, bumps: 3, wire: 4, loop: 14, lashes: 9 } },
  back_face: { views: back, of: { clear: 1, dots: 5, bumps: 6, wire: 7, loop: 13, mat: 10, lashes: 8, fibre: 25 } },
  firm: { views: cut, of: { snug: 1, lifts: 6, 'lifts-both': 16, 'draws-in': 17 } },
  stitches: { views: top, of: { even: 1, skipped: 18, uneven: 20 } },
  thread: { views: top, of: { whole: 1, 'top-snaps': 21, 'top-frays': 22, 'top-kinks': 31 } },
  cloth: { views: cut, of: { still: 1, lifts: 26, wave: 27 } },
  holes: { views: top, of: { close: 1, open: 24 } },
  below: { views: cut, of: { nothing: 1, 'nest-at-start': 11, wad: 12 } },
};
/** Where the thread itself lies on the other face. */
const other: { readonly [feature: string]: { readonly [value: string]: Shown } } = {
  thread: { 'bobbin-snaps': { symptom: 23, views: back } },
};

export function featurePicture(feature: string, value: string): Shown | undefined {
  const one = Object.hasOwn(other, feature) ? other[feature]?.[value] : undefined;
  if (one) return one;
  const row = Object.hasOwn(shown, feature) ? shown[feature] : undefined;
  const symptom = row && Object.hasOwn(row.of, value) ? row.of[value] : undefined;
  return row && symptom !== undefined ? { symptom, views: row.views } : undefined;
}
