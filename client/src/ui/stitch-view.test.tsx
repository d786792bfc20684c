import { readdirSync } from 'node:fs';
import { expect, test } from 'vitest';
import { stitchOfSymptom } from '../domain/stitch-symptoms';
import { asText } from './as-text';
import { type StitchSide, StitchView } from './stitch-view';

/** The pictures as they were last looked at. After a wanted change: `npx vitest run client/src/ui/stitch-view -u`. */
const golden = '../../../testdata/golden/stitch';
const file = (symptom: number) => `${String(symptom).padStart(2, '0')}.svg`;
const symptoms = [...stitchOfSymptom];
const kept = readdirSync(new URL(`${golden}/`, import.meta.url), { recursive: true });

const draw = (symptom: number, size: number, views?: readonly StitchSide[]) => {
  const params = stitchOfSymptom.get(symptom);
  if (!params) throw new Error(`no drawing for symptom ${symptom}`);
  return asText(<StitchView params={params} label="" size={size} views={views} />);
};

test('31 symptoms, each with its kept picture', () => {
  expect(symptoms.map(([symptom]) => symptom)).toEqual(Array.from({ length: 31 }, (_, i) => i + 1));
  expect([...kept].sort()).toEqual(symptoms.map(([symptom]) => file(symptom)));
});

test.each(symptoms.map(([symptom]) => symptom))('symptom %i is drawn as it was last looked at', async (symptom) => {
  const text = draw(symptom, 280).replaceAll('><', '>\n<');
  await expect(`${text}\n`).toMatchFileSnapshot(`${golden}/${file(symptom)}`);
});

test('each view of each symptom takes at most 4 kB, small and large', () => {
  for (const [symptom] of symptoms) {
    for (const size of [96, 280]) {
      for (const view of ['top', 'section', 'back'] as const) {
        const bytes = new TextEncoder().encode(draw(symptom, size, [view])).length;
        expect(bytes, `symptom ${symptom}, ${view}, ${size} px`).toBeLessThanOrEqual(4096);
      }
    }
  }
});

test('no two symptoms have the same picture at 96 px', () => {
  expect(new Set(symptoms.map(([symptom]) => draw(symptom, 96))).size).toBe(31);
});

test('all views of all symptoms have one crop', () => {
  const crops = symptoms.map(([symptom]) => /viewBox="[^"]+"/.exec(draw(symptom, 96))?.[0]);
  expect(new Set(crops)).toEqual(new Set(['viewBox="0 0 240 294"']));
});

test('named for those who do not see it, silent where words stand beside it', () => {
  const params = stitchOfSymptom.get(1);
  if (!params) throw new Error('no balanced stitch');
  expect(asText(<StitchView params={params} label="Balanced" size={96} />)).toMatch(
    /^<svg [^>]*role="img" aria-label="Balanced"/,
  );
  expect(draw(1, 96)).toMatch(/^<svg [^>]*aria-hidden="true"/);
});

test('the two colours reach the picture', () => {
  const params = stitchOfSymptom.get(1);
  if (!params) throw new Error('no balanced stitch');
  const text = asText(<StitchView params={params} label="" size={96} topColour="#112233" bobbinColour="#ddeeff" />);
  expect(text).toContain('--thread-top:#112233;--thread-bobbin:#ddeeff;');
  expect(text).toContain('--on-top:var(--code-light);--on-bobbin:var(--code-dark)'); // dashes show on any thread
});
