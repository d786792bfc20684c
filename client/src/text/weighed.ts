/** The words of the page for those who weighed case and bobbin. */
import type { RoughTension } from '../domain/weighed-drop';

type Fault = Extract<RoughTension, { fault: unknown }>['fault'];

const faults: { readonly [f in Fault]: string } = {
  none: 'Type how far it slipped, once or three times.',
  'not-a-mass': 'Type what case, bobbin and thread weigh together, in grams.',
  'not-a-length': 'Type lengths, such as 2 in or 50 mm.',
  'no-slip': 'It hardly slipped. No tension can be told from that: it holds at least its weight.',
  'too-heavy': 'No bobbin case weighs this much. Weigh it again, in grams.',
  'too-far': 'No shake falls this far. Type how far the hand let it fall.',
  differ: 'The three do not agree. Drop again: card under the spring and a good bobbin first.',
  'too-fast': 'That is faster than a free fall. Drop it again.',
  holds: 'That is less than its weight, so it would have run down by itself. Weigh and drop again.',
};

export const text = {
  title: 'Weighed bobbin case',
  about:
    'For the curious: a rough bobbin tension from what the case weighs and how far a shake lets it slip. Nothing here is needed for balancing.',
  weighed: 'What you measured',
  mass: 'Case with bobbin and thread',
  massHint: 'As you dropped it, on a kitchen scale.',
  fall: 'How far the hand let it fall',
  fallHint: 'A guess is enough, and a guess it stays: two inches is usual.',
  slips: ['First slip', 'Second slip', 'Third slip'],
  slipHint: 'How far it slipped on. One will do, three are better.',
  answer: 'Roughly',
  about5: (from: number, to: number): string => `About ${from} to ${to} grams.`,
  wide: 'So wide because the height of a shake is always a guess.',
  noTarget: 'This is no target, and no pull gauge reads the same. The length of the drop stays what you set by.',
  wait: 'Type the weight, the fall and one slip.',
  fault: (f: Fault): string => faults[f],
  back: 'Back to the Book',
} as const;
