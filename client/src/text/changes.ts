/** The words of the ledger. */
export const ways = { 'turned-back': 'I turned it back', 'wrote-wrong': 'I wrote it wrong' } as const;

export const text = {
  title: 'Changes',
  empty: 'No screw has been turned yet. What you turn is written here, and can always be turned back or struck.',
  turn: 'I turned something',
  lastGood: 'Back to last good',
  earlier: 'Back to an earlier point',
  stands: 'Stands',
  struck: 'written wrong',
  turnedBack: 'turned back',
  joined: 'counts with the other line',
  both: 'Written on two phones: the same change or two?',
  same: 'The same change',
  two: 'Two changes',
  lookAtDial: 'Two numbers were read: look at the dial.',
  kinds: {
    neutral: 'Neutral: a new start of the count',
    lost: 'Count lost',
    strike: 'Struck a line as wrong',
    same: 'One change, written twice',
  },
  dial: (number: string): string => `Dial reads ${number}`,
  back: (what: string): string => `Turned back: ${what}`,
  by: (name: string): string => `by ${name}`,
  someone: 'somebody',
  me: 'me',
};
