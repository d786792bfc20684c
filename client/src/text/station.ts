/** The words of a station's card: how one machine stands, as a code on its phone or on paper. */
import type { CodeFault } from '../domain/sealed-code';
import type { SeenHere } from '../domain/station-card';
import { checkSay } from './checks';

const faults: { readonly [fault in CodeFault]: string } = {
  'not-ours': 'This is no station’s card. Nothing was taken from it.',
  newer: 'This card is made by a newer Evenpull. Load the page again to update, then read it once more.',
  'too-long': 'This is longer than any card that Evenpull makes. Nothing was taken from it.',
  damaged: 'This card came damaged, and nothing was taken from it. Hold the phones still and read it again.',
  unusable: 'Something in this card can’t be right, so nothing was taken from it. Let the other phone show it anew.',
};

export const text = {
  fault: (f: CodeFault): string => faults[f],
  tooLong: 'The names on this card are too long for a code. Shorten them first.',
  title: (machine: string): string => `Station card: ${machine}`,
  titleOf: (station: number | undefined, machine: string): string =>
    [station === undefined ? 'Station' : `Station ${station}`, machine].filter(Boolean).join(', '),
  number: 'Station number in the class (optional)',
  noNumber: (most: number): string => `A number from 1 to ${most}. Without one it is left out.`,
  code: 'The code of this card',
  how: 'The teacher reads it with “Read a code from paper” in the Book, one scan a visit. It has the names of machine and bobbin case as you wrote them, no other names.',
  asOf: (when: string): string => `As it stood ${when}`,
  rows: {
    state: 'How it stands',
    machine: 'Machine',
    bobbinCase: 'Bobbin case',
    needle: 'Needle',
    reading: 'Last drop',
    top: 'Top, from flush',
    seen: 'What is seen',
  },
  nothingSeen: 'Nothing odd is written down',
  seen: ({ finding, state }: SeenHere): string => {
    const words = Object.hasOwn(checkSay, finding) ? checkSay[finding] : undefined;
    return words ? `${words.say} ${words.states[state] ?? state}` : `${finding}: ${state}`;
  },
  put: (station: string, name: string): string => `Put it on the board: ${station}, ${name}`,
  which: (name: string): string => `Put it on the board of ${name}, at station`,
  stands: (stations: readonly string[]): string =>
    `${stations.join(', ')} ${stations.length === 1 ? 'stands' : 'stand'} at stop. A card does not lift it: change it on the board.`,
  older: (stations: readonly string[]): string =>
    `This card is older than the last visit at ${stations.join(', ')}. See that it still stands so.`,
  board: 'To the board',
  note: 'Keep it as a note',
  leave: 'Leave it',
} as const;
