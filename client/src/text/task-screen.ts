/** Words that the task layer says around the engine's own: groups, pictures, and what was done. */
import { type Since, type SinceWhat, sinceGood as sinceLastGood } from '../domain/since-good';
import { type Ctx, type FeatureId, features, type Row, symptoms, type TaskState } from '../domain/task';
import { dialNumber, lengthIn, move, type Units } from './amount';
import { ago } from './shell';
import { featureWords } from './symptoms';
import { rowWords } from './task-offers';

export const text = {
  nothing: 'No task is open.',
  toFrame: 'To the machine',
  more: 'Something else',
  close: 'Close',
  help: 'Help',
  answers: 'Answers',
  set: 'Set it',
  other: 'More to do here',
  round: (n: number): string => `round ${n}`,
  drop: (i: number): string => `Drop ${i + 1}`,
  dropsDone: (n: number, of: number): string => `Done: ${n} of ${of} drops.`,
  left: 'Left out: the page was away.',
  noLength: 'Length, if you like',
  fill: 'Bobbin',
  number: 'The number',
  gauge: 'Grams',
  wrote: (minutes: number | undefined): string =>
    minutes === undefined ? 'Written down.' : `Written down: ${move(minutes)}.`,
  otherAmount: 'I turned another amount',
  facing: 'Screw facing you',
  clockName: (minutes: number, way: string): string => (minutes === 0 ? 'As it stands' : `${move(minutes)}, ${way}`),
  mark: 'Where the pen mark stands',
  minute: (m: number): string => `${m === 0 ? 12 : m / 5} o’clock`,
  stands: (m: number | undefined): string => (m === undefined ? 'Tap the clock' : `At minute ${m}`),
  rows: 'What to rate',
  marks: 'And',
  star: 'The star from above, you at the lower edge',
  starSigns: 'T: top shows on the back. B: bobbin shows on top. Tap again for more.',
  same: 'like the rest',
  strip: 'Drop strip with the band of this bobbin case, not true size',
  stripNote: ['not', 'true', 'size'],
  stripUnit: { in: 'in', mm: 'mm' },
  looks: 'Where do you see it?',
  first: 'First',
  answered: 'What you said',
  ask: 'Or ask about',
  optional: 'Two answers may stand. Any question may be skipped.',
  compare: 'Compare',
  ownStitch: 'Your own stitch',
  noOwn: 'Hold the phone a hand above the stitches, light from the upper left.',
  takePhoto: 'Photo of your stitch',
  otherPhoto: 'Another photo',
  either: (a: readonly string[]): string => a.join(' or ').toLowerCase(),
  anything: 'any',
  sign: {
    good: 'All well',
    stop: 'Do not run',
    inBand: 'In band',
    barely: 'Too tight: it hardly drops',
    falls: 'Too loose: it drops too far',
    jerky: 'The drops disagree',
    after: (what: string): string => `${what}. Do not sew yet.`,
    scrapOnly: (what: string): string => `${what}. On scrap only.`,
  },
} as const;

/** What each drawing shows, for those who do not see it. */
export const pictures = {
  'case-over-hand': 'Case hanging by its thread over a hand, its edge at the zero of the strip',
  'card-under-spring': 'Corner of a card under the case spring, screw untouched',
  'finger-pad': 'Case on the finger pads, its thread drawn straight up',
  'bobbin-turn': 'Thread pulled from a bobbin, which turns; the manual says which way',
  'needle-set': 'Needle up to its stop, scarf toward the hook',
  'pull-behind-needle': 'Thread drawn from behind the needle and away',
  'two-lines': 'Two lines, one away from you, one toward you',
  star: 'Eight lines from one point and a circle each way',
  'hands-off': 'Caution sign beside a switch at off',
} as const;

/** Where a task stands, outermost first: "Balance, round 2 · Drop test". */
export function placeWords(s: TaskState, titleOf: (s: TaskState) => string): string {
  const chain: string[] = [];
  for (let t: TaskState | undefined = s; t; t = t.back) {
    const title = titleOf(t);
    const named = t.task === 'balance' && t.round > 1 ? `${title}, ${text.round(t.round)}` : title;
    if (chain[0] !== named) chain.unshift(named);
  }
  return chain.length > 2 ? `${chain[0]} · … · ${chain.at(-1)}` : chain.join(' · ');
}

/** "5 in" or a hint that a length may be given. */
export const lengthWords = (row: Row, units: Units | undefined): string =>
  row.tenthsIn === undefined ? text.noLength : lengthIn(row.tenthsIn, units);

/** What stands on a plus or minus button; what it does is its name in full. */
export const short = {
  turn: (by: number): string =>
    `${by > 0 ? 'Tighten' : 'Loosen'} ${Math.abs(by) === 60 ? 'one whole turn' : Math.abs(by)}`,
  minute: (by: number): string => `${by > 0 ? 'On' : 'Back'} by ${Math.abs(by)}`,
  tenths: (by: number): string => `${by > 0 ? '+' : '−'}${dialNumber(Math.abs(by))}`,
  length: (by: number): string => (by > 0 ? 'Longer' : 'Shorter'),
};

/** The rows of a rating, by direction. */
export const rowName = (of: string): string => rowWords[of] ?? of;

const since: { readonly [what in SinceWhat]: string } = {
  'new-bobbin': 'new bobbin',
  'new-cone': 'other cone',
  'new-needle': 'new needle',
  cleaned: 'cleaned',
  struck: 'needle struck',
  jam: 'a jam',
  knock: 'a knock',
  heat: 'smell or heat',
  'runs-by-itself': 'ran by itself',
  dropped: 'case dropped',
  topThread: 'other top thread',
  bobbinThread: 'other bobbin thread',
  bobbinKind: 'other kind of bobbin',
  bobbinCase: 'other bobbin case',
  needle: 'other needle',
  quilt: 'other quilt',
  batting: 'other batting',
  backing: 'other backing',
};

/** "Since it was last good: new bobbin 40 min ago, other top thread 1 h ago, no changes"; undefined when it never was good. */
export function sinceGood(ctx: Ctx): string | undefined {
  const told = sinceLastGood(ctx);
  return told && `Since it was last good: ${sinceWords(told, ctx.now)}.`;
}

/** "new bobbin 40 min ago, other top thread 1 h ago, no changes". */
export function sinceWords(told: Since, now: number): string {
  const said = told.items.map((i) => `${since[i.what]} ${ago(i.at, now)}`);
  const changes = told.changes === 0 ? 'no changes' : told.changes === 1 ? 'one change' : `${told.changes} changes`;
  return [...said, changes].join(', ');
}

/** What two symptoms would show differently of what is asked, one line a feature: its name, and what goes with each. */
export function differences(
  a: string,
  b: string,
  asked: readonly FeatureId[],
): readonly { chip: string; sides: readonly [string, string] }[] {
  const [x, y] = [symptoms[a]?.fits, symptoms[b]?.fits];
  if (!x || !y) return [];
  const words = (f: FeatureId, fits: (typeof x)[FeatureId]) => {
    if (fits === 'any') return text.anything;
    const values = fits ?? [features[f][0]];
    return text.either(values.map((v) => featureWords[f].values[v] ?? v));
  };
  return asked.flatMap((f) => {
    const sides = [words(f, x[f]), words(f, y[f])] as const;
    return sides[0] === sides[1] ? [] : [{ chip: featureWords[f].chip, sides }];
  });
}
