/** For tests only: loads the golden vectors that Go and TypeScript share. */
import { readFileSync } from 'node:fs';

/** The cases of testdata/vectors/<name>.json, as casesIn reads them. */
export function loadVectors<T>(name: string, keys: readonly string[]): T[] {
  const path = new URL(`../../../testdata/vectors/${name}.json`, import.meta.url);
  return casesIn<T>(readFileSync(path, 'utf8'), keys, name);
}

/**
 * The cases of a file. `keys` names every key that a case may have, those ending in `?` need not be there; a key that is
 * not named, a missing one, and an empty list are errors, so that neither a wrong path nor a new key passes.
 */
export function casesIn<T>(text: string, keys: readonly string[], name: string): T[] {
  const file = JSON.parse(text) as { about: string; cases: Record<string, unknown>[] };
  only(file, ['about', 'cases'], name);
  if (!Array.isArray(file.cases) || file.cases.length === 0) throw new Error(`${name}: no cases`);
  for (const c of file.cases) only(c, keys, `${name}: ${String(c.name)}`);
  return file.cases as T[];
}

function only(object: object, keys: readonly string[], where: string): void {
  const known = keys.map((key) => key.replace('?', ''));
  for (const key of Object.keys(object)) if (!known.includes(key)) throw new Error(`${where}: unknown key ${key}`);
  for (const key of keys) if (!key.endsWith('?') && !Object.hasOwn(object, key)) throw new Error(`${where}: no ${key}`);
}
