/** Under what a record is found: the key of the index that Frame reads its machine by. */
import type { Json } from '../sync/ops';

type Fields = { readonly [field: string]: Json | undefined };

/** The field that names a kind's parent, the first of those that is there. Kinds without an entry are read whole. */
const parents: { readonly [kind: string]: readonly string[] } = {
  change: ['screw'],
  reading: ['bobbinCase', 'machine'],
  event: ['machine'],
  sample: ['machine'],
  finding: ['machine'],
  symptom: ['machine'],
  balancing: ['machine'],
  quilt: ['machine'],
  recipeUse: ['recipe'],
  photo: ['parent'],
};

/** The parent of a record with these fields: an id, a screw, or '' where its kind is read whole. */
export function parentOf(kind: string, fields: Fields): string {
  for (const name of parents[kind] ?? []) {
    const value = fields[name];
    if (typeof value === 'string' && value !== '') return value;
  }
  return '';
}
