import type { StitchParams } from '../../src/domain/stitch-params';

const base: StitchParams = {
  lock: { kind: 'level', depth: 0.5 },
  top: 'gentle',
  bobbin: 'gentle',
  where: { kind: 'every' },
  length: 'even',
  holeWidth: 1,
  cloth: 'flat',
};
const L = (depth: number) => ({ kind: 'level', depth }) as const;
const p = (o: Partial<StitchParams>): StitchParams => ({ ...base, ...o });
export const samples: [string, StitchParams][] = [
  ['1 balanced', base],
  ['2 bobbin dots', p({ lock: L(0.15) })],
  ['3 bobbin pulled up', p({ lock: L(0), top: 'straight', bobbin: { loop: 0.5 } })],
  ['4 railroad top', p({ lock: L(-0.1), top: 'straight', bobbin: { loop: 1 } })],
  ['5 top dots back', p({ lock: L(0.85) })],
  ['6 top pulled down', p({ lock: L(1), bobbin: 'straight', top: { loop: 0.5 } })],
  ['7 railroad back', p({ lock: L(1.1), bobbin: 'straight', top: { loop: 1 } })],
  ['8 eyelash back', p({ lock: L(1), where: { kind: 'curve' }, chord: 'bobbin', bobbin: 'straight' })],
  ['9 eyelash top', p({ lock: L(0), where: { kind: 'curve' }, chord: 'top', top: 'straight' })],
  ['10 towelling', p({ lock: L(1.2), top: { loop: 4 } })],
  ['11 start nest', p({ lock: L(1.2), top: { loop: 5 }, where: { kind: 'holes', holes: [0, 1, 2] } })],
  ['12 nest anywhere', p({ wad: 3 })],
  ['13 random loops back', p({ lock: L(0.5), top: { loop: 2 }, where: { kind: 'holes', holes: [3] } })],
  ['14 random loops top', p({ lock: L(0.5), bobbin: { loop: 2 }, where: { kind: 'holes', holes: [3] } })],
  ['15 dots both', p({ lock: { kind: 'alternate', depths: [0.15, 0.85] } })],
  [
    '16 slack both',
    p({ lock: { kind: 'wander', middle: 0.5, spread: 0.3 }, top: { loop: 0.7 }, bobbin: { loop: 0.7 } }),
  ],
  ['17 drawn', p({ top: 'straight', bobbin: 'straight', cloth: 'drawn' })],
  ['18 skipped', p({ skipped: [3] })],
  ['19 one direction', p({ lock: L(0.15), where: { kind: 'ray', direction: 45 } })],
  ['20 uneven', p({ length: 'uneven' })],
  ['21 clean break', p({ ends: { thread: 'top', hole: 2, look: 'clean' } })],
  ['22 fraying', p({ ends: { thread: 'top', hole: 2, look: 'frayed' } })],
  ['23 bobbin break', p({ ends: { thread: 'bobbin', hole: 2, look: 'clean' } })],
  ['24 open holes', p({ holeWidth: 3 })],
  ['25 bearding', p({ fibre: 'back' })],
  [
    '26 flagging',
    p({ cloth: 'lifted', lock: L(0.9), top: { loop: 1.5 }, where: { kind: 'holes', holes: [1, 4] }, skipped: [3] }),
  ],
  ['27 ploughing', p({ cloth: 'wave' })],
  ['28 periodic', p({ lock: { kind: 'wave', middle: 0.5, swing: 0.4, period: 5 } })],
  ['29 patch', p({ lock: L(0.15), where: { kind: 'patch', from: 2, to: 3 } })],
  ['30 drift', p({ lock: { kind: 'drift', from: 0.5, to: 0.9 } })],
  ['31 kinks', p({ ends: { thread: 'top', hole: 2, look: 'kinked' } })],
];
