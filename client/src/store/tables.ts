/** What is kept, table by table, and the few things the store asks of a database: IndexedDB on a phone, maps in tests. */
import type { Dot, Json } from '../sync/ops';
import type { OutboxOp, PhoneMeta, Row as SyncRow } from '../sync/phone';

/** A record as it is shown (base with the outbox on top). `base` is there only while own ops on it are not acknowledged. */
export type Row = SyncRow & {
  studio: string;
  parent: string; // under what it is found (parent.ts)
  t: number; // ms UTC of its making
  copy?: number; // which copy out was begun last when we wrote in it, for counting what no copy holds
  late?: { readonly [dot: Dot]: number }; // ms UTC of receipt of values stamped more than 5 minutes ahead
};

/** An own op that no server acknowledged yet. */
export type Pending = OutboxOp & { studio: string };

/** An op that no server takes, with its words. `kept`: the person keeps it here only and is not asked again. */
export type Needed = { studio: string; key: number; at: number; reason: string; text: string; kept?: boolean };

/** A text that is being typed. */
export type TextDraft = {
  key: string;
  studio: string;
  kind: string;
  id: string;
  field: string;
  text: string;
  at: number;
  over?: readonly Dot[]; // what it stands in place of; without, all that is there when it is written
};

/** A task's state. `filed`: left too long, put away as unfinished. Never deleted but by its own end. */
export type KeptTask = { id: string; studio: string; touchedAt: number; filed?: boolean; state: Json };

/** A photo's bytes, once, under their SHA-256 in hex. `sent`: a server has it whole. */
export type Photo = { sha256: string; bytes: ArrayBuffer; type: string; sent: boolean };

/** A photo that has a way to go. */
export type PhotoWork = { studio: string; sha256: string; way: 'up' | 'down' };

/** How this phone is known to one server in one studio. */
export type Link = {
  server: string;
  studioName: string;
  phone: string;
  person: string;
  role: string;
  joinedAt: number; // ms UTC
};

/** One writer's place in one studio. */
export type Phone = {
  studio: string;
  meta: PhoneMeta;
  links: { readonly [server: string]: Link };
  heard: { readonly [server: string]: number }; // ms UTC of its last answer
  server: string; // the one that answered last, or ''
  copy: number; // copies out that were begun, from 1
  kept: number; // rows with a copy up to this are in the last one that was kept
  copies: number; // things written that are in no copy that was kept
  since: number; // things written since the last one was begun
  copiedAt: number; // ms UTC, 0 for never
  lastNeed: number;
  /** Own ops that left the outbox because a file had them: as many, up to n of that replica. No server is known to have them. */
  byFile?: { replica: string; n: number; count: number };
};

export type Meta = { key: string; value: unknown };

/** What a block holds (blocks.ts): ids one after the other, and under which parents, with the newest `t` of each. */
export type Head = { studio: string; name: string; kind: string; ids: string; parents: [parent: string, t: number][] };

/** Records of one kind as one text: a list of rows, without studio and kind. */
export type Block = { studio: string; name: string; text: string };

export type Tables = {
  records: Row; // [studio, kind, id], and byParent [studio, kind, parent, t]
  outbox: Pending; // [studio, n]
  phones: Phone; // studio
  needs: Needed; // [studio, key]
  drafts: TextDraft; // [studio, key]
  tasks: KeptTask; // [studio, id]
  photos: Photo & { studio: string }; // [studio, sha256]
  photoWork: PhotoWork; // [studio, sha256]
  meta: Meta; // key
  heads: Head; // [studio, name]
  blocks: Block; // [studio, name]
};
export type Table = keyof Tables;

export type Key = string | number | readonly (string | number)[];
/** Keys from `from` up to and with `to`. `after`: without `from` itself. */
export type Span = { readonly from: Key; readonly to: Key; readonly after?: boolean };
/** `newest`: by the index of parents, the newest first. */
export type Listing = { readonly most?: number; readonly newest?: boolean };

/** One transaction. It ends when nothing of it is waited for: await nothing else in it. Failed writes fail all of it. */
export type Tx = {
  get<T extends Table>(table: T, key: Key): Promise<Tables[T] | undefined>;
  getMany<T extends Table>(table: T, keys: readonly Key[]): Promise<(Tables[T] | undefined)[]>;
  list<T extends Table>(table: T, span: Span, listing?: Listing): Promise<Tables[T][]>;
  keys(table: Table, span: Span, most?: number): Promise<Key[]>;
  count(table: Table, span: Span): Promise<number>;
  put<T extends Table>(table: T, row: Tables[T]): void;
  /** The same for many at once; it waits only for what is there already. */
  putMany<T extends Table>(table: T, rows: readonly Tables[T][]): Promise<void>;
  remove(table: Table, which: Key | Span): void;
};

/** `write` is on the disk when it resolves; `bulk` may still be on its way there, for what can be fetched again. */
export type How = 'read' | 'write' | 'bulk';

export type Engine = {
  /** All of the work or none of it. The work may run twice: it changes nothing outside. Throws StoreError. */
  run<T>(tables: readonly Table[], how: How, work: (tx: Tx) => Promise<T>): Promise<T>;
  close(): Promise<void>;
};

const last = '\uffff';

/** Every key that begins so: a studio, or a studio and a kind. Longer keys come after shorter ones. */
export const within = (...prefix: string[]): Span => ({ from: prefix, to: [...prefix, last] });

/** The keys of a studio's outbox up to and with n. */
export const opsUpTo = (studio: string, n: number = Number.MAX_SAFE_INTEGER): Span => ({
  from: [studio, 0],
  to: [studio, n],
});

/** A machine's rows, or another parent's, in order of their making. */
export const ofParent = (studio: string, kind: string, parent: string): Span => ({
  from: [studio, kind, parent, Number.NEGATIVE_INFINITY],
  to: [studio, kind, parent, Number.POSITIVE_INFINITY],
});

const list = (key: Key): readonly (string | number)[] => (typeof key === 'object' ? key : [key]);

export function inSpan(key: Key, { from, to, after }: Span): boolean {
  const low = compare(key, from);
  return (after ? low > 0 : low >= 0) && compare(key, to) <= 0;
}

/** IndexedDB's order of keys: numbers before texts, texts by UTF-16 units, arrays part by part. */
export function compare(a: Key, b: Key): number {
  const x = list(a);
  const y = list(b);
  for (let i = 0; i < Math.min(x.length, y.length); i++) {
    const p = x[i] as string | number;
    const q = y[i] as string | number;
    if (typeof p !== typeof q) return typeof p === 'number' ? -1 : 1;
    if (p !== q) return p < q ? -1 : 1;
  }
  return x.length - y.length;
}
