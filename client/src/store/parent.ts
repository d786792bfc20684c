/** Under what a record is found, and when it was made: the index that Frame reads its machine by. Pure. */
import type { Field } from '../sync/merge';

type Fields = { readonly [field: string]: Field };

/** The field that names a kind's parent, the first of those that is there. Kinds without an entry are read whole. */
const parents: { readonly [kind: string]: readonly string[] } = {
  change: ['screw'],
  reading: ['bobbinCase', 'machine'],
  event: ['machine'],
  careDone: ['bobbinCase', 'machine'],
  sample: ['machine'],
  finding: ['machine'],
  symptom: ['machine'],
  balancing: ['machine'],
  quilt: ['machine'],
  recipe: ['machine'],
  recipeUse: ['recipe'],
  station: ['class'],
  visit: ['class'],
  note: ['machine', 'bobbinCase', 'thread', 'quilt', 'recipe'],
  photo: ['parent'],
};

/** Events that stand until another takes them away: however many taps come after one, it is found. */
const standing: readonly unknown[] = ['do-not-run', 'lifted'];

/** Where the events of a machine are found that stand apart from its one-tap facts. */
export const stopsOf = (machine: string): string => `${machine}:stop`;

const first = (field: Field | undefined): unknown => field?.live.find((e) => e.value !== undefined)?.value;

/** The parent of a record with these fields: an id, a screw, or '' where its kind is read whole. */
export function parentOf(kind: string, fields: Fields): string {
  for (const name of (Object.hasOwn(parents, kind) && parents[kind]) || []) {
    const value = first(fields[name]);
    if (typeof value !== 'string' || value === '') continue;
    const id = value.slice(0, 128);
    return kind === 'event' && standing.includes(first(fields.type)) ? stopsOf(id) : id;
  }
  return '';
}

/** When a record was made, ms UTC: the stamp of its zone, which only its making sets, else the oldest stamp it holds. */
export function madeAt(fields: Fields): number {
  const made = fields.zone?.live[0];
  if (made) return made.at[0];
  const all = Object.values(fields).flatMap((f) => f.live.map((e) => e.at[0]));
  return all.reduce((a, b) => Math.min(a, b), all[0] ?? 0);
}
