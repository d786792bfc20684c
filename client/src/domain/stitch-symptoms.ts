/**
 * The 31 symptoms as pieces of sewing to be drawn, by their number in the symptom table. They show what is seen and
 * measure nothing; the numbers are our own choice, picked until each could be told from the others at 96 px.
 */
import type { Lock, StitchParams } from './stitch-params';

const level = (depth: number): Lock => ({ kind: 'level', depth });
const holes = (...at: number[]) => ({ kind: 'holes', holes: at }) as const;

const balanced: StitchParams = {
  lock: level(0.5),
  top: 'gentle',
  bobbin: 'gentle',
  where: { kind: 'every' },
  length: 'even',
  holeWidth: 1,
  cloth: 'flat',
};

const differing: Readonly<Record<number, Partial<StitchParams>>> = {
  1: {},
  2: { lock: level(0.15) },
  3: { lock: level(0), top: 'straight', bobbin: { loop: 0.5 } },
  4: { lock: level(-0.1), top: 'straight', bobbin: { loop: 1 } },
  5: { lock: level(0.85) },
  6: { lock: level(1), bobbin: 'straight', top: { loop: 0.5 } },
  7: { lock: level(1.1), bobbin: 'straight', top: { loop: 1 } },
  8: { lock: level(1), where: { kind: 'curve' }, chord: 'bobbin', bobbin: 'straight' },
  9: { lock: level(0), where: { kind: 'curve' }, chord: 'top', top: 'straight' },
  10: { lock: level(1.2), top: { loop: 4 } },
  11: { lock: level(1.2), top: { loop: 5 }, where: holes(0, 1, 2) },
  12: { wad: 3 },
  13: { top: { loop: 2 }, where: holes(3) },
  14: { bobbin: { loop: 2 }, where: holes(3) },
  15: { lock: { kind: 'alternate', depths: [0.15, 0.85] } },
  16: { lock: { kind: 'wander', middle: 0.5, spread: 0.3 }, top: { loop: 0.7 }, bobbin: { loop: 0.7 } },
  17: { top: 'straight', bobbin: 'straight', cloth: 'drawn' },
  18: { skipped: [3] },
  19: { lock: level(0.15), where: { kind: 'ray', direction: 45 } },
  20: { length: 'uneven' },
  21: { ends: { thread: 'top', hole: 2, look: 'clean' } },
  22: { ends: { thread: 'top', hole: 2, look: 'frayed' } },
  23: { ends: { thread: 'bobbin', hole: 2, look: 'clean' } },
  24: { holeWidth: 3 },
  25: { fibre: 'back' },
  26: { cloth: 'lifted', lock: level(0.9), top: { loop: 1.5 }, where: holes(1, 4), skipped: [3] },
  27: { cloth: 'wave' },
  28: { lock: { kind: 'wave', middle: 0.5, swing: 0.4, period: 5 } },
  29: { lock: level(0.15), where: { kind: 'patch', from: 2, to: 3 } },
  30: { lock: { kind: 'drift', from: 0.5, to: 0.95 } },
  31: { ends: { thread: 'top', hole: 2, look: 'kinked' } },
};

/** Symptom number → its drawing. */
export const stitchOfSymptom: ReadonlyMap<number, StitchParams> = new Map(
  Object.entries(differing).map(([number, change]) => [Number(number), { ...balanced, ...change }]),
);

/** The symptom that a line of this score shows. */
const ofScore: { readonly [score: number]: number } = { [-2]: 3, [-1]: 2, 0: 1, 1: 5, 2: 6 };

/** How a line of this score is drawn; one that nobody judged is drawn balanced. */
export const stitchOfScore = (score = 0): StitchParams => stitchOfSymptom.get(ofScore[score] ?? 1) ?? balanced;
