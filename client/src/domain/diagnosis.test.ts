import { describe, expect, it } from 'vitest';
import { chanceGiven, type Network } from './check/exact-inference';
import { chances, diagnose, toldOf } from './diagnosis';
import { faultModel, modelOf } from './fault-model';
import type { Cause, Tables } from './knowledge/faults/shape';
import { tables } from './knowledge/faults/tables';

const operator = { who: 'operator', minutes: 1 } as const;
const look = { kind: 'symptom', minutes: 1 } as const;
const cause = (wrong: number, shows: Cause['shows']): Cause => ({ ...operator, wrong, changed: wrong, shows });
const small: Tables = {
  version: 7,
  causes: {
    knob: cause(5000, { dots: [3000, 7000], pull: [2000, 8000], snap: [6000, 4000] }),
    lint: cause(3000, { dots: [4000, 6000], card: [1000, 9000] }),
    needle: cause(2000, { snap: [3000, 7000], card: [9500, 500] }),
  },
  states: { dots: ['no', 'yes'], pull: ['no', 'yes'], card: ['no', 'yes'], snap: ['no', 'yes'] },
  looks: {
    dots: { ...look, base: [8000, 2000] },
    pull: { ...look, base: [9000, 1000] },
    card: { ...look, base: [9000, 1000] },
    snap: { ...look, base: [9000, 1000] },
  },
  acts: { turn: { kind: 'adjust', minutes: 3, tells: [], mends: { knob: 90 } } },
  alike: [],
  together: [],
};
const model = modelOf(small);
const chanceOf = (found: Record<string, string>, c: string, tried: string[] = []) =>
  diagnose(found, 'wrong', tried, model).suspicions.find((s) => s.cause === c)?.chance ?? Number.NaN;

describe('the diagnosis', () => {
  it('is what exact inference says of one or two causes at work', () => {
    const ids = Object.keys(small.causes);
    const bears = (f: string) => ids.filter((c) => small.causes[c]?.shows[f]);
    const yes = (f: string, c: string) => (small.causes[c]?.shows[f]?.[1] ?? 0) / 10_000;
    const leak = (f: string) => (small.looks[f]?.base[1] ?? 0) / 10_000;
    const letters = (n: number): string[] => (n === 0 ? [''] : letters(n - 1).flatMap((k) => [`${k}y`, `${k}n`]));
    const net: Network = {
      order: [...ids, ...Object.keys(small.looks)],
      parents: Object.fromEntries([...ids.map((c) => [c, []]), ...Object.keys(small.looks).map((f) => [f, bears(f)])]),
      yes: Object.fromEntries([
        ...ids.map((c) => [c, { '': 0.5 }]),
        ...Object.keys(small.looks).map((f) => [
          f,
          Object.fromEntries(
            letters(bears(f).length).map((key) => {
              const links = bears(f).filter((_, i) => key[i] === 'y');
              const silent = links.reduce((s, c) => (s * (1 - yes(f, c))) / (1 - leak(f)), 1 - leak(f));
              return [key, 1 - silent];
            }),
          ),
        ]),
      ]),
    };
    const share = (c: string) => (small.causes[c]?.wrong ?? 0) / 10_000;
    const hypotheses = [
      ...ids.map((c) => ({ on: [c], prior: share(c) })),
      ...ids.flatMap((a, i) => ids.slice(i + 1).map((b) => ({ on: [a, b], prior: 0.5 * share(a) * share(b) }))),
    ];
    const answers = ['yes', 'no', undefined] as const;
    let told = 0;
    for (const dots of answers)
      for (const pull of answers)
        for (const card of answers)
          for (const snap of answers) {
            const found = Object.fromEntries(
              Object.entries({ dots, pull, card, snap }).filter(([, v]) => v !== undefined),
            ) as Record<string, 'yes' | 'no'>;
            const weight = hypotheses.map(
              (h) =>
                h.prior *
                chanceGiven(net, found, Object.fromEntries(ids.map((c) => [c, h.on.includes(c) ? 'yes' : 'no']))),
            );
            const sum = weight.reduce((a, b) => a + b, 0);
            for (const c of ids) {
              const want = hypotheses.reduce((t, h, i) => t + (h.on.includes(c) ? (weight[i] ?? 0) / sum : 0), 0);
              expect(chanceOf(found, c), `${JSON.stringify(found)} ${c}`).toBeCloseTo(want, 9);
              told++;
            }
          }
    expect(told).toBe(3 ** 5);
  });

  it('takes what is not known, or not in the model, for no evidence', () => {
    const nothing = diagnose({}, 'wrong', [], model);
    expect(diagnose({ dots: 'perhaps', hook: 'yes', toString: 'yes' }, 'wrong', [], model)).toEqual(nothing);
    expect(nothing.suspicions.map((s) => s.cause)).toEqual(['knob', 'lint', 'needle']);
    expect(nothing.model).toBe(7);
  });

  it('counts findings that say almost the same once in full and then by half', () => {
    const alike = modelOf({ ...small, alike: [['dots', 'pull']] });
    const ratio = (m: typeof model, found: Record<string, string>) => {
      const p = chances(m, toldOf(m, found), 'wrong');
      const n = m.causes.length;
      return Math.log((p[0] ?? 0) / (p[2 * n + 2] ?? 0)); // knob against needle, which bears on neither
    };
    const prior = ratio(model, {});
    const [dots, pull] = [Math.log(0.7 / 0.2), Math.log(0.8 / 0.1)];
    expect(ratio(model, { dots: 'yes', pull: 'yes' }) - prior).toBeCloseTo(dots + pull, 9);
    expect(ratio(alike, { dots: 'yes', pull: 'yes' }) - prior).toBeCloseTo(pull + dots / 2, 9);
    expect(ratio(alike, { dots: 'yes' }) - prior).toBeCloseTo(dots, 9);
  });

  it('lowers what an act in vain would have mended, and leaves the other of a pair', () => {
    const found = { dots: 'yes', card: 'yes' };
    const before = chances(model, toldOf(model, found), 'wrong');
    const after = chances(model, toldOf(model, found), 'wrong', ['turn']);
    const [knob, pair, lint] = [before[0] ?? 0, before[1] ?? 0, before[4] ?? 0];
    const rest = 1 - 0.9 * knob;
    expect(after[0]).toBeCloseTo((0.1 * knob) / rest, 9);
    expect(after[1]).toBeCloseTo((0.1 * pair) / rest, 9);
    expect(after[4]).toBeCloseTo((lint + 0.9 * pair) / rest, 9);
    expect(chanceOf(found, 'knob', ['turn', 'no such act'])).toBeLessThan(chanceOf(found, 'knob'));
  });

  it('believes in two causes less where one swap cured it', () => {
    const swap = modelOf({
      ...small,
      causes: { ...small.causes, lint: cause(3000, { dots: [4000, 6000], card: [1000, 9000], swap: [2000, 8000] }) },
      states: { ...small.states, swap: ['no_change', 'cured'] },
      looks: { ...small.looks, swap: { kind: 'test', minutes: 2, joins: 'cure', base: [8800, 1200] } },
    });
    const pairs = (found: Record<string, string>) => {
      const p = chances(swap, toldOf(swap, found), 'wrong');
      return (p[1] ?? 0) + (p[2] ?? 0) + (p[5] ?? 0);
    };
    expect(pairs({ dots: 'yes', swap: 'cured' })).toBeLessThan(pairs({ dots: 'yes' }) / 2);
  });

  it('says what fits and what does not, and names two causes where two explain it', () => {
    const d = diagnose({ card: 'yes', snap: 'yes', pull: 'no' }, 'wrong', [], model);
    const lint = d.suspicions.find((s) => s.cause === 'lint');
    expect(lint).toMatchObject({ fits: 1, of: 2, why: ['card'], whyNot: ['snap'] });
    expect(d.pair).toBeUndefined();
    const two = diagnose({ card: 'yes', pull: 'yes', dots: 'yes', snap: 'yes' }, 'wrong', [], model);
    expect(two.pair).toEqual(['knob', 'lint']);
  });

  it('tells a machine that was just changed from one that went wrong', () => {
    const at = (onset: 'wrong' | 'changed') => diagnose({ drop_test: 'falls' }, onset).suspicions[0]?.cause;
    expect([at('wrong'), at('changed')]).toEqual(['bobbin_too_loose', 'bobbin_too_loose']);
    const lint = (onset: 'wrong' | 'changed') =>
      diagnose({ drop_test: 'falls' }, onset).suspicions.find((s) => s.cause === 'lint_bobbin_spring')?.chance ?? 0;
    expect(lint('wrong')).toBeGreaterThan(2 * lint('changed'));
  });
});

