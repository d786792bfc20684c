/** The words of stitches per inch: by a ruler, or by this screen. */
import type { StitchLength } from '../domain/ruler';
import { number } from './sizes';

export const text = {
  title: 'Stitches per inch',
  caution: 'Machine stopped, phone off the head. Lay the cloth flat and do not stretch it.',
  count:
    'Count ten stitches: from the hole where the first begins to the hole where the tenth ends. That is eleven holes.',
  byRuler: 'By any ruler',
  ten: 'Length of ten stitches',
  tenHint: 'Such as 1 in, 1 1/16 in or 25 mm.',
  byScreen: 'By this screen',
  zoomed: 'The page is zoomed in, so nothing here has its true size. Zoom out until it stops; figures come back then.',
  checkAgain: 'This is another screen than the one that was matched, or its scale was changed. Match it again.',
  match:
    'Hold a bank card upright on the glass, look straight down, and make the frame as wide as the card: drag its dot, or use the buttons. A ruler against the bar does as well.',
  noCard: 'Only its edge is used. No number on it is read or kept.',
  frame: 'As wide as a bank card',
  bar: (mm: number): string => `${mm} mm`,
  wider: (px: number): string => `Wider by ${px}`,
  narrower: (px: number): string => `Narrower by ${px}`,
  fits: 'It fits',
  second: (mm: number): string => `Now hold a ruler to this bar: is it ${mm} mm?`,
  secondFits: (mm: number): string => `Yes, ${mm} mm`,
  again: 'No, match again',
  measure:
    'Lay ten stitches along the bar, look straight down, and make it as long as they are: drag its dot, or use the buttons.',
  ten10: 'Ten stitches',
  longer: (px: number): string => `Longer by ${px}`,
  shorter: (px: number): string => `Shorter by ${px}`,
  matchAgain: 'Match the screen again',
  out: 'Ten stitches are not that long or short. Count the holes again.',
  keep: 'Keep it with the quilt',
  kept: (spi: string): string => `With the quilt: ${spi} stitches per inch.`,
  noQuilt: 'Name a quilt on the bench, then it can be kept with it.',
  back: 'To the machine',
};

/** "About 10.2 stitches per inch, 2.5 mm each." */
export const lengthWords = ({ tenthsPerInch, mm }: StitchLength): string =>
  `About ${number(tenthsPerInch / 10)} stitches per inch, ${number(mm)} mm each.`;
