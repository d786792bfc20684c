/** The words of a class: its stations, what they were seen as, and the steps that are given. */
import type { StationState, StepGiven } from '../domain/class-board';

const states: { readonly [s in StationState]: string } = {
  waiting: 'Waiting',
  step: 'Step given',
  good: 'Good',
  stop: 'Stop',
};

/** Short enough for four beside one another on a phone. */
const acts: { readonly [s in StationState]: string } = { ...states, waiting: 'Wait', step: 'Step' };

const steps: { readonly [s in StepGiven]: string } = {
  rethread: 'Thread again, from the cone',
  needle: 'New needle',
  card: 'Card under the case spring',
  seat: 'Bobbin case out and in',
  floss: 'Floss the discs',
  'other-bobbin': 'Another bobbin',
  drops: 'Three drops',
  'two-lines': 'Two lines, two colours',
  'bobbin-tighter': 'Bobbin 5 tighter',
  'bobbin-looser': 'Bobbin 5 looser',
  'top-tighter': 'Top 30 tighter',
  'top-looser': 'Top 30 looser',
  neutral: 'Back to neutral',
  'slack-cloth': 'Slacken the cloth',
  slower: 'Slower, even pace',
};

const clock = new Intl.DateTimeFormat(undefined, { hour: 'numeric', minute: '2-digit' });

export const text = {
  title: 'Class',
  none: 'Numbered stations: what each was seen as, and the one step you gave. It needs no signal and no other phone.',
  start: (stations: number): string => `Start a class of ${stations}`,
  usualName: (at: number): string => `Class of ${new Intl.DateTimeFormat(undefined, { dateStyle: 'long' }).format(at)}`,
  running: 'Classes',
  name: 'Name of the class',
  station: (n: number): string => `Station ${n}`,
  named: (n: number, name: string | undefined): string => (name ? `${n} ${name}` : String(n)),
  state: (s: StationState | undefined): string => (s ? states[s] : 'Not seen'),
  which: 'One step',
  step: (s: StepGiven): string => steps[s],
  act: (s: StationState): string => acts[s],
  at: (at: number): string => clock.format(at),
  back: (at: number): string => `back to you ${clock.format(at)}`,
  backTo: (stations: readonly string[]): string => `Back now to ${stations.join(', ')}`,
  tellAll: (step: string): string => `Three stations or more: ${step}. Tell everyone.`,
  stopNote: 'Power off. Nobody sews there until somebody qualified says so.',
  counts: (seen: number, good: number, all: number): string => `${seen} of ${all} seen, ${good} good`,
  scan: 'Read a station’s card',
  wait: 'While they wait, the first five',
  first: [
    'Thread again from the cone, tension open.',
    'A new needle: stopped, locked out or power off, set as the manual shows.',
    'A card corner under the case spring.',
    'Three drops.',
    'Two lines in two colours, on an offcut. Then hands off.',
  ],
  given: 'What was given',
  atStations: (n: number): string => (n === 1 ? 'at 1 station' : `at ${n} stations`),
  one: 'One more station',
  visits: 'Visits',
  noVisits: 'Not seen yet.',
  wrong: 'Take back',
  who: 'Name, or what the machine is called',
  note: 'What you saw here',
  toBoard: 'Back to the board',
  toBook: 'Back to the Book',
  gone: 'This class is not on this phone.',
} as const;
