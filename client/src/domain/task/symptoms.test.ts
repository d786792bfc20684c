import { describe, expect, it } from 'vitest';
import { statesOf } from './gates';
import { type Answers, bestQuestion, type FeatureId, features, matches, questions, symptoms } from './symptoms';

const first = (answers: Answers) => matches(answers)[0];

describe('symptom table', () => {
  it('holds 31, with answers that exist and looks whose states are known', () => {
    expect(Object.keys(symptoms).map(Number)).toEqual(Array.from({ length: 31 }, (_, i) => i + 1));
    for (const [n, { fits, check }] of Object.entries(symptoms)) {
      for (const [f, values] of Object.entries(fits))
        for (const v of values === 'any' ? [] : values) expect(features[f as FeatureId], `${n} ${f}`).toContain(v);
      if (check) expect(statesOf(check), `${n} ${check}`).toBeDefined();
    }
  });

  it('finds each symptom first, or level with the first, when all its own signs are seen', () => {
    for (const [n, { fits }] of Object.entries(symptoms)) {
      const answers = Object.fromEntries(
        (Object.keys(features) as FeatureId[]).map((f) => {
          const own = fits[f];
          return [f, [own === undefined || own === 'any' ? features[f][0] : (own[0] ?? '')]];
        }),
      );
      const found = matches(answers).find((m) => m.symptom === n);
      expect(found?.grade, n).toBe('strong');
    }
  });

  it('tells every two apart by at least one thing to look at', () => {
    const all = Object.entries(symptoms);
    const seen = (n: string, f: FeatureId) => {
      const own = symptoms[n]?.fits[f] ?? [features[f][0]];
      return own === 'any' ? [...features[f]] : [...own];
    };
    for (const [i, [a]] of all.entries())
      for (const [b] of all.slice(i + 1)) {
        const differ = (Object.keys(features) as FeatureId[]).filter((f) => {
          const [x, y] = [seen(a, f), seen(b, f)];
          return x.some((v) => !y.includes(v)) || y.some((v) => !x.includes(v));
        });
        expect(differ, `${a} and ${b}`).not.toEqual([]);
      }
  });

  it.each<[Answers, string]>([
    [{ top_face: ['dots'] }, '2'],
    [{ top_face: ['dots'], holes: ['close'] }, '2'],
    [{ top_face: ['wire'], firm: ['lifts'] }, '4'],
    [{ back_face: ['dots'], where: ['everywhere'] }, '5'],
    [{ back_face: ['mat'], firm: ['lifts'] }, '10'],
    [{ back_face: ['lashes'], where: ['curves'] }, '8'],
    [{ below: ['nest-at-start'] }, '11'],
    [{ stitches: ['skipped'] }, '18'],
    [{ thread: ['top-frays'] }, '22'],
    [{ finger: ['ridge-back'], pin: ['slack-back'], tug: ['gives'] }, '6'],
    [{ where: ['patch'], stitches: ['skipped'] }, '29'],
  ])('%j → %s', (answers, symptom) => {
    expect(first(answers)?.symptom).toBe(symptom);
  });

  it('never drops one for a single miss: it sinks to possible, and says what did not fit', () => {
    const found = matches({ top_face: ['bumps'], firm: ['lifts'], stitches: ['uneven'] });
    const bumps = found.find((m) => m.symptom === '3');
    expect(bumps).toMatchObject({ grade: 'possible', fits: 2, of: 3, misses: ['stitches'] });
  });

  it('lists none that nothing speaks for', () => {
    for (const m of matches({ top_face: ['wire'] })) expect(m.fits).toBeGreaterThan(0);
    expect(matches({ top_face: ['wire'] }).map((m) => m.symptom)).not.toContain('1');
  });

  it('counts no answer that tells nothing, and two answers as either', () => {
    expect(matches({ top_face: ['cant-tell'], where: [] })).toEqual([]);
    expect(first({ top_face: ['dots', 'bumps'], firm: ['cant-tell'] })).toMatchObject({ of: 1, grade: 'strong' });
    expect(matches({ top_face: ['none'] }).map((m) => m.symptom)).not.toContain('2');
  });

  it('asks at most six things after the first', () => {
    for (const look of ['top', 'back', 'same-colours', undefined]) expect(questions(look).length).toBe(6);
  });
});

