/** The words of care: what there is to do, what to take care of, and what is due. */
import type { CareCaution, CareState, CareUnit } from '../domain/care';
import type { CareId } from '../domain/knowledge/care-ids';
import { number } from './sizes';

const names: { readonly [id in CareId]: string } = {
  hook: 'Brush hook and bobbin case',
  oil: 'A drop of oil to the hook race, if the manual says so',
  card: 'A card under the spring of the bobbin case',
  path: 'Net, eyelets, discs and pull for another top thread',
  'day-start': 'Start of the day: three drops, two lines, both faces',
  needle: 'New needle',
  rails: 'Rails and wheels wiped; cables, clamps, foot and plate edge looked at',
  deep: 'Deep clean: hook area, check spring, guides, regulator wheels',
  'case-check': 'Bobbin case: three drops with a new bobbin, a look at spring and anti-backlash leaf',
  service: 'Service: belts, brushes, timing, needle bar, bearings, level',
  struck: 'After a strike or jam: needle, plate, hook, a turn by hand, a sample',
  moved: 'After a move: level, rails, wheels, cables, case, then as at the start of the day',
  rest: 'After a long rest: a turn by hand, oil, slowly on scrap, new needle, fresh thread',
  'day-end': 'End of the day: needle as the manual says, power off, cover, phone off the carriage',
};

const cautions: { readonly [caution in CareCaution]: string } = {
  off: 'Machine stopped, needle locked out or power off first.',
  brush: 'Brush lint out; never blow it in.',
  'manual-oil': 'Only the oil and the places the manual names. Machine stopped; afterwards scrap before the quilt.',
  release: 'Machine stopped. Open the tension to floss the discs; never force.',
  'same-fill': 'At the fill that was written down.',
  sharp: 'Needles are sharp: into a closed box. Find every piece of a broken one.',
  turned: 'Up to its stop, and turned as the manual shows.',
  'dry-rails': 'No oil on the rails unless the manual says so.',
  covers: 'Only covers that the manual opens.',
  label: 'Keep its label; magnets away from it. A worn one is replaced, not bent.',
  warranty: 'For a qualified technician. Look at the warranty first.',
  'no-run': 'No running to clear it. With a poor sample stop and call a technician.',
  lift: 'The head is heavy and moves: two people for lifting.',
  'old-oil': 'Old oil binds and old thread snaps.',
};

const units: { readonly [unit in CareUnit]: readonly [string, string] } = {
  bobbins: ['bobbin', 'bobbins'],
  hours: ['hour', 'hours'],
  quilts: ['quilt', 'quilts'],
  days: ['day', 'days'],
};

const much = (n: number, unit: CareUnit): string => {
  const shown = number(n, unit === 'hours' && n < 10 ? 1 : 0);
  return `${shown} ${units[unit][shown === '1' ? 0 : 1]}`;
};

const happened = {
  'top-thread': 'another top thread or cone went on',
  struck: 'something was struck or jammed',
  rest: 'a month or more without a stitch',
} as const;

export const text = {
  title: 'Care',
  back: 'Back to Frame',
  due: 'Due now',
  nothingDue: 'Nothing is due.',
  plan: 'The plan of this machine',
  planNote:
    'Habits of the trade, no published source. The manual’s figures and kinds of oil come first: change an interval to match.',
  all: 'Care: plan and history',
  more: (n: number): string => `${n} more due`,
  name: (id: CareId): string => names[id],
  caution: (c: CareCaution): string => cautions[c],
  technician: 'A technician’s work',
  stop: 'Machine stopped, needle locked out or power off before hands go near.',
  done: 'Done',
  dropTest: 'Drop test',
  topFeel: 'Feel the top thread',
  noted: 'What was done or found (optional)',
  everyHint: (n: number): string => `Left empty it is ${n}, the plan’s figure.`,
  everyOf: (unit: CareUnit): string => `Every so many ${units[unit][1]}`,
  off: 'Not on this machine',
  hours: 'Running hours',
  counted: (hours: number, since: string): string => `About ${number(hours, 0)} h since ${since}, as counted here.`,
  byBobbins: (minutes: number): string =>
    `Counted by “New bobbin”, ${minutes} minutes each: rough, half or double is possible.`,
  perBobbin: 'Running minutes on a bobbin',
  minutes: 'min',
  counter: 'The machine’s own counter, in hours',
  counterHint: 'When it is typed in, hours go by the counter.',
  counterWas: (hours: number, when: string): string => `${number(hours, 1)} h on ${when}`,
  write: 'Write it down',
  history: 'What was done',
  noHistory: 'Nothing written down yet.',
  remove: 'I wrote it wrong',
  byTechnician: 'by a technician',
  unknown: 'Something that this version does not know',
  facts: {
    cleaned: 'Cleaned',
    'new-needle': 'New needle',
    struck: 'Something was struck',
    jam: 'Jam',
  } as { readonly [type: string]: string },
  /** "Overdue: 3 bobbins since, due at 1." */
  state(s: CareState): string {
    if (s.state === 'off') return 'Not on this machine.';
    if (s.state === 'when') return 'When it is so.';
    const most = s.used.reduce<(typeof s.used)[number] | undefined>(
      (a, b) => (a && a.n / a.due >= b.n / b.due ? a : b),
      undefined,
    );
    const counted = most && `${much(most.n, most.unit)} since, due at ${number(most.due, 0)}`;
    if (s.state === 'fine') return counted ? `Not due: ${counted}.` : 'Not due.';
    const why = s.why ? happened[s.why] : counted;
    return `${s.state === 'overdue' ? 'Overdue' : 'Due'}: ${why}.`;
  },
  /** The same, and whose work it is where that is no quilter's. */
  stateBy(s: CareState): string {
    return `${text.state(s)}${s.item.by === 'technician' ? ` ${text.technician}.` : ''}`;
  },
  /** What is due as Frame says it, with its own cautions: that the machine is stopped stands over all of them. */
  stateOnFrame(s: CareState): string {
    return [text.state(s), ...s.item.cautions.filter((c) => c !== 'off').map(text.caution)].join(' ');
  },
  last: (when: string): string => `last done ${when}`,
  never: 'never written down',
};
