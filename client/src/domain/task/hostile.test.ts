import fc from 'fast-check';
import { expect, it } from 'vitest';
import { faults } from '../records';
import { explore, ways } from './explore';
import { act } from './run';
import type { Action } from './task';
import { hex } from './world';

const word = fc.oneof(
  fc.constantFrom('all', '0', '180', 'open', 'fill', 'compare', 'why-not', '__proto__', 'constructor', '', '-1', '1e3'),
  fc.string(),
);
const number = fc.oneof(fc.integer(), fc.double(), fc.constantFrom(Number.NaN, Infinity, -0, 2 ** 53));
const action: fc.Arbitrary<Action> = fc.oneof(
  fc
    .constantFrom(
      ...([
        'next',
        'start',
        'stop',
        'opened',
        'carry-on',
        'again',
        'leave',
        'back',
        'turned-back',
        'wrote-wrong',
      ] as const),
    )
    .map((d) => ({ do: d }) as Action),
  fc.record({ do: fc.constant('pick' as const), value: word, of: fc.option(word, { nil: undefined }) }),
  fc.record({ do: fc.constantFrom('add' as const), by: number, of: fc.option(word, { nil: undefined }) }),
  fc.record({ do: fc.constant('set' as const), to: number, of: fc.option(word, { nil: undefined }) }),
  fc.record({
    do: fc.constant('type' as const),
    text: fc.string({ unit: 'binary', maxLength: 3000 }),
    of: fc.constant(undefined),
  }),
  fc.record({ do: fc.constant('passed' as const), drop: number }),
  fc.record({ do: fc.constant('hidden' as const), atMs: number }),
);

const places = ways.flatMap((way) => [...explore(way).values()].filter((n) => n.here.state));

/** Whole numbers and text at every depth: what an op may carry. */
function carries(v: unknown): boolean {
  if (v === null || typeof v === 'boolean' || typeof v === 'string') return true;
  if (typeof v === 'number') return Number.isSafeInteger(v) && !Object.is(v, -0);
  if (Array.isArray(v)) return v.every(carries);
  return typeof v === 'object' && Object.values(v).every((x) => x === undefined || carries(x));
}

it('any action at any place: never a throw, and a refused one leaves everything as it was', () => {
  let refused = 0;
  const kinds = new Set<string>();
  fc.assert(
    fc.property(fc.nat(places.length - 1), fc.array(action, { minLength: 1, maxLength: 4 }), (at, actions) => {
      let { state, ctx } = places[at]?.here ?? { state: undefined, ctx: undefined };
      for (const a of actions) {
        if (!state || !ctx) return;
        const before = JSON.stringify(state);
        const r = act(state, a, { ...ctx, ids: Array.from({ length: 16 }, (_, i) => hex(i + 0x900000)) });
        if (r.refused) {
          refused++;
          expect(r.drafts).toEqual([]);
          expect(JSON.stringify(r.state)).toBe(before);
        }
        expect(JSON.parse(JSON.stringify(r.state ?? null))).toEqual(r.state ?? null);
        expect(carries(r.state ?? null)).toBe(true);
        for (const d of r.drafts) {
          expect(d.id).toMatch(/^[0-9a-f]{32}$/);
          expect(carries(d.set)).toBe(true);
          const fresh = Object.hasOwn(d.set, 'zone');
          expect(faults(d.kind, d.set, fresh), JSON.stringify(d)).toEqual([]);
          kinds.add(d.kind);
        }
        state = r.state;
      }
    }),
    { seed: 4, numRuns: 4000 },
  );
  expect(refused).toBeGreaterThan(100);
  expect(kinds.size).toBeGreaterThan(3);
});
