/** The words of the thread shelf. */
import type { Compared, CountSystem, Printed } from '../domain/thread';
import { number, number as rounded } from './sizes';

export const text = {
  title: 'Threads',
  shelf: 'On the shelf',
  none: 'No thread here yet. Two taps add one.',
  add: 'Add a thread',
  thread: 'Thread',
  label: 'As printed on the cone',
  fibre: 'Fibre',
  name: 'Name, if it has one',
  colour: 'Colour',
  back: 'Back to the threads',
  book: 'Back to the Book',
  remove: 'Remove',
  notes: 'What to remember',
  count: 'How thick it is',
  countSystem: 'The label counts in',
  systems: {
    tex: 'tex',
    dtex: 'dtex',
    denier: 'denier',
    wt: 'weight number',
    metricTicket: 'metric ticket',
    cottonTicket: 'cotton ticket',
    Nm: 'Nm, metric count',
    Ne: 'Ne, cotton count',
    NeL: 'lea, linen count',
    NeW: 'worsted count',
  } satisfies { readonly [system in CountSystem]: string },
  countFigure: 'Its figure',
  countHint: 'Tex, dtex or denier say most. Of Nm, Ne, lea and worsted “40/2” is figure 40 with 2 plies.',
  plies: 'Plies, when the figure is of one single',
  inOthers: 'The same in other counts',
  exact: 'exact by definition',
  estimate: 'an estimate',
  density: 'Density of the fibre',
  densityOf: (gPerCm3: number): string => `${rounded(gPerCm3, 2)} g/cm³, Morton and Hearle, table 5.1`,
  diameter: 'Diameter',
  diameterOf: (mm: number): string => `about ${rounded(mm, 2)} mm`,
  noDiameter: 'For a diameter its size and a fibre of one stuff must be known.',
  packing: 'Fibre in the thread',
  packingHint: 'Percent of its room; 55 to 75 in sewing thread, from memory. 65 is assumed until you know better.',
  cone: 'Metres on a cone',
  compare: 'Compare two',
  first: 'First',
  second: 'Second',
  compareHint: 'Choose two threads.',
  noCompare: 'The size of one of the two is not known. Open it and say what its label counts in.',
  size(tex: number, worth: 'exact' | 'estimate'): string {
    return worth === 'exact' ? `${rounded(tex, 1)} tex` : `about ${rounded(tex, 1)} tex`;
  },
  /** Where a figure comes from, and what it is worth. */
  from(system: CountSystem | undefined, label: Printed, plied: boolean): string {
    if (system && plied)
      return 'From its plies added up: an estimate. Twisted, a thread is a little thicker than its plies together.';
    if (system === 'wt')
      return 'From a weight number: an estimate. It often copies the first figure of a count and leaves out the plies.';
    if (system === 'metricTicket' || system === 'cottonTicket')
      return 'From a ticket: an estimate. A ticket is a class, set before dyeing.';
    if (system) return 'From what the label counts in: exact as far as the label is.';
    if (label.form === 'plain')
      return 'The bare number is taken for a weight number: an estimate. Look for tex, denier or dtex on the label.';
    if (label.form === 'two-part')
      return 'A number in two parts has no sure conversion. It is kept as text until you say what the label counts in.';
    return 'Its size is not known, and need not be.';
  },
  compared({ thicker, percent, by, worth }: Compared, first: string, second: string): string {
    const sure = worth === 'exact' ? '' : ' That is an estimate from the labels.';
    const same = by === 'mass' ? ' Both are taken for the same stuff, since a fibre is not known.' : '';
    if (thicker === 'alike') return `Alike in thickness.${same}${sure}`;
    const [more, less] = thicker === 'first' ? [first, second] : [second, first];
    return `${more} is thicker than ${less}, by about ${number(percent, 0)} %.${same}${sure}`;
  },
};
