/**
 * Which screw to turn, and which way, when a fault on one face could come from either thread. The sub-rules a to i of the
 * trade's rule "which side when both are plausible"; common practice, no published source. The bobbin first, so nothing
 * here is asked before a drop test was made or put off.
 */

export type Pulls = {
  /** -2 … +2; below 0 bobbin colour shows on top (the top pulls harder), above 0 top colour shows on the back. */
  readonly score: number;
  readonly drop?: 'neutral' | 'barely' | 'falls' | 'jerky'; // undefined: not tested
  readonly pull?: 'as_usual' | 'stiff' | 'light' | 'jerky'; // feel of the top; undefined: not felt
  /** The one screw that was turned since all was last good, before this balancing began. */
  readonly changed?: 'top' | 'bobbin';
  readonly strained?: boolean; // a thread breaks, or the cloth draws in
  readonly lifts?: boolean; // a stitch lifts on a pin
  readonly topEnd?: 'loose' | 'tight'; // the top knob is at this end of its useful range
};

export type Which =
  | { readonly turn: 'top' | 'bobbin'; readonly way: 'tighter' | 'looser'; readonly why: WhichWhy }
  | { readonly neutral: true; readonly why: 'both-out' }
  /** A test and the stitch say opposite things: look at path, discs and hook, turn nothing. */
  | { readonly recheck: true; readonly why: 'feel-disagrees' | 'drop-disagrees' };

export type WhichWhy =
  | 'just-changed' // a
  | 'drop-out' // b
  | 'feel-off' // c
  | 'bobbin-proven' // d
  | 'loosen-winner' // f
  | 'tighten-loser' // g
  | 'loosen-first' // h
  | 'top-at-end'; // i

/** Undefined where nothing pulls harder, or where jerks say that it is no setting. */
export function whichScrew(p: Pulls): Which | undefined {
  const drop = p.drop === 'barely' || p.drop === 'falls' ? p.drop : undefined;
  const pull = p.pull === 'stiff' || p.pull === 'light' ? p.pull : undefined;
  if (p.drop === 'jerky' || p.pull === 'jerky') return undefined;
  if (drop && pull) return { neutral: true, why: 'both-out' };
  if (drop) return { turn: 'bobbin', way: drop === 'falls' ? 'tighter' : 'looser', why: 'drop-out' };
  if (p.score === 0) return undefined;
  const topWins = p.score < 0;
  if (p.changed) return ended(p, eased(p.changed, topWins), 'just-changed');
  if (pull && (pull === 'stiff') !== topWins) return { recheck: true, why: 'feel-disagrees' };
  if (pull) return ended(p, eased('top', topWins), 'feel-off');
  const [winner, loser] = topWins ? (['top', 'bobbin'] as const) : (['bobbin', 'top'] as const);
  const turned = p.strained ? winner : loser;
  // In its band the bobbin was just shown to be right: where the stitch says it is not, something else is at work.
  if ((p.strained || p.lifts) && turned === 'bobbin' && p.drop === 'neutral')
    return { recheck: true, why: 'drop-disagrees' };
  if (p.strained) return ended(p, { turn: winner, way: 'looser' }, 'loosen-winner');
  if (p.lifts) return ended(p, { turn: loser, way: 'tighter' }, 'tighten-loser');
  if (p.drop === 'neutral') return ended(p, eased('top', topWins), 'bobbin-proven');
  return ended(p, { turn: winner, way: 'looser' }, 'loosen-first');
}

type Turn = { readonly turn: 'top' | 'bobbin'; readonly way: 'tighter' | 'looser' };

/** The move of this screw that helps the thread that loses. */
function eased(screw: 'top' | 'bobbin', topWins: boolean): Turn {
  return { turn: screw, way: (screw === 'top') === topWins ? 'looser' : 'tighter' };
}

/** A top knob at the end of its range can't go on: the bobbin moves the other way instead. */
function ended(p: Pulls, t: Turn, why: WhichWhy): Which {
  const stuck = t.turn === 'top' && p.topEnd === (t.way === 'looser' ? 'loose' : 'tight');
  return stuck ? { turn: 'bobbin', way: t.way === 'looser' ? 'tighter' : 'looser', why: 'top-at-end' } : { ...t, why };
}
