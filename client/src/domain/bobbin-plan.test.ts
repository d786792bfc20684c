import { describe, expect, test } from 'vitest';
import { bobbinHolds, doneQuilts, ownQuilts, planFor, spacingOf } from './bobbin-plan';

const machine = { name: 'Long one' };
const poly = { number: '60', fibre: 'polyester' };
const sized = { ...machine, bobbinOuterUm: 22_000, bobbinCoreUm: 7_000, bobbinWidthUm: 9_000 };

describe('what a bobbin holds', () => {
  test('one that was weighed goes before its dimensions', () => {
    const weighed = bobbinHolds({ ...sized, bobbinThreadMg: 1_900 }, poly);
    expect(weighed?.by).toBe('weighed');
    expect(weighed?.metres).toBeCloseTo(114, 9); // 1.9 g at 16.67 tex
    const by = bobbinHolds(sized, poly);
    expect(by?.by).toBe('dimensions');
    expect(by?.metres).toBeCloseTo((3074.834 * 0.75 * 1.39 * 0.65) / 16.6667, 1);
    const loose = bobbinHolds({ ...sized, windingPercent: 60 }, { ...poly, packingPercent: 60 });
    expect(loose?.metres).toBeCloseTo((3074.834 * 0.6 * 1.39 * 0.6) / 16.6667, 1);
  });

  test('unknown is fine', () => {
    expect(bobbinHolds(machine, poly)).toBeUndefined();
    expect(bobbinHolds(sized, { number: '50/2', fibre: 'cotton' })).toBeUndefined();
    expect(bobbinHolds(sized, { number: '60', fibre: 'clear' })).toBeUndefined();
    expect(bobbinHolds({ ...sized, bobbinCoreUm: 23_000 }, poly)).toBeUndefined();
    expect(bobbinHolds(undefined, poly)).toBeUndefined();
  });
});

describe('a plan', () => {
  const quilt = { name: 'River stones', widthMm: 2000, heightMm: 1500, spacingUm: 30_000 };

  test('says what is missing', () => {
    expect(planFor({ name: '' }, machine, poly, poly)).toEqual({ missing: ['size', 'spacing'] });
    expect(planFor({ ...quilt, spacingUm: undefined }, machine, poly, poly)).toEqual({ missing: ['spacing'] });
  });

  test('assumes what is not said, and takes what is', () => {
    const usual = planFor(quilt, machine, poly, poly);
    const said = planFor(
      { ...quilt, stitchesTenthsPerInch: 110, thicknessUm: 3_000, lockPercent: 50, wastePercent: 15 },
      machine,
      poly,
      poly,
    );
    expect(said).toEqual(usual);
    expect('plan' in usual && usual.plan.bobbins).toBeUndefined();
    const none = planFor(
      { ...quilt, wastePercent: 0, lockPercent: 0 },
      { ...machine, bobbinThreadMg: 1_000 },
      { ...poly, coneM: 100 },
      poly,
    );
    if (!('plan' in none)) throw new Error('there is a plan');
    expect(none.plan.topM.least).toBeCloseTo(none.plan.lineM, 1); // a lock on top takes a straight thread
    expect(none.plan.bobbins).toBeDefined();
    expect(none.plan.cones).toEqual({ least: 1, most: 1 });
    expect(none.holds?.by).toBe('weighed');
  });

  test('a measured square is a distance of lines', () => {
    expect(spacingOf(100, 500)).toBe(20);
  });
});

test('quilts that are over are counted by their new bobbins, those of this machine before those of others', () => {
  const quilt = (id: string, on = 'M') => ({
    ...{ id, at: 1, by: '', name: id, machine: on },
    ...{ widthMm: 1000, heightMm: 1000, spacingUm: 20_000, work: 'custom' as const },
  });
  const used = (q: string, n: number) =>
    Array.from({ length: n }, (_, i) => ({ id: `${q}${i}`, at: i, by: '', type: 'new-bobbin', quilt: q }));
  const events = [
    ...[...used('a', 4), ...used('b', 6), ...used('open', 2), ...used('far', 9)],
    { id: 'x', at: 9, by: '', type: 'good', quilt: 'a' },
  ];
  const quilts = [quilt('a'), quilt('b'), quilt('open'), quilt('none'), quilt('far', 'N')];
  const open = new Set(['open']);
  expect(doneQuilts(quilts, events, open).map((d) => d.bobbins)).toEqual([4, 6, 9]);
  const said = (machine: string) => ownQuilts({ quilts, events }, open, quilt('open'), machine);
  expect(said('M')).toEqual({ least: 4, middle: 6, most: 6, quilts: 2, here: true });
  expect(said('N')).toEqual({ least: 9, middle: 9, most: 9, quilts: 1, here: true });
  expect(said('new')).toMatchObject({ quilts: 3, here: false });
  expect(ownQuilts({ quilts, events }, open, { name: '' }, 'M')).toBeUndefined();
});
