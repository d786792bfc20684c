/** For tests: a database of maps that keeps the engine's promises. One transaction at a time, all of it or none. */
import { StoreError } from './errors';
import { compare, type Engine, inSpan, type Key, type Span, type Table, type Tx } from './tables';

type Stored = { readonly [field: string]: unknown };

const keyPaths: { readonly [T in Table]: readonly string[] } = {
  records: ['studio', 'kind', 'id'],
  outbox: ['studio', 'n'],
  phones: ['studio'],
  needs: ['studio', 'key'],
  drafts: ['studio', 'key'],
  tasks: ['studio', 'id'],
  photos: ['studio', 'sha256'],
  photoWork: ['studio', 'sha256'],
  meta: ['key'],
  heads: ['studio', 'name'],
  blocks: ['studio', 'name'],
};
const byParent = ['studio', 'kind', 'parent', 't'];

export type MemoryEngine = Engine & {
  /** The next transaction that puts something fails so, at its end. */
  fail(reason: 'full' | 'lost'): void;
  /** Rows handed out so far, and transactions that put something. */
  reads: number;
  writes: number;
};

export function memoryEngine(): MemoryEngine {
  const tables = new Map<Table, Map<string, Stored>>();
  let last: Promise<unknown> = Promise.resolve();
  let failing: 'full' | 'lost' | undefined;

  const engine: MemoryEngine = {
    reads: 0,
    writes: 0,
    fail: (reason) => {
      failing = reason;
    },
    run: (names, how, work) => {
      const next = last.then(() => once(names, how !== 'read', work));
      last = next.catch(() => {});
      return next;
    },
    close: async () => {},
  };

  async function once<T>(names: readonly Table[], writes: boolean, work: (tx: Tx) => Promise<T>): Promise<T> {
    const draft = new Map(names.map((name) => [name, new Map(tables.get(name))]));
    let put = false;
    const rows = (name: Table) => {
      const found = draft.get(name);
      if (!found) throw new Error(`the transaction was not opened over ${name}`);
      return found;
    };
    const changing = (name: Table) => {
      if (!writes) throw new Error(`the transaction only reads, but writes to ${name}`);
      return rows(name);
    };
    const found = (name: Table, span: Span, path: readonly string[]) =>
      [...rows(name).values()]
        .map((row) => ({ row, key: path.map((field) => row[field] as string | number) }))
        .filter(({ key }) => inSpan(key, span));
    const tx: Tx = {
      get: async (name, key) => {
        const row = rows(name).get(spell(key));
        if (row) engine.reads++;
        return structuredClone(row) as never;
      },
      getMany: (name, keys) => Promise.all(keys.map((key) => tx.get(name, key))) as never,
      keys: async (name, span, most) => {
        const keys = found(name, span, keyPaths[name]).map(({ key }) => key);
        return keys.sort(compare).slice(0, most);
      },
      list: async (name, span, { most, newest } = {}) => {
        const hits = found(name, span, newest ? byParent : keyPaths[name]);
        hits.sort((a, b) => compare(a.key, b.key));
        if (newest) hits.reverse();
        const kept = hits.slice(0, most).map(({ row }) => structuredClone(row));
        engine.reads += kept.length;
        return kept as never[];
      },
      count: async (name, span) => found(name, span, keyPaths[name]).length,
      put: (name, row) => {
        put = true;
        const key = keyPaths[name].map((field) => (row as Stored)[field] as string | number);
        changing(name).set(spell(key), structuredClone(row) as Stored);
      },
      putMany: async (name, rows) => {
        for (const row of rows) tx.put(name, row);
      },
      remove: (name, which) => {
        const rows = changing(name);
        if (typeof which !== 'object' || !('from' in which)) rows.delete(spell(which));
        else for (const { key } of found(name, which, keyPaths[name])) rows.delete(spell(key));
      },
    };
    const result = await work(tx);
    if (put) engine.writes++;
    if (put && failing) {
      const reason = failing;
      failing = undefined;
      throw new StoreError(reason);
    }
    for (const [name, changed] of draft) tables.set(name, changed);
    return result;
  }
  return engine;
}

const list = (key: Key): readonly (string | number)[] => (typeof key === 'object' ? key : [key]);
const spell = (key: Key) => JSON.stringify(list(key));
