/**
 * Many records at once are kept in blocks: one row on the disk for a hundred of them, and a head that says which they
 * are. A record stands in `records` or in one block, never in both; one that is written by itself leaves its block. Blocks
 * and heads never change, they are replaced under new names: a head that was read once is good while it is there.
 */
import { newId } from '../sync/ops';
import { compare, type Engine, type Head, inSpan, type Row, type Span, type Tx, within } from './tables';

/** When records go into blocks, and how large those are. */
export type Sizes = {
  /**
   * UTF-16 units of a block's text. Chromium packs values from 64 KiB on, and puts those that are still as large into files
   * of their own: blocks in between are written about five times as fast as smaller or larger ones.
   */
  readonly units: number;
  readonly least: number; // fewer records of one kind stay rows of their own
};
const usual: Sizes = { units: 120_000, least: 32 };
/** More keys than this are looked for in a list of all keys, where that is not longer than theirs. */
const manyKeys = 64;

/** An engine whose `records` may stand in blocks; who uses it does not see which do. */
export function withBlocks(engine: Engine, sizes: Sizes = usual): Engine {
  let known = new Map<string, Kept>();
  async function headsIn(tx: Tx): Promise<Map<string, Kept>> {
    const keys = (await tx.keys('heads', everything)) as [string, string][];
    const missing = keys.filter(([, name]) => !known.has(name));
    const few = missing.length <= 8;
    const came = few ? await tx.getMany('heads', missing) : await tx.list('heads', everything);
    const fresh = new Map(came.flatMap((head) => (head ? [[head.name, new Kept(head)]] : [])));
    const all = keys.map(([, name]) => [name, known.get(name) ?? fresh.get(name)] as const);
    known = new Map(all.filter((pair): pair is readonly [string, Kept] => pair[1] !== undefined));
    return new Map(known);
  }
  return {
    run: (tables, how, work) => {
      if (!tables.includes('records')) return engine.run(tables, how, work);
      return engine.run([...tables, 'heads', 'blocks'], how, async (raw) => {
        const { tx, settle } = overBlocks(raw, headsIn(raw), sizes);
        const result = await work(tx);
        if (how !== 'read') await settle();
        return result;
      });
    },
    close: () => engine.close(),
  };
}

const everything: Span = { from: ['', ''], to: ['\uffff', '\uffff'] };
const idUnits = 32;

/** A head, and what was worked out of it. */
class Kept {
  readonly count: number;
  readonly newest: ReadonlyMap<string, number>; // by parent
  private set: Set<string> | undefined;
  constructor(readonly head: Head) {
    this.count = head.ids.length / idUnits;
    this.newest = new Map(head.parents);
  }
  get ids(): Set<string> {
    this.set ??= new Set(
      Array.from({ length: this.count }, (_, i) => this.head.ids.slice(i * idUnits, (i + 1) * idUnits)),
    );
    return this.set;
  }
}

type Key = readonly [studio: string, kind: string, id: string];
const keyOf = (row: Row): Key => [row.studio, row.kind, row.id];
const spell = (key: Key) => key.join('/');
const newestFirst = (a: Row, b: Row) => b.t - a.t || (a.id < b.id ? 1 : -1);

