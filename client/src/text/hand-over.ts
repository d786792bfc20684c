/** The words of a hand-over: one page for one machine. */
import type { GiveFault, Tried, Verdict } from '../domain/hand-over';
import type { Ctx } from '../domain/task';
import { screwName } from './amount';
import { changeWords } from './changes';
import { actSay, checkSay } from './checks';
import { text as frameText } from './frame';
import { changeWhy, happened, stopWhy } from './reasons';

const faults: { readonly [fault in GiveFault]: string } = {
  reason: 'Say in a few words what to watch, or why it must not run. What you typed stays here.',
  stands: 'This machine is marked “do not run”. Lift it first, with a reason.',
  'too-long': 'This is too long. Shorten it; what you typed stays here.',
};

const verdicts: { readonly [v in Verdict]: string } = frameText.verdicts;

export const text = {
  title: 'Hand over',
  note: 'One page for whoever takes the machine',
  back: 'Back to Frame',
  page: (machine: string): string => `Hand-over: ${machine}`,
  technicianPage: (machine: string): string => `For the technician: ${machine}`,
  versions: { taker: 'For the next operator', technician: 'For the technician', station: 'Station card' },
  version: 'The page is',
  verdicts,
  give: 'Say how it is',
  verdict: 'First line',
  reason: 'What to watch, or why not (needed unless it is good)',
  row: 'Row of the quilt (optional)',
  rowHint: 'Such as 7, or 7 of 12',
  tight: 'Finger under the sandwich (optional)',
  tightStates: checkSay.push_up?.states ?? {},
  giveIt: 'Hand it over',
  giveNote: '“Do not run” stands on Frame on every phone until somebody lifts it with a reason.',
  fault: (f: GiveFault): string => faults[f],
  share: 'Share as a file',
  file: (day: string): string => `evenpull-hand-over-${day}.html`,
  nothing: 'Nobody has said yet how this machine is.',
  said: (v: Verdict): string => verdicts[v],
  saidBy: (who: string, when: string): string => `Said by ${who}, ${when}.`,
  markedBy: (who: string, when: string): string => `Marked by ${who}, ${when}.`,
  reasonIs: (reason: string): string => stopWhy(reason),
  since: (words: string): string => `Since then: ${words}.`,
  take: 'I have it',
  taken: (who: string, when: string): string => `${who} has it, ${when}.`,
  notTaken: 'Nobody has taken it yet.',
  rows: {
    quilt: 'Quilt and row',
    tight: 'How tight',
    needle: 'Needle',
    good: 'Last good',
    pull: 'Feel of the top thread',
    sample: 'Last lines',
    open: 'Open round',
    tried: 'What was tried',
    due: 'What is due',
    happened: 'What happened',
    seen: 'What was seen',
  },
  pullStates: checkSay.pull_top?.states ?? {},
  rowIs: (row: string): string => `row ${row}`,
  goodPhoto: 'Photo of the good stitch',
  addPhoto: 'Add a photo of the last good stitch',
  allAlike: 'all lines alike',
  openIs: (round: number, who: string, when: string): string =>
    `Round ${round} of a balancing that ${who} began ${when}`,
  none: 'none',
  nothingTried: 'Nothing since it was last good.',
  nothingDue: 'Nothing.',
  nothingHappened: 'Nothing that was written down.',
  nothingSeen: 'Nothing was looked at with “What do you see?”.',
  earlier: (n: number): string => `and ${n} before that`,
  at: (what: string, when: string, who: string): string => `${what} (${when}, ${who})`,
};

/** One turn, look or act in a few words. */
export function triedWords(t: Tried, ctx: Ctx): string {
  if (t.of === 'act')
    return actSay[t.act] ?? (Object.hasOwn(frameText.fact, t.act) ? frameText.fact[t.act as 'good'] : t.act);
  if (t.of === 'change') {
    const why = t.record.why ? `, ${changeWhy(t.record.why)}` : '';
    return `${screwName(t.record.screw, ctx)}: ${changeWords(t.record)}${why}`;
  }
  const words = Object.hasOwn(checkSay, t.record.finding) ? checkSay[t.record.finding] : undefined;
  return words
    ? `${words.say} ${words.states[t.record.state] ?? t.record.state}`
    : `${t.record.finding}: ${t.record.state}`;
}

/** What happened, with the reason that was given. */
export function happenedWords(e: Ctx['events'][number]): string {
  const what =
    e.type === 'do-not-run'
      ? verdicts.stop
      : e.type === 'lifted'
        ? 'Lifted'
        : ((happened as { readonly [type: string]: string })[e.type] ?? e.type);
  return e.reason ? `${what}: ${stopWhy(e.reason)}` : what;
}
