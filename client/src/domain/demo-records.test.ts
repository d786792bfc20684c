import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import type { Json } from './field';
import { kinds, usable } from './records';

type Rec = { kind: string; id: string; fields: { [field: string]: Json[] } };
const records = JSON.parse(
  readFileSync(new URL('../../../testdata/demo/records.json', import.meta.url), 'utf8'),
) as Rec[];

test('every value of the demo studio can be used', () => {
  expect(records.length).toBeGreaterThan(80);
  const bad = records
    .filter((r) => Object.hasOwn(kinds, r.kind))
    .flatMap((r) => {
      const versions = Math.max(...Object.values(r.fields).map((v) => v.length));
      return Array.from({ length: versions }, (_, i) => {
        const values = Object.fromEntries(
          Object.entries(r.fields).map(([f, v]) => [f, v[Math.min(i, v.length - 1)] as Json]),
        );
        const { unusable, whole } = usable(r.kind, values);
        return whole && unusable.length === 0 ? [] : [{ kind: r.kind, id: r.id, unusable }];
      }).flat();
    });
  expect(bad).toEqual([]);
});
