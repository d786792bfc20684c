/** The words of People & copies. */
import type { OtherStudio } from '../state';

const things = (n: number, one: string): string => `${n} ${one}${n === 1 ? '' : 's'}`;

/** What no server has of a studio that has one. */
const unsent = ({ shared, waiting, refused }: OtherStudio): readonly string[] => [
  ...(shared && waiting > 0 ? [`${things(waiting, 'thing')} not sent yet`] : []),
  ...(refused > 0 ? [`${things(refused, 'thing')} refused`] : []),
];

export const text = {
  title: 'People & copies',
  copies: 'Copies',
  tables: 'Tables for a spreadsheet (CSV)',
  table: { readings: 'Readings', turns: 'Turns', recipes: 'Recipes' },
  copyNote: 'One file with everything: records, notes and photos. Keep it somewhere that is not this phone.',
  saveCopy: 'Save a copy',
  openCopy: 'Open a copy',
  sinceCopy: (n: number): string =>
    n === 0 ? 'Nothing new since your last copy.' : `${n} thing${n === 1 ? '' : 's'} since your last copy.`,
  copied: (ago: string): string => `Last copy: ${ago}.`,
  neverCopied: (n: number): string =>
    n === 0
      ? 'No copy was saved from this phone yet, and nothing is on it to save.'
      : `No copy was saved from this phone yet: ${n} thing${n === 1 ? ' is' : 's are'} in none.`,
  studio: 'The studio',
  alone: 'This phone is alone: nothing is shared. Everything works.',
  join: 'I have a code',
  claim: 'Share this studio',
  claimNote:
    'For the first phone of a studio. Whoever runs the studio’s server reads a code off it when it starts. Type that code here: you become the first keeper, and can then invite the others.',
  code: 'Code',
  codeHint: '8 characters, shown in two groups of four. Any case, with or without the space.',
  badCode: 'A code has 8 characters. Look at it again: some letters and digits are never used.',
  name: 'Your name, as the others see it',
  joinIt: 'Join',
  claimIt: 'Share it',
  trying: 'Trying the code …',
  willShare: (parts: string): string => `${parts} from this phone will be shared with everybody in that studio.`,
  nothingToShare: 'Nothing from this phone will be shared yet.',
  copyAll: 'Take all of it along',
  copyNone: 'None of it yet',
  oldStays: 'What is on this phone stays readable here.',
  counted: (n: number, one: string, many: string): string => `${n} ${n === 1 ? one : many}`,
  waitsForSignal: (code: string): string => `Code ${code} is kept. It will join when there is signal; go on working.`,
  others: 'Also on this phone',
  unnamed: 'A studio of its own',
  openStudio: 'Show it',
  removeStudio: (n: number): string => `Remove it and its ${things(n, 'record')} from this phone`,
  /** "12 records, 3 not sent yet, 1 refused". */
  studioHolds: (o: OtherStudio): string =>
    [things(o.records, 'record'), ...(o.shared ? [] : ['never shared']), ...unsent(o)].join(', '),
  removeSure: (o: OtherStudio): string => {
    if (!o.shared)
      return 'It was never shared: only this phone and the copies you saved have it. What you took along to another studio stays there. If you are not sure, show it first and save a copy.';
    if (unsent(o).length === 0)
      return 'Everything in it has reached its server and stays there. Only this phone forgets it.';
    return `Gone from everywhere then: ${unsent(o).join(', ')}. If you are not sure, show it first, then send it or save a copy.`;
  },
  removeYes: 'Yes, remove it',
  joinOther: 'I have a code for another studio',
  joinAgain: 'Join again with a new code',
  people: 'People',
  phones: 'Phones',
  roles: { keeper: 'keeper', operator: 'operator', guest: 'guest (reads)' },
  invite: 'Invite',
  invitePerson: 'Invite a person',
  invitePhone: 'My other phone',
  inviteClass: 'A class',
  inviteRole: 'What may they do?',
  inviteEnds: (at: string): string => `This code ends ${at}.`,
  qrLabel: 'The code as a picture for another phone',
  qrInstead: 'Type the code above.',
  mayDo: (name: string): string => `What may ${name} do?`,
  endPerson: (name: string): string => `End all access of ${name}`,
  thisOne: (label: string): string => `${label} (this one)`,
  endPhone: (label: string): string => `End the access of ${label}`,
  endOwn: 'End the access of this one',
  endSure: (name: string): string =>
    `From then on nothing goes between the studio and any phone of ${name}. What ${name} wrote before stays. It can’t be taken back: a new code lets a person in again.`,
  endPhoneSure:
    'From then on nothing goes between the studio and that phone. What it wrote before stays. It can’t be taken back: a new code lets it in again.',
  endOwnSure:
    'This is the one you are looking at. From then on nothing goes between the studio and it; what is on it stays readable here. It can’t be taken back: only a new code from a keeper lets it in again.',
  endYes: 'Yes, end it',
  endNo: 'Leave it as it is',
  ended: 'ended',
  needs: 'Needs you',
  needWhy: {
    malformed: 'The studio could not read it.',
    'too-large': 'It is longer than the studio takes.',
    'server-only': 'Only the studio’s server may write this.',
    'purge-over': 'What was taken away for good can’t be written over.',
  } as { readonly [reason: string]: string },
  tryAgain: 'Try again',
  keepHere: 'Keep here only',
  keptHere: 'Kept on this phone only',
  forget: 'Forget it',
  forgetSure: 'These words are gone from this phone then. Nothing brings them back but a copy you saved.',
  forgetYes: 'Yes, forget them',
  keepIt: 'Keep it',
  itsText: 'Its text: change it here',
  tooLong: (by: number): string =>
    by > 0
      ? `Still ${by} signs too long. Shorten it, then try again.`
      : 'Still too long for the studio. Shorten it, then try again.',
  sendNow: 'Send now',
  heard: (ago: string): string => `Last heard ${ago}.`,
  states: {
    alone: 'Not shared.',
    idle: 'Up to date as far as this phone knows.',
    sending: 'Sending …',
    offline: 'No way to the studio just now. Everything is kept and goes later.',
    refused:
      'The studio does not take anything from this phone just now. Everything is kept. Ask a keeper, or join again.',
    'too-old': 'The studio needs a newer Evenpull. Load the page again to update; work goes on here.',
    'too-new': 'The studio’s server is older than this app. Work goes on here; it is sent once the server is updated.',
  },
  storage: 'On this phone',
  kept: 'The browser keeps it even when room gets short.',
  notKept: 'The browser may take it back when room gets short. Put Evenpull on the home screen and save a copy.',
  unknownKept: 'The browser does not say whether it keeps it.',
  askKeep: 'Ask the browser to keep it',
  used: (used: string, allowed: string): string => `${used} used of about ${allowed}.`,
  installed: 'Opened from the home screen.',
  notInstalled: 'Opened in a browser tab. On the home screen it has a place of its own.',
  reading: 'Reading and cues',
  theme: 'Light',
  themes: { system: 'As the phone', day: 'Day', lamp: 'Lamp', glare: 'Glare' },
  size: 'Text size',
  sizes: { normal: 'Usual', large: 'Large', largest: 'Largest' },
  hand: 'Small buttons at the',
  hands: { right: 'Right', left: 'Left' },
  units: 'Lengths in',
  unitNames: { in: 'Inches', mm: 'Millimetres' },
  cues: 'Cues of the drop test',
  gauge: 'I own a tension gauge',
  about: 'About',
  help: 'How it works',
  version: (v: string): string => `Evenpull ${v}`,
  licences: 'Licences of what it is made of',
  caution:
    'Advice here is a habit of the trade. Your machine’s manual, local rules and a qualified technician go first.',
  back: 'Back',
};
