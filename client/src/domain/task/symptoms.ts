/**
 * The 31 symptoms by what can be seen, felt and heard of them. A committed table, hand-made from bench and frame
 * experience; no published source. No symptom is dropped by one miss: it sinks.
 */

/** What can be looked at, each with its answers; the first answer is the one of a good stitch. */
export const features = {
  top_face: ['clear', 'dots', 'bumps', 'wire', 'loop', 'lashes'],
  back_face: ['clear', 'dots', 'bumps', 'wire', 'loop', 'mat', 'lashes', 'fibre'],
  where: ['everywhere', 'now-and-then', 'even-spacing', 'curves', 'starts', 'one-direction', 'patch', 'drifts'],
  firm: ['snug', 'lifts', 'lifts-both', 'draws-in'],
  stitches: ['even', 'skipped', 'uneven'],
  thread: ['whole', 'top-snaps', 'top-frays', 'top-kinks', 'bobbin-snaps'],
  cloth: ['still', 'lifts', 'wave'],
  holes: ['close', 'open'],
  below: ['nothing', 'nest-at-start', 'wad'],
  finger: ['smooth', 'ridge-top', 'ridge-back'],
  pin: ['snug', 'slack-top', 'slack-back', 'slack-both'],
  tug: ['gives', 'draws-in', 'gapes'],
} as const satisfies { readonly [feature: string]: readonly string[] };
export type FeatureId = keyof typeof features;

/** Six questions after the first, by what that was: which face, or that the colours tell nothing. */
const asked = {
  top: ['top_face', 'where', 'firm', 'stitches', 'thread', 'holes'],
  back: ['back_face', 'where', 'firm', 'below', 'stitches', 'cloth'],
  'same-colours': ['finger', 'pin', 'tug', 'where', 'stitches', 'thread'],
  other: ['thread', 'stitches', 'cloth', 'holes', 'below', 'where'],
} as const satisfies { readonly [look: string]: readonly FeatureId[] };

export type Feature = { readonly id: FeatureId; readonly values: readonly string[] };
export function questions(look: string | undefined): readonly Feature[] {
  const ids = look === 'top' || look === 'back' || look === 'same-colours' ? asked[look] : asked.other;
  return ids.map((id) => ({ id, values: features[id] }));
}

/** Answers that fit; a feature not named fits its first answer only, `any` fits whatever is seen. */
type Fits = { readonly [f in FeatureId]?: readonly string[] | 'any' };
export type Symptom = {
  readonly fits: Fits;
  /** States of the fault model that the name stands for. */
  readonly findings: readonly (readonly [finding: string, state: string])[];
  /** The cheapest look first: no tool, under two minutes. */
  readonly check?: string;
};

const anyFace = { top_face: 'any', back_face: 'any' } as const;
const breaks = ['everywhere', 'now-and-then', 'one-direction'];

