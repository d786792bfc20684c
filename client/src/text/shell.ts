/** Words that more than one screen says. */
import type { State, Trouble } from '../state';

const trouble: { readonly [t in Trouble]: string } = {
  full: 'Not saved: this phone has no room left. Remove photos or films from the phone, then try again. What is written here can go into a copy first.',
  lost: 'Not saved: the browser lost its store. Close this page and open it again; what is written is kept.',
  blocked: 'Close the other tab with Evenpull in it, so that this one can go on.',
  newer: 'A newer Evenpull has been on this phone. Load the page again to get it.',
  refused: 'Not saved: this is longer than a record can be. Shorten it; what you typed is still here.',
  'too-long': 'Not saved: this is too long. Shorten it; what you typed is still here.',
  'too-many': 'Not saved: that is more than one record can hold. Take some away.',
  'too-small': 'Not saved: this number is too small to be right. Look at it again.',
  'too-big': 'Not saved: this number is too big to be right. Look at it again.',
  'control-character': 'Not saved: a sign in it can’t be shown. Type it again by hand; what you typed is still here.',
  missing: 'Not saved: something that it needs is not filled in.',
  'not-both': 'Not saved: a turn and a dial number can’t stand in one record. Keep one of them.',
  'not-text': 'Not saved: words belong here.',
  'not-a-number': 'Not saved: a number belongs here.',
  'not-whole': 'Not saved: a whole number belongs here.',
  'not-yes-or-no': 'Not saved: this is a yes or a no.',
  'not-a-list': 'Not saved: a list belongs here.',
  'not-an-object': 'Not saved: this has another form than it should.',
  'not-an-id': 'Not saved: it names something that is not a record.',
  'not-a-colour': 'Not saved: this is no colour.',
  'not-a-choice': 'Not saved: this is none of the choices.',
  'unknown-kind': 'Not saved: this version does not know such a record. Load the page again to update.',
  'turned-already': 'Nothing written: this is turned back or struck already.',
  'nothing-to-turn': 'Nothing written: there is nothing to turn back in this line.',
  'no-picture': 'This file is no picture that the browser can read. Nothing was added.',
  unknown: 'That did not work. What you typed is still here. Try again; if it stays, save a copy.',
};

/** On plain HTTP, from elsewhere than this machine. */
export const notSecure =
  'Not opened over https: here the app does not open without its server, and camera, lit screen, sharing and lasting storage do not work; ask for the https address before you write anything.';

export const text = {
  opening: 'Opening …',
  reading: 'Reading the studio …',
  readingNote: 'Its machines and notes are on their way to this phone. Without signal it goes on by itself later.',
  howItStands: 'See how it stands',
  nameMeanwhile: 'Name a machine without waiting',
  tryAgain: 'Try again',
  noPart: 'This part could not be fetched. Load the page again; everything is kept.',
  broken: 'Your notes are still on this phone, but they could not be opened.',
  trouble,
  tabsLabel: 'Places',
  tabs: { frame: 'Frame', changes: 'Changes', book: 'Book', people: 'People & copies' },
  needs: (n: number): string => `${n} need you`,
};

const day = new Intl.DateTimeFormat(undefined, { weekday: 'short', day: 'numeric', month: 'short' });
const dated = new Intl.DateTimeFormat(undefined, { day: 'numeric', month: 'short', year: 'numeric' });
/** A day; with its year where that is not this one. */
const dayOf = (at: number, now: number): string =>
  (new Date(at).getFullYear() === new Date(now).getFullYear() ? day : dated).format(at);
const clock = new Intl.DateTimeFormat(undefined, { hour: '2-digit', minute: '2-digit' });
const minuteMs = 60_000;
const dayMs = 24 * 60 * minuteMs;

/** How long ago, in plain words. Days are those of the calendar where the phone is now: one of 23 or 25 hours is one day. */
export function ago(at: number, now: number): string {
  const minutes = Math.round((now - at) / minuteMs);
  const days = Math.round((dateOf(now) - dateOf(at)) / dayMs);
  if (minutes < 1) return 'just now';
  if (minutes < 60) return `${minutes} min ago`;
  if (minutes < 12 * 60 || days === 0) return `${Math.round(minutes / 60)} h ago`;
  if (days === 1) return 'yesterday';
  if (days < 14) return `${days} days ago`;
  return dayOf(at, now);
}

/** The phone's own date as a number of whole days. */
function dateOf(ms: number): number {
  const d = new Date(ms);
  return Date.UTC(d.getFullYear(), d.getMonth(), d.getDate());
}

/** A moment, for lists. */
export const when = (at: number, now = Date.now()): string => `${dayOf(at, now)}, ${clock.format(at)}`;

/** A moment in a list below one that has its day: the time alone while the day is the same. */
export const whenAfter = (at: number, before: number | undefined): string =>
  before !== undefined && dateOf(at) === dateOf(before) ? clock.format(at) : when(at);

/** A moment on paper, which is read in any year. */
export const whenOnPaper = (at: number): string => `${dated.format(at)}, ${clock.format(at)}`;

/** The two facts of the strip, and what needs the person. */
export function stripParts(s: State, now: number): { text: string; needs?: boolean }[] {
  const parts: { text: string; needs?: boolean }[] = [];
  if (!s.link.joined) parts.push({ text: 'On this phone' });
  else {
    parts.push({ text: s.waiting > 0 ? `${s.waiting} waiting to go` : 'Nothing waiting' });
    parts.push({
      text: s.link.heardAt ? `Last heard from the studio ${ago(s.link.heardAt, now)}` : 'Not heard from the studio yet',
    });
  }
  if (s.needs.length > 0) parts.push({ text: text.needs(s.needs.length), needs: true });
  return parts;
}
