/** The words of the ledger. */
import { dialNumber, move } from './amount';

export const ways = { 'turned-back': 'I turned it back', 'wrote-wrong': 'I wrote it wrong' } as const;

export const text = {
  title: 'Changes',
  empty: 'No screw has been turned yet. What you turn is written here, and can always be turned back or struck.',
  turn: 'I turned something',
  lastGood: 'Back to last good',
  earlier: 'Back to an earlier point',
  stands: 'Stands',
  struck: 'I wrote it wrong',
  found: 'the count stands again',
  turnedBack: 'turned back',
  joined: 'counts with the other line',
  both: 'Written on two phones: the same change or two?',
  same: 'The same change',
  two: 'Two changes',
  lookAtDial: 'Two numbers were read: look at the dial.',
  kinds: {
    neutral: 'Neutral: a new start of the count',
    lost: 'The count is not sure from here',
    same: 'One change, written twice',
  },
  strike: (what: string): string => (what ? `I wrote it wrong: ${what}` : 'I wrote a line wrong'),
  recounted: 'The count stands again',
  wrote: (screw: string, what: string, stands: string): string => `Written down. ${screw}: ${what}. Stands: ${stands}.`,
  dial: (number: string): string => `Dial reads ${number}`,
  back: (what: string): string => `Turned back: ${what}`,
  by: (name: string): string => `by ${name}`,
  someone: 'somebody',
  me: 'me',
};

type Change = { readonly [field: string]: unknown };

/** One record of a ledger in words: "Tighten 5 on the clock (one hour mark)", "Dial reads 4.5". One that strikes another says which. */
export function changeWords(c: Change, all: readonly Change[] = []): string {
  const minutes = typeof c.minutes === 'number' ? c.minutes : 0;
  if (c.type === 'dial') return text.dial(dialNumber(typeof c.dialTenths === 'number' ? c.dialTenths : 0));
  if (c.type === 'move') return sentence(move(minutes));
  if (c.type === 'back') return text.back(move(minutes));
  if (c.type === 'strike') {
    const struck = all.find((x) => x.id === c.strikes);
    if (struck?.type === 'lost') return text.recounted;
    return text.strike(struck && struck.type !== 'strike' ? lower(changeWords(struck)) : '');
  }
  const type = String(c.type);
  return Object.hasOwn(text.kinds, type) ? text.kinds[type as keyof typeof text.kinds] : '';
}

const lower = (s: string) => s.charAt(0).toLowerCase() + s.slice(1);
const sentence = (s: string) => s.charAt(0).toUpperCase() + s.slice(1);