/** By the number of the symptom; 12 is a stop, not a look. */
export const symptoms: { readonly [number: string]: Symptom } = {
  1: { fits: {}, findings: [] },
  2: { fits: { top_face: ['dots'] }, findings: [['bobbin_on_top', 'dots']], check: 'card_spring' },
  3: {
    fits: { top_face: ['bumps'], firm: ['snug', 'lifts'], finger: ['ridge-top'], pin: ['slack-top'] },
    findings: [['bobbin_on_top', 'pulled_up']],
    check: 'pull_top',
  },
  4: {
    fits: {
      top_face: ['wire'],
      where: ['everywhere', 'curves'],
      firm: ['lifts', 'draws-in'],
      finger: ['ridge-top'],
      pin: ['slack-top'],
      tug: ['gapes', 'draws-in'],
    },
    findings: [['bobbin_on_top', 'flatline']],
    check: 'pull_top',
  },
  5: { fits: { back_face: ['dots'] }, findings: [['top_on_back', 'dots']], check: 'pull_top' },
  6: {
    fits: { back_face: ['bumps'], firm: ['snug', 'lifts'], finger: ['ridge-back'], pin: ['slack-back'] },
    findings: [['top_on_back', 'pulled_down']],
    check: 'pull_top',
  },
  7: {
    fits: {
      back_face: ['wire'],
      where: ['everywhere', 'curves'],
      firm: ['lifts', 'draws-in'],
      finger: ['ridge-back'],
      pin: ['slack-back'],
      tug: ['gapes', 'draws-in'],
    },
    findings: [['top_on_back', 'flatline']],
    check: 'pull_top',
  },
  8: {
    fits: { back_face: ['lashes'], where: ['curves'], finger: ['ridge-back'] },
    findings: [['eyelash', 'back']],
    check: 'slow_down',
  },
  9: {
    fits: { top_face: ['lashes'], where: ['curves'], finger: ['ridge-top'] },
    findings: [['eyelash', 'top']],
    check: 'overspin',
  },
  10: {
    fits: { back_face: ['mat'], firm: ['lifts'], finger: ['ridge-back'], pin: ['slack-back'], tug: ['gapes'] },
    findings: [['top_on_back', 'big_loops']],
    check: 'threading_walk',
  },
  11: {
    fits: { below: ['nest-at-start'], where: ['starts'], back_face: ['clear', 'mat', 'bumps'] },
    findings: [['nest', 'start']],
    check: 'tails',
  },
  12: {
    fits: { below: ['wad'], where: ['everywhere', 'now-and-then'], back_face: ['mat'], stitches: 'any' },
    findings: [['nest', 'any']],
  },
  13: {
    fits: { back_face: ['loop'], where: ['now-and-then'], pin: ['snug', 'slack-back'] },
    findings: [['random_loops', 'back']],
    check: 'supply_look',
  },
  14: {
    fits: { top_face: ['loop'], where: ['now-and-then'], pin: ['snug', 'slack-top'] },
    findings: [['random_loops', 'top']],
    check: 'card_spring',
  },
  15: {
    fits: { top_face: ['dots'], back_face: ['dots'], holes: ['close', 'open'] },
    findings: [['both_sides', 'dots_both']],
    check: 'push_up',
  },
  16: {
    fits: {
      firm: ['lifts-both'],
      top_face: ['clear', 'bumps'],
      back_face: ['clear', 'bumps'],
      pin: ['slack-both'],
      tug: ['gapes'],
    },
    findings: [['firmness', 'slack_both']],
    check: 'pull_top',
  },
  17: {
    fits: { firm: ['draws-in'], top_face: ['clear', 'dots'], back_face: ['clear', 'dots'], tug: ['draws-in'] },
    findings: [['firmness', 'puckered']],
    check: 'pull_top',
  },
  18: {
    fits: { stitches: ['skipped'], where: ['everywhere', 'now-and-then', 'one-direction', 'patch'] },
    findings: [['skips', 'some']],
    check: 'needle_look',
  },
  19: {
    fits: {
      ...anyFace,
      where: ['one-direction'],
      firm: 'any',
      stitches: ['even', 'skipped'],
      finger: 'any',
      pin: 'any',
    },
    findings: [],
    check: 'push_up',
  },
  20: { fits: { stitches: ['uneven'] }, findings: [['stitch_length', 'uneven']], check: 'encoder_look' },
  21: {
    fits: { thread: ['top-snaps'], where: breaks },
    findings: [
      ['top_breaks', 'some'],
      ['broken_end', 'clean'],
    ],
    check: 'supply_look',
  },
  22: { fits: { thread: ['top-frays'], where: breaks }, findings: [['broken_end', 'frayed']], check: 'needle_look' },
  23: {
    fits: { thread: ['bobbin-snaps'], where: breaks, top_face: 'any' },
    findings: [['bobbin_breaks', 'some']],
    check: 'overspin',
  },
  24: {
    fits: { holes: ['open'], top_face: ['clear', 'dots'], back_face: ['clear', 'dots'] },
    findings: [['holes', 'open']],
    check: 'needle_size',
  },
  25: { fits: { back_face: ['fibre'] }, findings: [['fibre', 'back']], check: 'batting_side' },
  26: {
    fits: {
      cloth: ['lifts'],
      back_face: ['clear', 'bumps', 'loop'],
      stitches: ['even', 'skipped'],
      where: ['everywhere', 'now-and-then'],
    },
    findings: [['cloth_motion', 'flags']],
    check: 'push_up',
  },
  27: {
    fits: { cloth: ['wave'], where: ['everywhere', 'one-direction'] },
    findings: [['cloth_motion', 'wave']],
    check: 'foot_gap',
  },
  28: {
    fits: { where: ['even-spacing'], top_face: ['clear', 'dots'], back_face: ['clear', 'dots'] },
    findings: [['pattern_time', 'periodic']],
    check: 'bobbin_look',
  },
  29: {
    fits: { ...anyFace, where: ['patch'], stitches: ['even', 'skipped'], thread: ['whole', 'top-frays'] },
    findings: [['patch_only', 'yes']],
    check: 'needle_look',
  },
  30: {
    fits: { where: ['drifts'], top_face: ['clear', 'dots', 'bumps'], back_face: ['clear', 'dots', 'bumps'] },
    findings: [['bobbin_level', 'near_end']],
    check: 'bobbin_look',
  },
  31: {
    fits: { thread: ['top-kinks'], where: breaks, back_face: ['clear', 'loop'] },
    findings: [['broken_end', 'kinked']],
    check: 'supply_look',
  },
};

