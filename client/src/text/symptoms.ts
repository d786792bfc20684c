/** Words of "What do you see?": questions, answers, and the trade names of the symptoms. */
import type { FeatureId, Match } from '../domain/task';

/** The question, and what its chip is called. */
export const featureWords: {
  readonly [f in FeatureId]: {
    readonly ask: string;
    readonly chip: string;
    readonly values: { readonly [value: string]: string };
  };
} = {
  top_face: {
    ask: 'What shows on the top face?',
    chip: 'Top face',
    values: {
      clear: 'Nothing odd',
      dots: 'Bobbin dots in the holes',
      bumps: 'Bobbin bumps between holes',
      wire: 'Top thread straight as a wire',
      loop: 'A single loop',
      lashes: 'Eyelashes: little legs inside curves',
    },
  },
  back_face: {
    ask: 'What shows on the back?',
    chip: 'Back',
    values: {
      clear: 'Nothing odd',
      dots: 'Top dots in the holes',
      bumps: 'Top bumps between holes',
      wire: 'Bobbin thread straight as a wire',
      loop: 'A single loop',
      mat: 'A mat of loops',
      lashes: 'Eyelashes: little legs inside curves',
      fibre: 'Tufts of batting',
    },
  },
  where: {
    ask: 'Where does it happen?',
    chip: 'Where',
    values: {
      everywhere: 'All along',
      'now-and-then': 'Now and then',
      'even-spacing': 'At even spacing',
      curves: 'On curves',
      starts: 'At starts',
      'one-direction': 'In one direction',
      patch: 'Over seams or glue',
      drifts: 'More and more, by the bobbin',
    },
  },
  firm: {
    ask: 'Lift a stitch with a pin: how is it?',
    chip: 'Lifted with a pin',
    values: {
      snug: 'Snug',
      lifts: 'Lifts on one face',
      'lifts-both': 'Lifts on both faces',
      'draws-in': 'Tight, cloth draws in',
    },
  },
  stitches: {
    ask: 'How are the stitches?',
    chip: 'Stitch length, skips',
    values: { even: 'Even', skipped: 'Some are skipped', uneven: 'Long and short' },
  },
  thread: {
    ask: 'Does a thread break?',
    chip: 'Thread breaks',
    values: {
      whole: 'No',
      'top-snaps': 'Top snaps clean',
      'top-frays': 'Top frays first',
      'top-kinks': 'Top kinks and curls',
      'bobbin-snaps': 'Bobbin thread snaps',
    },
  },
  cloth: {
    ask: 'From the side: what does the cloth do?',
    chip: 'How the cloth moves',
    values: { still: 'Lies still', lifts: 'Lifts with the needle', wave: 'Wave ahead of the foot' },
  },
  holes: {
    ask: 'How are the needle holes?',
    chip: 'Needle holes',
    values: { close: 'They close', open: 'They stay open' },
  },
  below: {
    ask: 'Is there a nest below?',
    chip: 'A nest below',
    values: { nothing: 'No', 'nest-at-start': 'At starts only', wad: 'A hard wad' },
  },
  finger: {
    ask: 'Run a fingertip along both faces.',
    chip: 'Fingertip',
    values: { smooth: 'Smooth on both', 'ridge-top': 'A ridge on top', 'ridge-back': 'A ridge on the back' },
  },
  pin: {
    ask: 'Lift a stitch with a pin, both faces.',
    chip: 'Lifted with a pin',
    values: {
      snug: 'Snug on both',
      'slack-top': 'Lifts on top',
      'slack-back': 'Lifts on the back',
      'slack-both': 'Lifts on both',
    },
  },
  tug: {
    ask: 'Tug the line lengthways.',
    chip: 'Tug',
    values: { gives: 'Gives a little', 'draws-in': 'Snaps, or draws in', gapes: 'Gapes' },
  },
};

/** Trade names, by number. */
export const symptomName: { readonly [number: string]: string } = {
  1: 'Balanced',
  2: 'Bobbin dots on top',
  3: 'Bobbin pulled up',
  4: 'Railroading on top',
  5: 'Top dots on the back',
  6: 'Top pulled down',
  7: 'Railroading on the back',
  8: 'Eyelashes on the back',
  9: 'Eyelashes on top',
  10: 'Towelling',
  11: 'Nest at the start',
  12: 'Nest or wad anywhere',
  13: 'Random loops on the back',
  14: 'Random loops on top',
  15: 'Dots on both faces',
  16: 'Slack on both faces',
  17: 'Drawn line, puckers',
  18: 'Skipped stitches',
  19: 'Bad in one direction',
  20: 'Long and short stitches',
  21: 'Top thread snaps clean',
  22: 'Top thread frays',
  23: 'Bobbin thread breaks',
  24: 'Open holes',
  25: 'Bearding',
  26: 'Flagging',
  27: 'Ploughing',
  28: 'Dots at even spacing',
  29: 'Only over a patch',
  30: 'Drifts with the bobbin',
  31: 'Kinks and corkscrews',
};

const grades: { readonly [g in Match['grade']]: string } = {
  strong: 'Strong match',
  possible: 'Possible',
  unlikely: 'Unlikely',
};

/** "Strong match, 4 of 5 fit". */
export const matchWords = (m: Match): string => `${grades[m.grade]}, ${m.fits} of ${m.of} fit`;

/** "Why not this?": what was seen and does not go with it. */
export function whyNotWords(m: Match, answers: { readonly [feature: string]: readonly string[] }): readonly string[] {
  return m.misses.map((f) => {
    const { chip, values } = featureWords[f];
    const seen = (answers[f] ?? []).map((v) => values[v] ?? 'none of these');
    return `${chip}: ${seen.join(' or ').toLowerCase()}`;
  });
}

/** "Top face: dots; Where: all along": answers as they are kept, whoever wrote them. */
export function answersWords(answers: unknown): string {
  if (typeof answers !== 'object' || answers === null) return '';
  return Object.entries(answers)
    .flatMap(([f, said]) => {
      const words = Object.hasOwn(featureWords, f) ? featureWords[f as FeatureId] : undefined;
      if (!words || !Array.isArray(said)) return [];
      const all = said.flatMap((v) => (Object.hasOwn(words.values, String(v)) ? [words.values[String(v)]] : []));
      return all.length > 0 ? [`${words.chip}: ${all.join(' or ').toLowerCase()}`] : [];
    })
    .join('; ');
}
