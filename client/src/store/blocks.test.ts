import 'fake-indexeddb/auto';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { withBlocks } from './blocks';
import { openEngine } from './db';
import { memoryEngine } from './memory';
import { type Engine, ofParent, type Row, type Tx, within } from './tables';

const id = (n: number) => n.toString(16).padStart(32, '0');
const row = (studio: string, kind: string, n: number, parent: string, t: number, text = ''): Row => ({
  studio,
  kind,
  id: id(n),
  parent,
  t,
  fields: { text: { live: [{ dot: `${id(7)}:${n + 1}`, at: [t, 0], by: '', value: text }], dead: [] } },
});

/** One transaction: what it does, in this order, and whether it is given up at its end. */
type Act = {
  one: Row[];
  many: Row[];
  again: Row[];
  gone: Row[];
  look: Row[];
  wipe?: string;
  fails: boolean;
  tab: 0 | 1;
};

async function play(engine: Engine, act: Act): Promise<unknown> {
  const key = ({ studio, kind, id }: Row) => [studio, kind, id];
  const done = engine.run(['records'], 'write', async (tx) => {
    const seen = await tx.getMany('records', act.look.map(key));
    for (const r of act.one) tx.put('records', r);
    await tx.putMany('records', act.many);
    for (const r of act.again) tx.put('records', r);
    for (const r of act.gone) tx.remove('records', key(r));
    if (act.wipe !== undefined) tx.remove('records', within(act.wipe));
    const [first] = act.look;
    const inside = [
      seen,
      first && (await tx.get('records', key(first))),
      await tx.list('records', within('a', 'event')),
    ];
    if (act.fails) throw new Error('given up');
    return inside;
  });
  return done.catch((e: Error) => e.message);
}

/** Everything there is to see. */
const seen = (engine: Engine) =>
  engine.run(['records'], 'read', async (tx: Tx) => {
    const out: unknown[] = [];
    for (const studio of ['a', 'b']) {
      out.push(await tx.list('records', within(studio)), await tx.count('records', within(studio)));
      for (const kind of ['event', 'note']) {
        out.push(await tx.list('records', within(studio, kind)), await tx.count('records', within(studio, kind)));
        for (const most of [1, 3]) {
          const after = { from: [studio, kind, id(4)], to: within(studio).to, after: true };
          out.push(await tx.list('records', after, { most }), await tx.list('records', within(studio), { most }));
          for (const parent of ['p', 'q'])
            out.push(await tx.list('records', ofParent(studio, kind, parent), { newest: true, most }));
        }
        out.push(
          await tx.getMany(
            'records',
            [3, 0, 99, 11].map((n) => [studio, kind, id(n)]),
          ),
        );
        out.push(await tx.get('records', [studio, kind, id(5)]));
        out.push(await tx.count('records', { from: [studio, kind, id(5)], to: [studio, kind, id(5)] }));
      }
    }
    return out;
  });

const someRow = fc
  .record({
    studio: fc.constantFrom('a', 'b'),
    kind: fc.constantFrom('event', 'note'),
    n: fc.nat(15),
    parent: fc.constantFrom('', 'p', 'q'),
    t: fc.nat(1000),
    text: fc.string({ maxLength: 3 }),
    waits: fc.boolean(),
  })
  .map(({ studio, kind, n, parent, t, text, waits }) => {
    const r = row(studio, kind, n, parent, t * 16 + n, text); // no two of one time: their order would be nobody's promise
    return waits ? { ...r, base: {} } : r;
  });
const rows = (most: number) => fc.array(someRow, { maxLength: most });
const unlike = fc.uniqueArray(someRow, { maxLength: 14, selector: (r) => `${r.studio}/${r.kind}/${r.id}` });
const someAct: fc.Arbitrary<Act> = fc.record({
  one: rows(2),
  many: unlike,
  again: rows(1),
  gone: rows(2),
  look: rows(3),
  wipe: fc.option(fc.constantFrom('a', 'b'), { nil: undefined, freq: 12 }),
  fails: fc.integer({ min: 0, max: 5 }).map((n) => n === 0),
  tab: fc.constantFrom(0, 1),
});

let n = 0;
describe.each([
  ['memory', async () => memoryEngine(), 120],
  ['IndexedDB', () => openEngine(`blocks-${++n}`), 12],
] as const)('records over blocks in %s', (_name, make, numRuns) => {
  test('are what they are as rows, for two tabs, whatever is done to them', async () => {
    await fc.assert(
      fc.asyncProperty(fc.array(someAct, { maxLength: 8 }), async (acts) => {
        const [plain, under] = [memoryEngine(), await make()];
        const tabs = [0, 1].map(() => withBlocks(under, { units: 700, least: 3 }));
        for (const act of acts) {
          expect(await play(tabs[act.tab] as Engine, act)).toEqual(await play(plain, act));
          for (const tab of tabs) expect(await seen(tab)).toEqual(await seen(plain));
        }
        await under.close();
      }),
      { seed: 1, numRuns },
    );
  });
});

describe('ten thousand records', () => {
  const many = Array.from({ length: 10_000 }, (_, i) => row('a', 'event', i, i % 100 === 0 ? 'p' : `q${i % 7}`, i));

  test('are a few hundred rows on the disk, and a machine is read from few of them', async () => {
    const raw = memoryEngine();
    const engine = withBlocks(raw);
    await engine.run(['records'], 'bulk', (tx) => tx.putMany('records', many));
    const stored = await raw.run(['records', 'blocks', 'heads'], 'read', async (tx) => [
      await tx.count('records', within('a')),
      await tx.count('blocks', within('a')),
      await tx.count('heads', within('a')),
    ]);
    expect(stored[0]).toBe(0);
    expect(stored[1]).toBeLessThan(200);
    expect(stored[2]).toBe(stored[1]);
    const read = () =>
      engine.run(['records'], 'read', (tx) =>
        tx.list('records', ofParent('a', 'event', 'p'), { newest: true, most: 60 }),
      );
    await read(); // the heads are read once
    raw.reads = 0;
    const rows = await read();
    expect(rows.map((r) => r.t)).toEqual(Array.from({ length: 60 }, (_, i) => 9900 - 100 * i));
    expect(raw.reads).toBeLessThan(4);
  });

  test('written anew one by one leave their blocks, and the last takes its block with it', async () => {
    const raw = memoryEngine();
    const engine = withBlocks(raw);
    const few = many.slice(0, 40);
    await engine.run(['records'], 'bulk', (tx) => tx.putMany('records', few));
    for (const r of few) await engine.run(['records'], 'write', async (tx) => tx.put('records', r));
    const left = await raw.run(['records', 'blocks', 'heads'], 'read', async (tx) => [
      await tx.count('records', within('a')),
      (await tx.keys('blocks', within('a'))).length,
      (await tx.keys('heads', within('a'))).length,
    ]);
    expect(left).toEqual([40, 0, 0]);
  });
});