/** One transaction's view of the records. `settle` writes anew the blocks that records left. */
function overBlocks(
  raw: Tx,
  loading: Promise<Map<string, Kept>>,
  { units: most, least }: Sizes,
): { tx: Tx; settle(): Promise<void> } {
  const left = new Map<string, Set<string>>(); // ids that left a block, by its name
  const asRow = new Map<string, boolean>(); // whether a record was seen to stand in `records`, by key
  const texts = new Map<string, Promise<Row[]>>();
  let touched: (Key | Span)[] = []; // written or removed by itself, not yet looked for in blocks
  loading.catch(() => {}); // who waits for it is told

  async function heads(): Promise<Map<string, Kept>> {
    const all = await loading;
    const now = touched;
    touched = [];
    for (const one of now) {
      if (!isSpan(one)) leave(find(all, one), one[2]);
      else for (const kept of all.values()) for (const id of inBlock(kept, one)) leave(kept, id);
    }
    return all;
  }

  function leave(kept: Kept | undefined, id: string): void {
    if (!kept) return;
    const { name } = kept.head;
    left.set(name, (left.get(name) ?? new Set()).add(id));
  }

  const stays = (kept: Kept, id: string) => !left.get(kept.head.name)?.has(id);

  function find(all: ReadonlyMap<string, Kept>, [studio, kind, id]: Key): Kept | undefined {
    for (const kept of all.values()) {
      const { head } = kept;
      if (head.kind === kind && head.studio === studio && kept.ids.has(id) && stays(kept, id)) return kept;
    }
    return undefined;
  }

  /** Ids of a block that are in a span and have not left. */
  function inBlock(kept: Kept, span: Span): string[] {
    const { studio, kind, name } = kept.head;
    const [low, high] = [
      [studio, kind],
      [studio, kind, 'g'],
    ]; // ids are hex
    if (compare(high, span.from) < 0 || compare(low, span.to) > 0) return [];
    const whole = compare(low, span.from) >= 0 && compare(high, span.to) < 0;
    const ids = [...kept.ids];
    if (whole && !left.has(name)) return ids;
    return ids.filter((id) => stays(kept, id) && (whole || inSpan([studio, kind, id], span)));
  }

  function rowsOf({ head }: Kept): Promise<Row[]> {
    const { studio, kind, name } = head;
    const rows =
      texts.get(name) ??
      raw.get('blocks', [studio, name]).then((block) => {
        const kept = JSON.parse(block?.text ?? '[]') as Omit<Row, 'studio' | 'kind'>[];
        return kept.map((row) => ({ ...row, studio, kind }));
      });
    texts.set(name, rows);
    return rows;
  }

  async function get(key: Key): Promise<Row | undefined> {
    const [row, all] = await Promise.all([raw.get('records', key), heads()]);
    asRow.set(spell(key), row !== undefined);
    const kept = row ? undefined : find(all, key);
    return kept ? (await rowsOf(kept)).find((r) => r.id === key[2]) : row;
  }

  async function getMany(keys: readonly Key[]): Promise<(Row | undefined)[]> {
    const all = await heads();
    const places = keys.map((key) => find(all, key));
    const loose = keys.filter((_, i) => !places[i]);
    const rows = new Map<string, Row>();
    for (const row of await looseRows(loose)) rows.set(spell(keyOf(row)), row);
    for (const kept of new Set(places))
      if (kept) for (const row of await rowsOf(kept)) if (stays(kept, row.id)) rows.set(spell(keyOf(row)), row);
    return keys.map((key) => rows.get(spell(key)));
  }

  /** Those of the keys that are rows. On an empty phone ten thousand keys are not asked for one by one. */
  async function looseRows(keys: readonly Key[]): Promise<Row[]> {
    const [first] = keys;
    let wanted = keys;
    if (first && keys.length > manyKeys && keys.every((key) => key[0] === first[0])) {
      const there = (await raw.keys('records', within(first[0]), keys.length)) as unknown as Key[];
      const all = there.length < keys.length && new Set(there.map(spell));
      if (all) wanted = keys.filter((key) => all.has(spell(key)));
    }
    const rows = (await raw.getMany('records', wanted)).filter((row) => row !== undefined);
    for (const key of keys) asRow.set(spell(key), false);
    for (const row of rows) asRow.set(spell(keyOf(row)), true);
    return rows;
  }

  async function list(span: Span, most = Number.POSITIVE_INFINITY): Promise<Row[]> {
    const [rows, all] = await Promise.all([
      raw.list('records', span, most < Number.POSITIVE_INFINITY ? { most } : {}),
      heads(),
    ]);
    const found: { kept: Kept; key: Key }[] = [];
    for (const kept of all.values())
      for (const id of inBlock(kept, span)) found.push({ kept, key: [kept.head.studio, kept.head.kind, id] });
    if (found.length === 0) return rows;
    found.sort((a, b) => compare(a.key, b.key));
    const from = new Map<Kept, Set<string>>();
    for (const { kept, key } of found.slice(0, most)) from.set(kept, (from.get(kept) ?? new Set()).add(key[2]));
    for (const [kept, ids] of from) rows.push(...(await rowsOf(kept)).filter((row) => ids.has(row.id)));
    return rows.sort((a, b) => compare(keyOf(a), keyOf(b))).slice(0, most);
  }

  /** The newest of a parent, the newest first. Blocks are read only as far back as they may hold some. */
  async function newest(span: Span, most = Number.POSITIVE_INFINITY): Promise<Row[]> {
    const [studio, kind, parent] = span.from as readonly string[];
    const [own, all] = await Promise.all([raw.list('records', span, { newest: true, most }), heads()]);
    const back = (kept: Kept) => kept.newest.get(parent ?? '') ?? Number.NEGATIVE_INFINITY;
    const blocks = [...all.values()]
      .filter(({ head, newest }) => head.studio === studio && head.kind === kind && newest.has(parent ?? ''))
      .sort((a, b) => back(b) - back(a));
    let rows = own;
    for (const kept of blocks) {
      const last = rows[most - 1];
      if (last && back(kept) < last.t) break;
      const more = (await rowsOf(kept)).filter((row) => row.parent === parent && stays(kept, row.id));
      rows = [...rows, ...more].sort(newestFirst).slice(0, most);
    }
    return rows;
  }

  async function count(span: Span): Promise<number> {
    const [rows, all] = await Promise.all([raw.count('records', span), heads()]);
    return [...all.values()].reduce((sum, kept) => sum + inBlock(kept, span).length, rows);
  }

  /** Records that are rows stay rows; of the others, as many of one kind as are worth it go into blocks. */
  async function putMany(rows: readonly Row[]): Promise<void> {
    const all = await heads();
    const unsure = rows.map(keyOf).filter((key) => !asRow.has(spell(key)) && !find(all, key));
    await looseRows(unsure);
    const groups = new Map<string, Row[]>();
    for (const row of rows) {
      if (row.base || asRow.get(spell(keyOf(row)))) put(row);
      else groups.set(`${row.studio}/${row.kind}`, [...(groups.get(`${row.studio}/${row.kind}`) ?? []), row]);
    }
    for (const group of groups.values()) {
      if (group.length < least) {
        for (const row of group) put(row);
        continue;
      }
      for (const row of group) leave(find(all, keyOf(row)), row.id);
      for (const kept of putBlocks(group)) all.set(kept.head.name, kept);
    }
  }

  /** Writes rows of one kind as blocks, each kind sorted so that what is read together stands together. */
  function putBlocks(group: Row[]): Kept[] {
    const sorted = [...group].sort((a, b) => (a.parent < b.parent ? -1 : a.parent > b.parent ? 1 : a.t - b.t));
    const made: Kept[] = [];
    let from = 0;
    let units = 0;
    const lines = sorted.map(({ studio: _, kind: __, ...row }) => JSON.stringify(row));
    for (const [i, line] of lines.entries()) {
      units += line.length;
      if (units < most && i < lines.length - 1) continue;
      made.push(putBlock(sorted.slice(from, i + 1), lines.slice(from, i + 1)));
      from = i + 1;
      units = 0;
    }
    return made;
  }

  function putBlock(rows: readonly Row[], lines: readonly string[]): Kept {
    const { studio = '', kind = '' } = rows[0] ?? {};
    const name = newId();
    const parents = new Map<string, number>();
    for (const { parent, t } of rows) parents.set(parent, Math.max(t, parents.get(parent) ?? t));
    const head = { studio, name, kind, ids: rows.map((row) => row.id).join(''), parents: [...parents] };
    raw.put('heads', head);
    raw.put('blocks', { studio, name, text: `[${lines.join(',')}]` });
    return new Kept(head);
  }

  function put(row: Row): void {
    touched.push(keyOf(row));
    asRow.set(spell(keyOf(row)), true);
    raw.put('records', row);
  }

  async function settle(): Promise<void> {
    const all = await heads();
    for (const [name, ids] of left) {
      const kept = all.get(name);
      if (!kept) continue;
      const { studio } = kept.head;
      const rest = ids.size < kept.count ? (await rowsOf(kept)).filter((row) => !ids.has(row.id)) : [];
      if (rest.length > 0) putBlocks(rest);
      raw.remove('heads', [studio, name]);
      raw.remove('blocks', [studio, name]);
    }
  }

  const tx: Tx = {
    ...raw,
    get: (table, key) => (table === 'records' ? get(key as unknown as Key) : raw.get(table, key)) as never,
    getMany: (table, keys) =>
      (table === 'records' ? getMany(keys as unknown as Key[]) : raw.getMany(table, keys)) as never,
    list: (table, span, { most, newest: back } = {}) => {
      if (table === 'records') return (back ? newest(span, most) : list(span, most)) as never;
      return raw.list(table, span, most === undefined ? {} : { most });
    },
    count: (table, span) => (table === 'records' ? count(span) : raw.count(table, span)),
    put: (table, row) => (table === 'records' ? put(row as Row) : raw.put(table, row)),
    putMany: (table, rows) =>
      table === 'records' ? putMany(rows as readonly unknown[] as Row[]) : raw.putMany(table, rows),
    remove: (table, which) => {
      if (table === 'records') touched.push(which as unknown as Key | Span);
      raw.remove(table, which);
    },
  };
  return { tx, settle };
}

const isSpan = (one: Key | Span): one is Span => 'from' in one;
