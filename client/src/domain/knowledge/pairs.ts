/**
 * Where to begin with a pair of threads: common practice of the trade, no published source. Gauge figures gather what people
 * with pull gauges say and differ by a third from case to case; they are shown only to who owns a gauge, never beside a drop.
 */
export type Pair = {
  readonly top: { readonly wt?: number; readonly fibres: readonly string[] }; // no wt: any size of this stuff, as always of clear
  readonly bobbin: { readonly wt: readonly [thickest: number, finest: number]; readonly fibres?: readonly string[] };
  readonly bobbinGf: readonly [number, number];
  readonly topGf: readonly [number, number];
  readonly needle: readonly [number, number]; // metric
  readonly stitchesPerInch: readonly [number, number];
  readonly speed: 'slow' | 'slow-medium' | 'medium' | 'medium-fast' | 'fast';
  readonly sure: 'usual' | 'guess';
  readonly hint: PairHint;
};
export const pairHints = [
  ...([
    'hides',
    'dots-easily',
    'forgiving',
    'linty',
    'to-begin',
    'case-last',
    'net-and-holes',
    'everyday',
    'strong',
  ] as const),
  ...([
    'lower-knob',
    'fuzz-in-holes',
    'room-needed',
    'much-lower',
    'clear-top',
    'clear-bobbin',
    'fewest-bends',
    'weak',
  ] as const),
];
export type PairHint = (typeof pairHints)[number];

const polyester = ['polyester', 'shiny polyester'];

const pair = (
  top: Pair['top'],
  bobbin: Pair['bobbin'],
  bobbinGf: Pair['bobbinGf'],
  topGf: Pair['topGf'],
  needle: Pair['needle'],
  stitchesPerInch: Pair['stitchesPerInch'],
  speed: Pair['speed'],
  sure: Pair['sure'],
  hint: PairHint,
): Pair => ({ top, bobbin, bobbinGf, topGf, needle, stitchesPerInch, speed, sure, hint });

// biome-ignore format: a table
export const pairs: readonly Pair[] = [
  pair({ wt: 100, fibres: polyester }, { wt: [100, 100], fibres: polyester }, [14, 20], [50, 90], [80, 90], [12, 14], 'medium', 'guess', 'hides'),
  pair({ wt: 100, fibres: polyester }, { wt: [60, 60], fibres: polyester }, [16, 22], [55, 95], [90, 90], [12, 14], 'medium', 'guess', 'dots-easily'),
  pair({ wt: 60, fibres: polyester }, { wt: [60, 60], fibres: polyester }, [18, 24], [65, 110], [90, 100], [11, 13], 'medium-fast', 'usual', 'forgiving'),
  pair({ wt: 60, fibres: ['cotton'] }, { wt: [60, 60], fibres: ['cotton', ...polyester] }, [18, 26], [65, 110], [90, 100], [11, 13], 'medium', 'usual', 'linty'),
  pair({ wt: 50, fibres: ['cotton'] }, { wt: [50, 50], fibres: ['cotton'] }, [20, 28], [75, 130], [90, 100], [10, 12], 'medium', 'usual', 'to-begin'),
  pair({ wt: 50, fibres: ['cotton'] }, { wt: [60, 60], fibres: polyester }, [18, 25], [70, 120], [90, 100], [10, 12], 'medium', 'usual', 'case-last'),
  pair({ wt: 40, fibres: ['shiny polyester'] }, { wt: [40, 40], fibres: polyester }, [20, 28], [90, 150], [100, 110], [10, 12], 'medium', 'usual', 'net-and-holes'),
  pair({ wt: 40, fibres: ['shiny polyester'] }, { wt: [60, 60], fibres: polyester }, [18, 25], [85, 145], [100, 110], [10, 12], 'medium-fast', 'usual', 'everyday'),
  pair({ wt: 40, fibres: ['polyester'] }, { wt: [40, 40], fibres: ['polyester'] }, [20, 30], [90, 150], [100, 110], [10, 12], 'fast', 'usual', 'strong'),
  pair({ wt: 40, fibres: ['cotton'] }, { wt: [40, 40], fibres: ['cotton'] }, [22, 32], [90, 150], [100, 110], [10, 11], 'medium', 'usual', 'lower-knob'),
  pair({ wt: 40, fibres: ['cotton'] }, { wt: [50, 60], fibres: ['cotton', ...polyester] }, [20, 28], [85, 140], [100, 110], [10, 11], 'medium', 'usual', 'fuzz-in-holes'),
  pair({ wt: 30, fibres: ['cotton', ...polyester] }, { wt: [40, 60] }, [22, 30], [95, 160], [110, 120], [9, 10], 'slow-medium', 'guess', 'room-needed'),
  pair({ wt: 12, fibres: ['cotton', 'wool'] }, { wt: [50, 60] }, [22, 32], [80, 150], [120, 130], [7, 9], 'slow', 'guess', 'much-lower'),
  pair({ fibres: ['clear'] }, { wt: [60, 60], fibres: polyester }, [15, 22], [40, 80], [90, 100], [10, 12], 'slow', 'usual', 'clear-top'),
  pair({ wt: 60, fibres: ['clear', ...polyester] }, { wt: [60, 200], fibres: ['clear'] }, [10, 16], [40, 80], [90, 100], [10, 12], 'slow', 'guess', 'clear-bobbin'),
  pair({ fibres: ['metallic'] }, { wt: [60, 60], fibres: polyester }, [14, 20], [40, 80], [100, 120], [8, 10], 'slow', 'usual', 'fewest-bends'),
  pair({ wt: 40, fibres: ['rayon', 'silk'] }, { wt: [60, 60], fibres: polyester }, [16, 23], [60, 110], [90, 100], [10, 12], 'medium', 'guess', 'weak'),
];
