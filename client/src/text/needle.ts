/** The words of the needle: what its number means, whether the thread has room, how long it has been in. */
import type { Fit, NeedleSize } from '../domain/needle';
import { mostShare } from '../domain/needle';

const percent = Math.round(mostShare * 100);

export const text = {
  title: 'Needle',
  asPrinted: 'As printed on the packet',
  asPrintedHint: 'Such as 100, 16/100 or 4.0. Trade sizes stay as they are printed.',
  notConverted: 'This size has no metric partner that is sure. It is kept as it is printed.',
  in: 'In the machine',
  notIn: 'Tap “New needle” on Frame when one goes in; its hours count from there.',
  since: (day: string, hours: string): string => `since ${day}, ${hours}`,
  rule: `Rule of thumb from a trade glossary: the groove takes a thread of up to ${percent} % of the blade. The manual and a sewn line say more.`,
  noSize: 'To see whether a thread fits, its size and fibre must be known.',
  size({ metric, old, by }: NeedleSize): string {
    const blade = `Metric ${metric}: a blade of ${(metric / 100).toFixed(2).replace(/0$/, '')} mm`;
    if (old === undefined) return `${blade}. No old one-figure size goes with it.`;
    return `${blade}, the old size ${old}${by === 'habit' ? ' by trade habit' : ''}.`;
  },
  fit(thread: string, { fits, share, smallest }: Fit): string {
    const takes = `${thread}: ${share} % of the blade`;
    if (fits) return `${takes}. It has room.`;
    return `${takes}. ${smallest ? `Tight: ${smallest} is the smallest that takes it.` : 'Too thick for any needle by this rule.'}`;
  },
};

/** "about 6 h", "under an hour". */
export const hoursWords = (hours: number): string =>
  hours < 1 ? (hours <= 0 ? 'no hours counted yet' : 'under an hour') : `about ${Math.round(hours)} h`;