describe('the tables', () => {
  it('sum up, and name only what there is', () => {
    const sum = (row: readonly number[]) => row.reduce((a, b) => a + b, 0);
    for (const f of faultModel.findings.values()) {
      expect(sum(f.base), f.id).toBeCloseTo(1, 9);
      for (const row of f.rows) if (row) expect(sum(row), f.id).toBeCloseTo(1, 9);
      const { alone, pairs } = f.shown();
      for (const of of [alone, pairs])
        for (let i = 0; i < (of[0]?.length ?? 0); i++) {
          const row = of.map((state) => state[i] ?? 0);
          expect(Math.abs(sum(row) - 1), f.id).toBeLessThan(1e-9);
          expect(Math.min(...row) > 0, f.id).toBe(true); // people contradict tables
        }
    }
    for (const group of tables.alike) for (const f of group) expect(faultModel.findings.has(f), f).toBe(true);
    for (const a of Object.values(tables.acts))
      for (const f of a.tells) expect(faultModel.findings.has(f), f).toBe(true);
    expect(() => modelOf({ ...small, causes: { x: cause(1, { nowhere: [1, 2] }) } })).toThrow(RangeError);
    expect(() => modelOf({ ...small, causes: { x: cause(1, { dots: [1, 2, 3] }) } })).toThrow(RangeError);
    expect(() => modelOf({ ...small, acts: { y: { kind: 'fix', minutes: 1, tells: [], mends: { z: 1 } } } })).toThrow(
      RangeError,
    );
  });

  it('let every cause be seen and mended by something', () => {
    const mended = new Set([...faultModel.acts.values()].flatMap((a) => a.mends.map(([c]) => c)));
    faultModel.causes.forEach((id, c) => {
      expect(mended.has(c), id).toBe(true);
      const shown = [...faultModel.findings.values()].filter((f) =>
        f.rows[c]?.some((p, s) => s > 0 && p > 3 * (f.base[s] ?? 1)),
      );
      expect(shown.length, id).toBeGreaterThan(0);
    });
    expect([faultModel.causes.length, faultModel.findings.size, faultModel.acts.size]).toEqual([53, 81, 44]);
  });
});
