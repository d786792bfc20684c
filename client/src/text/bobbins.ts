/** The words of "Bobbins for a quilt". */
import type { Plan, Range } from '../domain/bobbin';
import type { Missing, ownQuilts } from '../domain/bobbin-plan';
import { metres, number, span } from './sizes';

type OwnCount = NonNullable<ReturnType<typeof ownQuilts>>;
const counts = (r: Range): string => span(number(r.least, 0), number(r.most, 0));
const hundreds = (n: number): string => new Intl.NumberFormat('en').format(Math.round(n / 100) * 100);
const things = (n: number, one: string, many: string): string => `${n} ${n === 1 ? one : many}`;

export const text = {
  title: 'Bobbins for a quilt',
  back: 'Back to the Book',
  noQuilt: 'No quilt is set up on this machine.',
  setUp: 'Set up a quilt',
  quilt: 'The quilt',
  name: 'Name of the quilt',
  width: 'Width',
  height: 'Length',
  spacing: 'Between the lines of the pattern',
  spacingHint: 'How far apart the stitched lines lie, over all. Or measure a square below.',
  sizeHint: 'With a unit, such as 90 in, 7 1/2 ft or 2.3 m.',
  square: 'Measure a square instead',
  squareSide: 'Side of the square',
  squareLine: 'Line in it',
  squareHint: 'Lay a thread along all lines in a square of the pattern, then measure the thread.',
  useSquare: 'Use the square',
  squareGives: (distance: string): string => `That is like lines ${distance} apart.`,
  own: 'By your own quilts',
  ownCount: ({ middle, quilts, here, ...r }: OwnCount): string =>
    `${things(middle, 'bobbin', 'bobbins')}. ${things(quilts, 'quilt', 'quilts')} of this size and density took ${counts(r)}, scaled to this one.${here ? '' : ' That was on other machines: their bobbins may hold more or less.'}`,
  noOwn:
    'No quilt of this size and density was counted here yet. Tap “New bobbin” on Frame at each one, and the next such quilt is known.',
  noSize: 'Say how wide, how long and how dense it is, and quilts like it are looked for.',
  wound: 'Wound and ready',
  woundNow: (left: number, thread: string): string => `Wound: ${left} of ${thread || 'this'} left.`,
  woundNone: 'Nothing written down yet.',
  woundField: 'How many are wound now',
  woundHint: 'Each “New bobbin” on Frame takes one away.',
  woundWrite: 'Write it down',
  windWell:
    'Wind all for one quilt the same way, on the same day, from the same cone; cut the tail at the hub, fill to just under the rim.',
  geometry: 'Work it out by geometry',
  geometryNote: 'A fallback: what thread must lie in so many stitches. Real quilts differ by half.',
  missing: { size: 'Its width and length are not known.', spacing: 'How dense it is is not known.' } satisfies {
    readonly [m in Missing]: string;
  },
  answer: 'What it takes',
  rows(p: Plan): readonly (readonly [string, string])[] {
    const both = (r: Range) => span(metres(r.least), metres(r.most));
    return [
      ['Stitched line', metres(p.lineM)],
      ['Stitches', `about ${hundreds(p.stitches)}`],
      ['Top thread', both(p.topM)],
      ['Bobbin thread', both(p.bobbinM)],
      ...(p.cones ? [['Cones of the top thread', counts(p.cones)] as const] : []),
      ...(p.bobbins ? [['Bobbins to wind', counts(p.bobbins)] as const] : []),
      ...(p.changes ? [['Bobbin changes', counts(p.changes)] as const] : []),
      ...(p.stitchesPerBobbin
        ? [
            [
              'Stitches on a bobbin',
              span(hundreds(p.stitchesPerBobbin.least), hundreds(p.stitchesPerBobbin.most)),
            ] as const,
          ]
        : []),
    ];
  },
  range: 'From the shorter to the longer of two shapes of a stitch: half an ellipse, and a rectangle.',
  holds: (m: number, by: 'weighed' | 'dimensions'): string =>
    `A full bobbin holds about ${metres(m)}, by ${by === 'weighed' ? 'the one you weighed' : 'its dimensions'}.`,
  noHolds: 'What a bobbin holds is not known: weigh one, or measure one, and know the bobbin thread’s size and fibre.',
  coreTooWide: 'The core can’t be as wide as the rim. Measure both again; until then the dimensions are left out.',
  noCone: 'What a cone holds is not known; it stands with the top thread on the shelf.',
  assumptions: 'Assumed, until you know better',
  stitches: 'Stitches per inch',
  thickness: 'Thickness of the sandwich, pressed',
  thicknessHint: 'As under the foot. 3 mm is our own guess for a common batting.',
  waste: 'Waste',
  wasteHint: '10 to 15 % is printed for tails, ties and ends.',
  lock: 'Depth of the lock, from the top',
  lockHint: '50 % is balanced.',
  bobbin: 'The bobbin',
  weighed: 'Thread on a full bobbin, weighed',
  weighedHint: 'A full bobbin less an empty one, in grams. It goes before the dimensions.',
  outer: 'Across the rim',
  core: 'Across the core',
  between: 'Between the sides',
  winding: 'Thread in the room of the bobbin',
  windingHint: 'For its dimensions. 65 to 80 %, from memory; round threads can’t pass 90.',
  thread: 'Bobbin thread',
  threadSize: (size: string | undefined, packing: number): string =>
    size ? `${size}, ${number(packing, 0)} % of its room fibre` : 'its size is not known',
};