describe('the best next question', () => {
  const ids = (look: string | undefined) => questions(look).map((f) => f.id);
  const shows = (n: string, f: FeatureId): readonly string[] => {
    const own = symptoms[n]?.fits[f] ?? [features[f][0]];
    return own === 'any' ? features[f] : own;
  };
  const entropy = (weights: readonly number[]) => {
    const all = weights.reduce((a, b) => a + b, 0);
    return weights.reduce((sum, w) => (w > 0 ? sum - (w / all) * Math.log2(w / all) : sum), 0);
  };
  /** The doubt about which symptom it is that an answer leaves on average, told off case by case. */
  function doubtAfter(f: FeatureId, left: readonly string[]): number {
    return features[f].reduce((sum: number, v) => {
      const weights = left.map((n) => (shows(n, f).includes(v) ? 1 / shows(n, f).length / left.length : 0));
      return sum + weights.reduce((a, b) => a + b, 0) * entropy(weights);
    }, 0);
  }

  it.each(['top', 'back', 'same-colours', undefined])(
    'leaves the least doubt of all that may be asked (%s)',
    (look) => {
      const all = Object.keys(symptoms);
      const best = bestQuestion({}, ids(look));
      const least = Math.min(...ids(look).map((f) => doubtAfter(f, all)));
      expect(best && doubtAfter(best, all)).toBeCloseTo(least, 9);
    },
  );

  it.each<[Answers, 'fits' | 'misses one']>([
    [{ top_face: ['wire'] }, 'fits'],
    [{ top_face: ['wire'], where: ['curves'] }, 'misses one'], // one alone fits: is it that one?
  ])('asks about what still fits best, or misses one thing where only one fits: %j', (answers, which) => {
    const missed = (n: string) =>
      (Object.keys(answers) as FeatureId[]).filter((f) => !answers[f]?.some((v) => shows(n, f).includes(v))).length;
    const fit = Object.keys(symptoms).filter((n) => missed(n) === 0);
    expect(fit.length === 1).toBe(which === 'misses one');
    const left = which === 'fits' ? fit : Object.keys(symptoms).filter((n) => missed(n) <= 1);
    const rest = ids('top').filter((f) => !answers[f]);
    const best = bestQuestion(answers, rest);
    const least = Math.min(...rest.map((f) => doubtAfter(f, left)));
    expect(best && doubtAfter(best, left)).toBeCloseTo(least, 9);
  });

  it('is none when nothing more can be asked, or nothing would part what is left', () => {
    expect(bestQuestion({ top_face: ['dots'] }, [])).toBeUndefined();
    const alike = (f: FeatureId) => Object.keys(symptoms).every((n) => shows(n, f).join() === shows('1', f).join());
    expect((Object.keys(features) as FeatureId[]).some(alike)).toBe(false); // every feature is worth asking of all 31
  });

  it('comes to few sooner than the order of the list does', () => {
    const walk = (truth: string, next: (told: Answers) => FeatureId | undefined) => {
      let told: Answers = {};
      let asked = 0;
      for (; asked < 6; asked++) {
        if (matches(told).filter((m) => m.grade === 'strong').length in { 1: 1, 2: 2 }) break;
        const f = next(told);
        if (!f) break;
        told = { ...told, [f]: [shows(truth, f)[0] ?? ''] };
      }
      return asked;
    };
    let [best, listed, runs] = [0, 0, 0];
    for (const look of ['top', 'back', 'same-colours'] as const)
      for (const truth of Object.keys(symptoms)) {
        best += walk(truth, (t) =>
          bestQuestion(
            t,
            ids(look).filter((f) => !t[f]),
          ),
        );
        listed += walk(truth, (t) => ids(look).find((f) => !t[f]));
        runs++;
      }
    console.log(
      `figure: questions until two at most still fit: ${(best / runs).toFixed(2)} by the best next, ${(listed / runs).toFixed(2)} in the order of the list`,
    );
    expect(best).toBeLessThan(listed);
  });
});