export type Answers = { readonly [feature: string]: readonly string[] };
export type Match = {
  readonly symptom: string; // its number
  readonly fits: number;
  readonly of: number;
  readonly grade: 'strong' | 'possible' | 'unlikely';
  readonly misses: readonly FeatureId[]; // "Why not this?"
};

/** The best five. Strong: all that was seen fits; possible: one thing does not; unlikely: more. Nothing told, nothing matched. */
export const matches = (answers: Answers): readonly Match[] =>
  told(answers).length === 0
    ? []
    : ranked(answers)
        .filter((m) => m.fits > 0)
        .slice(0, 5);

/** What was answered with something that tells. */
const told = (answers: Answers): readonly FeatureId[] =>
  (Object.keys(features) as FeatureId[]).filter((f) => answers[f]?.length && !answers[f].includes('cant-tell'));

/** Every symptom, the best match first. */
function ranked(answers: Answers): readonly Match[] {
  const seen = told(answers);
  return Object.entries(symptoms)
    .map(([symptom, { fits }]) => {
      const misses = seen.filter((f) => !fitsOne(fits[f], f, answers[f] ?? []));
      // Of two that miss as little, the one whose own signs were seen stands first.
      const signs = seen.reduce((sum, f) => sum + (misses.includes(f) ? 0 : sign(fits[f], f, answers[f] ?? [])), 0);
      return {
        symptom,
        fits: seen.length - misses.length,
        of: seen.length,
        grade: grade(misses.length),
        misses,
        signs,
      };
    })
    .sort((a, b) => a.misses.length - b.misses.length || b.signs - a.signs || Number(a.symptom) - Number(b.symptom))
    .map(({ signs: _, ...match }) => match);
}

/**
 * The question, of those that may still be asked, whose answer parts the symptoms that are left the most: the greatest
 * expected gain in bits, where each symptom that fits best so far is as likely as the next, and each shows any of the
 * answers that fit it as likely as the other. Undefined when no answer would part them.
 */
export function bestQuestion(answers: Answers, mayAsk: readonly FeatureId[]): FeatureId | undefined {
  const all = ranked(answers);
  const fewest = all[0]?.misses.length ?? 0;
  const near = all.filter((m) => m.misses.length <= fewest);
  const left = near.length > 1 ? near : all.filter((m) => m.misses.length <= fewest + 1); // one may be a slip
  const gains = mayAsk.map((f) => ({ f, bits: gain(f, left) })).sort((a, b) => b.bits - a.bits);
  return gains.find((g) => g.bits > leastGain)?.f;
}
/** Bits below which an answer is not worth the question: a rounding error, not a measure. */
const leastGain = 1e-9;

function gain(feature: FeatureId, left: readonly Match[]): number {
  const { [feature]: values } = features;
  const shows = left.map(({ symptom }) => {
    const fits = symptoms[symptom]?.fits[feature] ?? [features[feature][0]];
    return fits === 'any' ? values : fits;
  });
  const bits = (p: number) => (p > 0 ? -p * Math.log2(p) : 0);
  const whole = values.reduce(
    (sum, v) => sum + bits(shows.reduce((p, s) => p + (s.includes(v as never) ? 1 / s.length : 0), 0) / left.length),
    0,
  );
  return whole - shows.reduce((sum, s) => sum + Math.log2(s.length), 0) / left.length;
}

const grade = (misses: number): Match['grade'] => (misses === 0 ? 'strong' : misses === 1 ? 'possible' : 'unlikely');

/** How much a fitting answer speaks for a symptom: nothing where it is what any good stitch has, more the fewer it names. */
function sign(allowed: Fits[FeatureId], feature: FeatureId, seen: readonly string[]): number {
  if (allowed === undefined || allowed === 'any') return 0;
  return seen.some((v) => v !== features[feature][0] && allowed.includes(v)) ? 1 / allowed.length : 0;
}

function fitsOne(allowed: Fits[FeatureId], feature: FeatureId, seen: readonly string[]): boolean {
  if (allowed === 'any') return true;
  if (seen.includes('none')) return allowed === undefined; // something else than all of these
  const good: readonly string[] = allowed ?? [features[feature][0]];
  return seen.some((v) => good.includes(v));
}
