/** The words on paper, and those around a sheet before it is printed. */
import type { CodeFault } from '../domain/paper-code';
import type { Paper } from '../domain/sheet';

const faults: { readonly [fault in CodeFault]: string } = {
  'not-ours': 'This is no code of Evenpull. Nothing was taken from it.',
  newer: 'This card was printed by a newer Evenpull. Load the page again to update, then read it once more.',
  'too-long': 'This is longer than any code that Evenpull prints. Nothing was taken from it.',
  damaged: 'This code is damaged or cut short: nothing was taken from it. Read it again, flat and in good light.',
  unusable: 'Something in this code can’t be right, so nothing was taken from it. Print the card anew.',
};

export const text = {
  title: 'On paper',
  intro: 'Printing needs no signal. Set the printer to 100 %, without “fit to page”, then measure the bar at the foot.',
  sheets: {
    bench: 'Bench card',
    labels: 'Labels for bobbin cases',
    strip: 'Drop strip',
    star: 'Star to lay under clear film',
    class: 'Class sheet',
  },
  sheetNotes: {
    bench: 'What is set up on this machine, to tape beside it',
    labels: 'A code to scan and six signs to type, for every case',
    strip: 'True size, with the band of one bobbin case',
    star: 'True size: eight directions and a circle each way',
    class: 'Blank rows for a room of machines',
  },
  recipeCards: 'A recipe’s card is printed from the recipe.',
  paper: 'Paper',
  papers: { a4: 'A4', letter: 'US Letter', card: 'Card, 4 x 6 in' } as { readonly [paper in Paper]: string },
  print: 'Print',
  back: 'Back to the Book',
  allSheets: 'All sheets',
  backToIt: 'Back to the recipe',
  bar: 'This bar is 50 mm long. If it is not, print again at 100 %.',
  printed: (when: string): string => `Printed ${when}.`,
  caution: 'Machine stopped, needle locked out or power off before hands go near. The machine’s manual goes first.',

  bench: (machine: string): string => (machine ? `Bench card: ${machine}` : 'Bench card'),
  noMachine: 'No machine is set up yet.',
  band: 'Drop band',
  bandOf: (from: string, to: string): string => `${from} to ${to}, after one gentle shake`,
  stands: (thread: string, where: string): string => `${thread}. Stands ${where}`,
  caseStands: (label: string, where: string): string => `${label}. Screw stands ${where}`,
  needleIn: (needle: string, hours: string): string => `${needle}, ${hours}`,
  readOn: (what: string, when: string): string => `${what} (${when})`,

  labels: 'Labels for bobbin cases',
  labelsHow: 'Cut along the dashes. In the Book, tap “Read a code from paper” and scan or type it.',
  noCases: 'No bobbin case has a label yet. Add one under “What is set up”.',
  codeOf: (label: string): string => `Code of bobbin case ${label}`,
  setFor: (thread: string): string => `Set for ${thread}`,

  strip: (label: string): string => (label ? `Drop strip: ${label}` : 'Drop strip'),
  stripCase: 'Band of',
  stripHow: [
    'Tape it upright, the zero line at the height where the bottom of the case hangs at rest.',
    'It must hold by itself. One gentle shake: it slips and stops. Read where its bottom stands, three times.',
  ],
  stripJoin: 'Cut out both pieces. Lay the first line of the second on the last line of the first, and tape them.',
  stripBand: (from: string, to: string, own: boolean): string =>
    own
      ? `Hatched: this case in band, ${from} to ${to}.`
      : `Hatched: the usual band, ${from} to ${to}, until three good drops of this case say more.`,
  beyond: (to: string): string => `The band goes on below the strip, to ${to}.`,
  stripSource: 'Bands are common practice, no published source. The machine’s manual goes first.',
  stripLabel: (from: string, to: string): string => `Drop strip with its band from ${from} to ${to}`,
  stripUnits: ['in', 'mm'] as const,
  zero: 'bottom of the case',

  star: 'The star, from above',
  starHow: (mm: number): string =>
    `You stand at the lower edge. Lay it under clear film; mark on the film what each line shows. Each line is ${mm} mm long. Sew on an offcut, beside the quilt.`,
  starLabel: 'Eight lines from one point, named by their directions, and a circle each way',
  starNames: ['Away', 'Away right', 'Right', 'Toward right', 'Toward', 'Toward left', 'Left', 'Away left'],
  circles: ['left', 'right'] as const,

  class: 'Class sheet',
  classWhere: 'Class and day',
  classHow:
    '1 threaded again from the cone. 2 new needle. 3 card under the case spring. 4 three drops. 5 two lines in two colours.',
  classState: 'State: not seen, waiting, one step given, good, or stop. A knock, a tick or a wad comes first.',
  classHeads: { who: 'Name and machine', state: 'State' },
  classTicks: ['1', '2', '3', '4', '5'],
  blank: 'to be written',

  recipeCard: (name: string): string => `Recipe: ${name}`,
  printCard: 'Print its card',
  recipeCode: 'The whole recipe as a code',
  recipeHow: 'In Evenpull: Book, “Read a code from paper”. Any phone reads the whole recipe from it, without signal.',
  recipeWithout: 'What was to be remembered in words is too long for the code; it stands here only.',
  recipeNoCode: 'The names in this recipe are too long for a code. Shorten them and print again.',
  recipeStart: 'A start, not a setting: two lines first.',
  stitch: (lines: string | undefined): string =>
    `${lines ? `Its last lines, ${lines},` : 'A balanced stitch'} in the two threads of this recipe: top, cut, back`,
  stitchAim: 'Drawn balanced: no lines were judged with it.',

  scan: 'Read a code from paper',
  scanNote: 'A recipe’s card, or the label of a bobbin case',
  camera: 'Use the camera',
  cameraStop: 'Stop the camera',
  cameraView: 'What the camera sees',
  cameraHow: 'Hold the code flat, a hand away, so that it fills most of the picture.',
  cameraRefused: 'The camera can’t be used here. Take a photo of the code instead, or type the six signs of a label.',
  photo: 'Photo of the code',
  noCode: 'No code was found in this picture. Take it closer, flat and in good light.',
  typed: 'Six signs of a label',
  typedHint: 'Such as 7KM XW2',
  typedFind: 'Find it',
  fault: (f: CodeFault): string => faults[f],
  noSuchCase:
    'No bobbin case of this studio has this label. Look at the signs again; 0, 1, I, L, O and U are never in it.',
  whichCase: 'Two bobbin cases have this label. Which one is it?',
  caseIs: (label: string): string => `Bobbin case: ${label}`,
  caseIn: 'It is in this machine now',
  caseHere: 'It is in this machine, as the bench has it.',
  caseChanges: 'Its turns',
  onCard: 'On the card',
  here: 'This recipe is here already.',
  hereDiffers: (what: string): string =>
    `This recipe is here already, and was changed since the card was printed: ${what}.`,
  open: 'Open it',
  keep: 'Keep it',
  leave: 'Leave it',
  foreign: 'Its machine or bobbin case is none of this studio’s. Their turns are no use elsewhere; the drop is.',
  origin: (whose: readonly string[]): string => `From paper, set on: ${whose.join(', ')}.`,
  newThreads: (threads: readonly string[]): string => `New on the shelf: ${threads.join(', ')}.`,
};
