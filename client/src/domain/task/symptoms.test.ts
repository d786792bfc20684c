import { describe, expect, it } from 'vitest';
import { statesOf } from './gates';
import { type Answers, type FeatureId, features, matches, questions, symptoms } from './symptoms';

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

  it('counts no answer that tells nothing, and two answers as either', () => {
    expect(matches({ top_face: ['cant-tell'], where: [] })).toEqual([]);
    expect(first({ top_face: ['dots', 'bumps'], firm: ['cant-tell'] })).toMatchObject({ of: 1, grade: 'strong' });
    expect(matches({ top_face: ['none'] }).map((m) => m.symptom)).not.toContain('2');
  });

  it('asks at most six things after the first', () => {
    for (const look of ['top', 'back', 'same-colours', undefined]) expect(questions(look).length).toBe(6);
  });
});
