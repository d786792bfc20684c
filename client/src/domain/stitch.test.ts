import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type Shape, stitchScene, type Thread, type View } from './stitch';
import type { Lock, StitchParams, ThreadForm } from './stitch-params';
import { stitchOfScore } from './stitch-symptoms';

const balanced: StitchParams = {
  lock: { kind: 'level', depth: 0.5 },
  top: 'gentle',
  bobbin: 'gentle',
  where: { kind: 'every' },
  length: 'even',
  holeWidth: 1,
  cloth: 'flat',
};
const like = (change: Partial<StitchParams>): StitchParams => ({ ...balanced, ...change });
const at = (depth: number): Lock => ({ kind: 'level', depth });
const scene = (change: Partial<StitchParams>) => stitchScene(like(change), 280);

/** The shapes of one thread on one face, letters left out. */
const of = (view: View, thread: Thread) =>
  view.shapes.filter((s) => s.kind !== 'area' && s.kind !== 'text' && s.of === thread);
const specks = (view: View, thread: Thread) => of(view, thread).filter((s) => s.kind === 'specks').length;
const text = (shape: Shape) => JSON.stringify(shape);

describe('what a face shows of the other thread', () => {
  test('nothing when the lock lies in the batting', () => {
    expect(of(scene({}).top, 'bobbin')).toEqual([]);
    expect(of(scene({}).back, 'top')).toEqual([]);
  });

  test('a speck in each hole when the lock lies near that face, and nothing on the other', () => {
    const high = scene({ lock: at(0.15) });
    expect(specks(high.top, 'bobbin')).toBe(6);
    expect(of(high.back, 'top')).toEqual([]);
    const low = scene({ lock: at(0.85) });
    expect(specks(low.back, 'top')).toBe(6);
    expect(of(low.top, 'bobbin')).toEqual([]);
  });

  test('what a line of each score says of it', () => {
    const shown = [-2, -1, 0, 1, 2].map((score) => {
      const { top, back } = stitchScene(stitchOfScore(score), 280);
      return [score, of(top, 'bobbin').length > 0, of(back, 'top').length > 0, stitchOfScore(score).top === 'straight'];
    });
    expect(shown).toEqual([
      [-2, true, false, true], // the top is a wire, the bobbin's colour stands up on it
      [-1, true, false, false],
      [0, false, false, false],
      [1, false, true, false],
      [2, false, true, false],
    ]);
    expect(stitchOfScore(2).bobbin).toBe('straight');
    expect(stitchOfScore()).toEqual(stitchOfScore(0));
  });

  test('bigger specks the nearer it comes', () => {
    const first = (depth: number) => of(scene({ lock: at(depth) }).top, 'bobbin').map(text)[0] ?? '';
    const radius = (s: string) => Number(/a([\d.]+)/.exec(s)?.[1]);
    expect(radius(first(0.08))).toBeGreaterThan(radius(first(0.3)));
  });

  test('ties across a wire that stands off the cloth, bumps on one that lies on it', () => {
    expect(
      of(scene({ lock: at(-0.1), top: 'straight', bobbin: { loop: 1 } }).top, 'bobbin').map((s) => s.kind),
    ).toEqual(Array(6).fill('cord'));
    expect(specks(scene({ lock: at(0), top: 'straight', bobbin: { loop: 0.5 } }).top, 'bobbin')).toBe(6);
  });

  test('a free loop in the one hole that has it', () => {
    const one = scene({ top: { loop: 2 }, where: { kind: 'holes', holes: [3] } });
    expect(of(one.back, 'top')).toHaveLength(1);
    expect(of(one.top, 'bobbin')).toEqual([]);
  });

  test('specks only inside a patch, and the patch is shaded', () => {
    const { top } = scene({ lock: at(0.15), where: { kind: 'patch', from: 2, to: 3 } });
    expect(specks(top, 'bobbin')).toBe(2);
    expect(top.shapes.some((s) => s.kind === 'area' && s.paint === 'patch')).toBe(true);
  });

  test('the second face is the first with the threads exchanged', () => {
    const swap = (view: View) =>
      view.shapes
        .filter((s) => s.kind !== 'text')
        .map((s) => (s.kind === 'area' ? s : { ...s, of: s.of === 'top' ? 'bobbin' : 'top' }))
        .map((s) => JSON.stringify(s));
    const a = scene({ lock: at(1.1), bobbin: 'straight', top: 'gentle' });
    const b = scene({ lock: at(-0.1), top: 'straight', bobbin: 'gentle' });
    expect(swap(a.back)).toEqual(b.top.shapes.filter((s) => s.kind !== 'text').map(text));
  });
});

