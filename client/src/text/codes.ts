/** The words of handing over a whole studio by a run of codes. */
import type { RunFault } from '../sync/code-run';

const runFaults: { readonly [fault in RunFault | 'not-whole']: string } = {
  'not-ours': 'This is none of these codes. Point the camera at the phone that shows them.',
  newer: 'These codes are made by a newer Evenpull. Load the page again to update, then go on reading.',
  damaged:
    'This code came damaged and was left out. Go on reading: it comes round again. If it goes on like this, throw away what was read.',
  'not-whole':
    'What came together is not what the codes say, and nothing was taken from it. Throw it away and begin anew.',
  'other-run':
    'These codes are not the ones you began with: they are another phone’s, or something was written there since, or it is another day. Throw away what was read and begin with these, or go back to the other phone.',
};

/**
 * Codes shown in a second, our choice: a phone's camera sees each of them at least twice. A square that changes with every
 * code flashes half as often, at most 2.25 times a second: three are the limit (WCAG 2.2, 2.3.1).
 */
export const perSecond = 4.5;
/** As many where the phone is set to reduced motion: a third, our choice. */
export const pace = (calm: boolean): number => (calm ? perSecond / 3 : perSecond);
const lasts = (count: number, calm = false): string => {
  const s = count / pace(calm);
  return s < 60 ? `about ${Math.ceil(s)} s` : `about ${Math.ceil(s / 60)} min`;
};

/** As many missing codes as are named one by one. */
const mostNamed = 8;

export const text = {
  runFault: (f: keyof typeof runFaults): string => runFaults[f],
  progress: (here: number, all: number): string => `${here} of ${all} codes read`,
  missing: (indexes: readonly number[]): string =>
    indexes.length === 0 || indexes.length > mostNamed ? '' : `Still missing: ${indexes.map((i) => i + 1).join(', ')}.`,
  title: 'Phone to phone, with no network',
  show: 'Show it as codes',
  read: 'Read codes',
  showTitle: 'Show this studio as codes',
  showHow:
    'On the other phone: People & copies, “Read codes”, or “Read another phone’s codes” where nothing is set up yet.',
  flicker: (calm = false): string =>
    `The picture flickers ${calm ? 'one to two' : 'four to five'} times a second. Anyone whom flickering light harms should look away, or use a file.`,
  bright: 'Turn this screen’s brightness up, and hold the phones still, one hand apart.',
  start: 'Start showing',
  pause: 'Pause',
  goOn: 'Go on',
  stop: 'Stop',
  elsewhere: 'This is one code of a whole studio. Read it under People & copies, with “Read codes”.',
  making: 'Making the codes …',
  codes: (count: number, calm = false): string =>
    `${count} code${count === 1 ? '' : 's'}, ${lasts(count, calm)} for all of them once.`,
  part: (n: number, of: number): string => `Part ${n} of ${of}`,
  label: 'A code for the other phone’s camera',
  changed: 'They stay the same until something is written here: a phone that stopped can go on reading them today.',
  tooMany: 'This studio is too much for codes: photos seldom fit into them. Save a copy and hand over the file.',
  notMade: 'The codes were not made.',
  makeAgain: 'Make them again',
  notLoaded: 'A part of Evenpull did not load. Load the page again where there is signal; what was read is kept.',
  cameraRefused:
    'The camera can’t be used here. Allow it for this page in the browser’s settings, or save a copy on the other phone and open the file.',
  file: 'Save a copy',
  readTitle: 'Read a studio from codes',
  readHow:
    'On the other phone: People & copies, “Show it as codes”. Nothing is taken in before you have seen what it is.',
  camera: 'Use the camera',
  cameraOn: 'Go on reading',
  keep: 'Hold the whole code in the picture. You can stop at any time: what was read stays on this phone.',
  drop: 'Throw away what was read',
  dropSure: 'What was read is gone then, and the other phone has to show all of it again.',
  dropYes: 'Yes, throw it away',
  dropNo: 'Keep it',
  again: 'Read another one',
  back: 'Back to People & copies',
  first: 'Back to the first screen',
} as const;
