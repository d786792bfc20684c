/**
 * Copying records of one studio into another: new ops of a replica there, under the same record ids, each with a field
 * `source` that says what it is a copy of. A second copy adds nothing that is unchanged.
 */
import { type Entry, fieldOf, hidden, type Rec } from './merge';
import { type Dot, encodeValue, isDot, isObject, type Json } from './ops';
import type { Draft } from './phone';

/** Value of the field `source`: the op of the other studio whose fields were copied. */
export type Source = { studio: string; record: string; dot: Dot };

/** Kinds that stay where they are: what only servers write, the studio itself, and what names dots. */
const stays = new Set(['person', 'phone', 'role', 'ending', 'studio', 'purge']);

/**
 * What to write into a studio so that it has these records of another one, in the order of their writing. `there` is the
 * record as it is shown in the studio that is written into. Values come with their own time. What changed at the source
 * since an earlier copy replaces that copy; where it was edited since, it comes beside. Hidden records stay behind.
 */
export function copyInto(
  from: { studio: string; records: readonly Rec[] },
  there: (kind: string, id: string) => Rec | undefined,
): Draft[] {
  const drafts = from.records
    .filter((rec) => !stays.has(rec.kind) && !hidden(rec))
    .flatMap((rec) => copyRecord(from.studio, rec, there(rec.kind, rec.id)));
  return drafts.sort((a, b) => a.at[0] - b.at[0] || a.at[1] - b.at[1]);
}

type Copy = Draft & { at: Entry['at'] };

function copyRecord(studio: string, rec: Rec, there: Rec | undefined): Copy[] {
  const earlier = there ? sources(there, studio, rec.id) : [];
  const copied = new Set(earlier.map((s) => s.source.dot));
  const byOp = new Map<Dot, Copy>();
  for (const [name, field] of Object.entries(rec.fields)) {
    if (name === 'removed' || name === 'source') continue;
    const alive = new Set(field.live.map((e) => e.dot));
    // A copy made from what is no longer current at the source, and still stands here, is replaced.
    const stale = new Set(earlier.filter((s) => !alive.has(s.source.dot)).map((s) => s.dot));
    const here = there ? fieldOf(there, name).live : [];
    const over = here.map((e) => e.dot).filter((dot) => stale.has(dot));
    for (const { dot, at, value } of field.live) {
      if (value === undefined || copied.has(dot) || here.some((e) => same(e.value, value))) continue;
      const draft = byOp.get(dot) ?? begin(rec, { studio, record: rec.id, dot }, at);
      byOp.set(dot, { ...draft, set: { ...draft.set, [name]: value }, over: { ...draft.over, [name]: over } });
    }
  }
  return [...byOp.values()];
}

function begin({ kind, id }: Rec, source: Source, at: Entry['at']): Copy {
  return { kind, id, set: { source }, over: { source: [] }, at }; // sources stand beside each other, one for each copy
}

function sources(rec: Rec, studio: string, record: string): { dot: Dot; source: Source }[] {
  return fieldOf(rec, 'source').live.flatMap(({ dot, value }) => {
    const source = readSource(value);
    return source && source.studio === studio && source.record === record ? [{ dot, source }] : [];
  });
}

/** Reads a value of the field `source`; undefined where it can't be read. */
export function readSource(value: Json | undefined): Source | undefined {
  if (!isObject(value)) return undefined;
  const { studio, record, dot } = value;
  return typeof studio === 'string' && typeof record === 'string' && isDot(dot) ? { studio, record, dot } : undefined;
}

const same = (a: Json | undefined, b: Json): boolean => a !== undefined && encodeValue(a) === encodeValue(b);
