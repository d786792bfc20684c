import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Acts, bestOrder, costOfOrder, questionValue } from './expected-cost';

function orders(n: number): readonly (readonly number[])[] {
  if (n === 0) return [[]];
  return orders(n - 1).flatMap((o) => Array.from({ length: n }, (_, at) => [...o.slice(0, at), n - 1, ...o.slice(at)]));
}

const acts = (service: boolean) =>
  fc
    .integer({ min: 1, max: 6 })
    .chain((n) =>
      fc.record({
        w: fc.array(fc.double({ min: 0.01, max: 1, noNaN: true }), { minLength: n + 1, maxLength: n + 1 }),
        c: fc.array(fc.double({ min: 0.1, max: 20, noNaN: true }), { minLength: n, maxLength: n }),
        e: fc.array(fc.double({ min: 0.05, max: 1, noNaN: true }), { minLength: n, maxLength: n }),
        service: service ? fc.double({ min: 0, max: 200, noNaN: true }) : fc.constant(0),
      }),
    )
    .map(({ w, c, e, service: s }): Acts => {
      const sum = w.reduce((a, b) => a + b, 0);
      return { p: w.slice(0, -1).map((x) => x / sum), c, e, service: s };
    });

describe('the order of acts', () => {
  it('by chance per cost is the cheapest of all orders', () => {
    expect(orders(4).length).toBe(24);
    fc.assert(
      fc.property(acts(true), (a) => {
        const all = orders(a.p.length).map((o) => costOfOrder(a, o));
        expect(bestOrder(a).cost).toBeCloseTo(Math.min(...all), 9);
      }),
      { numRuns: 300, seed: 11 },
    );
  });
});

describe('a question', () => {
  const yes = fc.array(fc.double({ min: 0.01, max: 0.99, noNaN: true }), { minLength: 6, maxLength: 6 });
  const sure = (a: Acts): Acts => {
    const sum = a.p.reduce((x, y) => x + y, 0);
    return { p: a.p.map((x) => x / sum), c: a.c };
  };
  it('never has a value below nothing', () => {
    fc.assert(
      fc.property(acts(false), yes, (a, y) => {
        expect(questionValue(sure(a), y, 1).worth).toBeGreaterThan(-1e-9);
      }),
      { numRuns: 500, seed: 12 },
    );
  });
  it('is worth nothing where the answer says nothing of the cause', () => {
    fc.assert(
      fc.property(acts(false), fc.double({ min: 0.01, max: 0.99, noNaN: true }), (a, y) => {
        expect(
          questionValue(
            sure(a),
            a.p.map(() => y),
            1,
          ).worth,
        ).toBeCloseTo(0, 9);
      }),
      { numRuns: 200, seed: 13 },
    );
  });
  it('is worth nothing where no answer changes the order', () => {
    const v = questionValue({ p: [0.9, 0.1], c: [1, 5] }, [0.6, 0.4], 1);
    expect([v.yes.order, v.no.order]).toEqual([
      [0, 1],
      [0, 1],
    ]);
    expect(v.worth).toBeCloseTo(0, 12);
  });
});
