/** The words of "Where to start" with a new mix of materials. */
import type { Pair, PairHint } from '../domain/knowledge/pairs';
import type { Difference, FromNow } from '../domain/recipe';
import { dialNumber, lengthIn, move, type Units } from './amount';
import { span } from './sizes';

const hints: { readonly [hint in PairHint]: string } = {
  hides: 'Hides well and breaks when the top is hard: if need be leave out a hole of the pre-tensioner.',
  'dots-easily': 'The heavier thread lies below: dots on top come easily.',
  forgiving: 'A forgiving pair for fillers.',
  linty: 'Sheds lint: clean at each bobbin.',
  'to-begin': 'A usual pair to learn with.',
  'case-last': 'Slick below, fuzzy above: loosen the bobbin case last, not first.',
  'net-and-holes': 'Slick: a net on the cone and every hole of the pre-tensioner.',
  everyday: 'Many studios sew this pair every day.',
  strong: 'Strong; it can bend a fine needle.',
  'lower-knob': 'Lint, and it pulls hard by itself: a lower knob.',
  'fuzz-in-holes': 'Fuzz of the top may show in the holes.',
  'room-needed': 'It needs room in the hole; some dots can’t be avoided.',
  'much-lower': 'It drags by itself: often a much lower knob, a long stitch, a guide left out.',
  'clear-top': 'Little top tension, a net, the cone well below the first eyelet. Stretched, it puckers later.',
  'clear-bobbin': 'Half-full bobbins, wound slowly: it swells and jams.',
  'fewest-bends':
    'As few bends as can be, a large eye, the spool unrolling from its side, the least top that makes a stitch.',
  weak: 'Weak when wet or old.',
};

const speeds: { readonly [speed in Pair['speed']]: string } = {
  slow: 'slow',
  'slow-medium': 'slow to medium',
  medium: 'medium',
  'medium-fast': 'medium to fast',
  fast: 'fast',
};

const between = ([least, most]: readonly [number, number]): string => span(String(least), String(most));
const counted = ['', 'one step', 'two steps', 'three steps', 'four steps', 'five steps'];

/** One difference as a few words, seen from the recipe to now. Empty where there is nothing to say. */
function difference(d: Difference): string {
  if (d.part === 'needle') {
    if (d.how === 'bigger' || d.how === 'smaller') return `a ${d.how} needle now`;
    return d.how === 'other' ? 'another needle' : d.how === 'same' ? 'same needle' : '';
  }
  if (d.part !== 'topThread' && d.part !== 'bobbinThread') {
    if (d.part === 'machine') return d.how === 'other' ? 'another machine' : '';
    const what = d.part === 'batting' ? 'batting' : 'bobbin case';
    return d.how === 'other' ? `another ${what}` : d.how === 'same' ? `same ${what}` : '';
  }
  const name = d.part === 'topThread' ? 'top' : 'bobbin';
  const fibre = d.otherFibre ? ' of another fibre' : '';
  switch (d.how) {
    case 'same':
      return `same ${name} thread`;
    case 'alike':
      return `${name} thread alike, another cone or colour`;
    case 'steps': {
      const n = d.finer ?? 0;
      if (n === 0) return `${name} thread of the same size${fibre}`;
      return `${name} ${counted[Math.abs(n)] ?? `${Math.abs(n)} steps`} ${n > 0 ? 'finer' : 'thicker'} now${d.otherFibre ? ' and of another fibre' : ''}`;
    }
    case 'other':
      return `another ${name} thread${fibre}`;
    default:
      return `${name} thread not said`;
  }
}

export const text = {
  title: 'Where to start',
  back: 'Back to the Book',
  mix: 'What will be sewn',
  change: 'Change',
  notSaid: 'not said',
  caseFor: (label: string): string => `${label} is set for this bobbin thread already: put it in first.`,
  near: 'Nearest recipes of yours',
  none: 'No recipe of this studio is near to this mix.',
  open: 'Open the recipe',
  use: 'Use this',
  note: 'A start, not a setting: two lines first.',
  failed: 'It did not work the last time.',
  trade: 'What the trade starts with',
  tradeNote:
    'Common practice, no published source. Cases and machines differ by a third or more; drop test and sewn lines win.',
  tradeNone: 'The trade’s table does not name such a pair. Start at neutral and sew two lines.',
  exact: 'this very pair',
  close: 'the nearest pair',
  guess: 'a guess',
  usual: 'usual',
  hint: (hint: PairHint): string => hints[hint],
  /** "Same top thread, bobbin one step finer now, same batting." */
  differences(all: readonly Difference[]): string {
    const said = all.map(difference).filter(Boolean).join(', ');
    return said === '' ? 'Nothing of it is known to be like this.' : `${said.charAt(0).toUpperCase()}${said.slice(1)}.`;
  },
  /** What to do from now, in the order of the work: bobbin first. */
  turns({ top, topOf, dropTenthsIn, caseMinutes }: FromNow, units: Units): readonly string[] {
    const said: string[] = [];
    if (dropTenthsIn !== undefined)
      said.push(
        `Bobbin first: a drop of ${lengthIn(dropTenthsIn, units)}${caseMinutes ? `; by the count ${move(caseMinutes)}, the drop says when it is right` : ''}.`,
      );
    if (top === 'neutral-first') said.push('Top: where the knob stands is not known. Flush with its post first.');
    else if (top && 'minutes' in top) said.push(`Top, from now: ${move(top.minutes)}.`);
    else if (top) said.push(`Top: set it to ${dialNumber(top.dialTenths)}.`);
    else if (topOf === 'not-kept') said.push('Top: where it stood was not known when this was kept. Start at neutral.');
    else said.push('Top: nothing to copy from another machine. Start at neutral.');
    return said;
  },
  pair({ top, bobbin }: Pair): string {
    const stuff = (fibres: readonly string[] | undefined) => (fibres ? ` ${fibres.join(' or ')}` : '');
    const others = top.fibres.filter((f) => f !== 'clear');
    const sized = `${top.wt ?? ''}${stuff(top.wt === undefined ? top.fibres : others)}`.trim();
    const upper = top.wt !== undefined && others.length < top.fibres.length ? `clear, or ${sized}` : sized;
    const lower = bobbin.fibres?.[0] === 'clear' ? 'clear' : `${between(bobbin.wt)}${stuff(bobbin.fibres)}`;
    return `${upper} over ${lower}`;
  },
  pairRows(p: Pair, gauge: boolean): readonly (readonly [string, string])[] {
    return [
      ['Needle, metric', between(p.needle)],
      ['Stitches per inch', between(p.stitchesPerInch)],
      ['Speed', speeds[p.speed]],
      ...(gauge
        ? ([
            ['Top, by a gauge', `${between(p.topGf)} gf`],
            ['Bobbin, by a gauge', `${between(p.bobbinGf)} gf`],
          ] as const)
        : []),
    ];
  },
  startedFrom: (name: string): string => `Started from “${name}”. A start, not a setting: two lines first.`,
  turnTop: 'Turn the top',
  dropFirst: 'Drop test',
  sew: 'Sew two lines',
};
