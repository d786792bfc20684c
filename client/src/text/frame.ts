/** The words of Frame: what is set up now, how old the last reading is, and what one tap writes down. */
import { lengthIn, type Units } from './amount';

const dropWords: { readonly [answer: string]: string } = {
  falls: 'falls by itself',
  creeps: 'creeps or goes in steps',
  nothing: 'hardly moves',
  short: 'drops too little',
  right: 'drops right',
  far: 'drops too far',
};
const fingerWords: { readonly [answer: string]: string } = {
  tips: 'tips up and stays',
  lifts: 'lifts off',
  flat: 'lies flat',
};
const fillWords: { readonly [fill: string]: string } = { full: 'full bobbin', half: 'half bobbin', low: 'low bobbin' };

type Drop = { readonly answer?: string; readonly tenthsIn?: number; readonly out?: boolean; readonly hidden?: boolean };

export const text = {
  noMachine: 'No machine yet',
  noName: 'Machine with no name',
  /** What is on the bench, where two phones may say two things. */
  bench: {
    quilt: 'Quilt',
    topThread: 'Top',
    bobbinThread: 'Bobbin',
    bobbinKind: 'Kind of bobbin',
    bobbinCase: 'Bobbin case',
    needle: 'Needle',
    batting: 'Batting',
    backing: 'Backing',
  } as { readonly [field: string]: string },
  chooseMachine: 'Machine',
  quilt: 'Quilt',
  noQuilt: 'No quilt named',
  top: 'Top',
  bobbin: 'Bobbin',
  bobbinCase: 'Bobbin case',
  needle: 'Needle',
  batting: 'Batting',
  backing: 'Backing',
  notSaid: 'not said',
  setUp: 'What is set up',
  change: 'Change',
  drop: 'Drop test',
  see: 'What do you see?',
  balance: 'Balance the machine',
  firstFive: 'First five',
  sew: 'Sew two lines',
  topFeel: 'Feel the top thread',
  handOver: 'Hand over',
  ruler: 'Stitches per inch',
  print: 'Print',
  verdicts: { good: 'Good to stitch', watch: 'Watch it', stop: 'Do not run' } as const,
  handedOver: (who: string, how: string): string => `Handed over by ${who}: ${how}.`,
  seePage: 'See the page',
  carryOn: (task: string, machine: string): string => `Carry on: ${task}${machine && ` (${machine})`}`,
  facts: 'Write down with one tap',
  fact: {
    good: 'Good now',
    'new-bobbin': 'New bobbin',
    'new-cone': 'Other cone',
    'new-needle': 'New needle',
    cleaned: 'Cleaned',
  } as const,
  factNote: 'Good now: both faces looked at.',
  undo: 'Undo',
  turned: 'I turned something',
  lastReading: 'Last drop',
  noReading: 'No drop test yet',
  lastGood: 'Last good',
  noGood: 'Not marked good yet',
  topStands: 'Top stands',
  caseStands: 'Bobbin case stands',
  lost: 'position not known',
  flush: 'at neutral',
  fromNeutral: (how: string, tighter: boolean): string => `${how} ${tighter ? 'tighter' : 'looser'} than neutral`,
  both: 'Look at the machine: which is on it?',
  stop: 'Do not run',
  stopBy: (why: string): string => `This machine is marked “do not run”: ${why}`,
  lift: 'Lift it, with a reason',
  onlyHere: (n: number, copied: boolean): string =>
    `Only on this phone: ${n} thing${n === 1 ? '' : 's'}${copied ? ' since your last copy' : ', and no copy yet'}.`,
  saveCopy: 'Save a copy',
  update: 'New version ready.',
  updateHeld: 'New version ready. Another tab is in the middle of a task: leave that first.',
  apply: 'Use it now',
  threadName: (number: string, fibre: string): string => [number, fibre].filter(Boolean).join(' '),
  /** "5 in, drops right, full bobbin". */
  reading(
    type: string,
    drops: readonly Drop[] | undefined,
    answer: string | undefined,
    fill: string | undefined,
    units: Units | undefined,
  ): string {
    const parts: string[] = [];
    if (type === 'finger') parts.push(`finger pads: ${fingerWords[answer ?? ''] ?? 'not said'}`);
    else {
      const used = (drops ?? []).filter((d) => !d.out && !d.hidden);
      const lengths = used
        .map((d) => d.tenthsIn)
        .filter((t): t is number => t !== undefined)
        .sort((a, b) => a - b);
      const middle = lengths[Math.floor(lengths.length / 2)];
      if (middle !== undefined) parts.push(lengthIn(middle, units));
      const said = [...new Set(used.map((d) => d.answer).filter((a): a is string => a !== undefined))];
      parts.push(said.map((a) => dropWords[a] ?? a).join(', then '));
    }
    if (fill) parts.push(fillWords[fill] ?? fill);
    return parts.filter(Boolean).join(', ');
  },
};
