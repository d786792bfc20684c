/** The words of handing over by codes: a whole studio as a run of them, and a station's card as one. */
import type { CodeFault } from '../domain/sealed-code';
import type { RunFault } from '../sync/code-run';

const runFaults: { readonly [fault in RunFault]: string } = {
  'not-ours': 'This is no code of a run. Point the camera at the phone that shows one.',
  newer: 'These codes are made by a newer Evenpull. Load the page again to update, then go on reading.',
  damaged: 'This code came damaged and was left out. Go on reading: it comes round again.',
  'other-run': 'This code is of another run and was left out. Go back to the first phone, or begin anew with this one.',
};

const cardFaults: { readonly [fault in CodeFault]: string } = {
  'not-ours': 'This is no station’s card. Nothing was taken from it.',
  newer: 'This card is made by a newer Evenpull. Load the page again to update, then read it once more.',
  'too-long': 'This is longer than any card that Evenpull makes. Nothing was taken from it.',
  damaged: 'This card came damaged, and nothing was taken from it. Hold the phones still and read it again.',
  unusable: 'Something in this card can’t be right, so nothing was taken from it. Let the other phone show it anew.',
};

/** As many missing codes as are named one by one. */
const mostNamed = 8;

export const text = {
  runFault: (f: RunFault): string => runFaults[f],
  cardFault: (f: CodeFault): string => cardFaults[f],
  progress: (here: number, all: number): string => `${here} of ${all} codes read`,
  missing: (indexes: readonly number[]): string =>
    indexes.length > mostNamed
      ? `${indexes.length} are still missing.`
      : `Still missing: ${indexes.map((i) => i + 1).join(', ')}.`,
  notWhole: 'What came together is not what the codes say, and nothing was taken from it. Begin anew.',
  tooLong: 'This studio is too much for codes. Save a copy and hand over the file.',
  noCard: 'The names on this card are too long for a code. Shorten them first.',
} as const;