describe('holes, ends and wads', () => {
  const holeCount = (view: View) =>
    view.shapes
      .filter((s) => s.kind === 'area' && s.paint === 'hole')
      .map((s) => text(s).split('Z').length - 1)
      .reduce((a, b) => a + b, 0);

  test('six holes, also where a stitch was skipped, and no more after a jam', () => {
    expect(holeCount(scene({}).top)).toBe(6);
    expect(holeCount(scene({ skipped: [3] }).top)).toBe(6);
    expect(holeCount(scene({ wad: 3 }).top)).toBe(4);
  });

  test('a skipped hole has no lock: the threads pass it by', () => {
    const with6 =
      scene({})
        .section.shapes.filter((s) => s.kind === 'cord')
        .map(text)[0] ?? '';
    const with5 =
      scene({ skipped: [3] })
        .section.shapes.filter((s) => s.kind === 'cord')
        .map(text)[0] ?? '';
    expect(with6.split('C').length - with5.split('C').length).toBe(2); // one down, one up
  });

  test('after a break the other thread goes on alone', () => {
    const broken = scene({ ends: { thread: 'top', hole: 2, look: 'frayed' } });
    expect(of(broken.top, 'top').some((s) => s.kind === 'fur')).toBe(true);
    expect(of(broken.back, 'bobbin').some((s) => s.kind === 'cord')).toBe(true);
    expect(of(scene({}).back, 'bobbin').some((s) => s.kind === 'cord')).toBe(false);
  });

  test('letters and the length of the bar only where they can be read', () => {
    const letters = (size: number) =>
      Object.values(stitchScene(balanced, size)).flatMap((v) =>
        typeof v === 'object' ? (v as View).shapes.flatMap((s) => (s.kind === 'text' ? [[s.text, s.size]] : [])) : [],
      );
    expect(letters(96)).toEqual([]);
    expect(letters(240)).toEqual([
      ['T', 15],
      ['T', 15],
      ['B', 15],
      ['5 mm', 15],
      ['B', 15],
    ]);
  });
});

test('any parameters give finite shapes', () => {
  const depth = fc.double({ min: -0.5, max: 1.5, noNaN: true });
  const form: fc.Arbitrary<ThreadForm> = fc.oneof(
    fc.constant('straight' as const),
    fc.constant('gentle' as const),
    fc.record({ loop: fc.double({ min: 0, max: 6, noNaN: true }) }),
  );
  const hole = fc.integer({ min: 0, max: 5 });
  const params: fc.Arbitrary<StitchParams> = fc.record(
    {
      lock: fc.oneof(
        fc.record({ kind: fc.constant('level' as const), depth }),
        fc.record({ kind: fc.constant('alternate' as const), depths: fc.tuple(depth, depth) }),
        fc.record({ kind: fc.constant('wander' as const), middle: depth, spread: depth }),
        fc.record({
          kind: fc.constant('wave' as const),
          middle: depth,
          swing: depth,
          period: fc.integer({ min: 1, max: 9 }),
        }),
        fc.record({ kind: fc.constant('drift' as const), from: depth, to: depth }),
      ),
      top: form,
      bobbin: form,
      where: fc.oneof(
        fc.constant({ kind: 'every' as const }),
        fc.constant({ kind: 'curve' as const }),
        fc.record({ kind: fc.constant('holes' as const), holes: fc.array(hole) }),
        fc.record({
          kind: fc.constant('ray' as const),
          direction: fc.constantFrom(0, 45, 90, 135, 180, 225, 270, 315),
        }),
        fc.record({ kind: fc.constant('patch' as const), from: hole, to: hole }),
      ) as fc.Arbitrary<StitchParams['where']>,
      length: fc.constantFrom('even' as const, 'uneven' as const),
      chord: fc.constantFrom('top' as const, 'bobbin' as const),
      skipped: fc.array(hole),
      ends: fc.record({
        thread: fc.constantFrom('top' as const, 'bobbin' as const),
        hole,
        look: fc.constantFrom('clean' as const, 'frayed' as const, 'kinked' as const),
      }),
      wad: hole,
      holeWidth: fc.double({ min: 1, max: 4, noNaN: true }),
      cloth: fc.constantFrom('flat' as const, 'drawn' as const, 'lifted' as const, 'wave' as const),
      fibre: fc.constantFrom('top' as const, 'back' as const),
    },
    { requiredKeys: ['lock', 'top', 'bobbin', 'where', 'length', 'holeWidth', 'cloth'] },
  );
  fc.assert(
    fc.property(params, fc.constantFrom(96, 280), (p, size) => {
      const drawn = JSON.stringify(stitchScene(p, size));
      expect(drawn).not.toMatch(/NaN|Infinity|null|undefined/);
      expect(drawn).toBe(JSON.stringify(stitchScene(p, size)));
    }),
  );
});
