/**
 * What is good enough for a kind of work, as far as sewn lines can say: the trade's table of tolerances, common practice
 * with no published source. Arm's length, the light it will hang in and a fingertip are the person's; this only says when
 * to stop turning.
 */

export type Work = 'show' | 'custom' | 'edge-to-edge' | 'practice';

export type Tolerance = {
  readonly bobbinOnTop: number; // worst score below 0 that passes, as a distance: 1 is dots
  readonly topOnBack: number; // and above 0
  readonly matched?: number; // both, where the two threads look alike and a dot is hardly seen
  readonly apart: number; // how far any two directions may differ
  readonly allDirections: boolean; // eight and both circles must have been sewn
};

/** Practice is "any you can learn from"; dots are where a learner may stop, which is our choice. */
export const tolerances: { readonly [work in Work]: Tolerance } = {
  practice: { bobbinOnTop: 1, topOnBack: 1, apart: 2, allDirections: false },
  'edge-to-edge': { bobbinOnTop: 1, topOnBack: 1, apart: 1, allDirections: false },
  custom: { bobbinOnTop: 0, topOnBack: 0, matched: 1, apart: 1, allDirections: false },
  show: { bobbinOnTop: 0, topOnBack: 0, apart: 0, allDirections: true },
};

type Ray = { readonly direction: number | string; readonly score: number; readonly marks?: readonly string[] };

/** `sew-all`: what was sewn passes, but this work wants every direction looked at. */
export function passes(work: Work, rays: readonly Ray[], matched = false): 'passes' | 'sew-all' | 'fails' {
  const t = tolerances[work];
  if (rays.length === 0 || rays.some((r) => (r.marks ?? []).length > 0)) return 'fails';
  const scores = rays.map((r) => r.score);
  const [low, high] = [Math.min(...scores), Math.max(...scores)];
  const most = (usual: number) => Math.max(usual, matched ? (t.matched ?? 0) : 0);
  if (-low > most(t.bobbinOnTop) || high > most(t.topOnBack) || high - low > t.apart) return 'fails';
  return t.allDirections && new Set(rays.map((r) => r.direction)).size < 10 ? 'sew-all' : 'passes';
}
