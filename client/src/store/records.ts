/** Reading records. Nothing here reads more than it was asked for. */
import type { Home } from './home';
import { ofParent, type Row, type Tx, within } from './tables';

/** What is asked of records in one look. */
export type Look = {
  get(kind: string, id: string): Promise<Row | undefined>;
  /** All records of a kind: for kinds of which a studio has few. */
  all(kind: string): Promise<Row[]>;
  /** The newest records under a parent (parent.ts says what that is), oldest first. */
  under(kind: string, parent: string, most: number): Promise<Row[]>;
};

export type Records = Look & {
  /** Several things in one look: all as they are at one moment, and what stands together is read once. It waits for nothing else. */
  look<T>(work: (at: Look) => Promise<T>): Promise<T>;
  /** How many records of a kind there are, removed ones too. */
  count(kind: string): Promise<number>;
  /** Every record of the studio, or of some kinds, in order of its key, a page at a time. */
  pages(size?: number, kinds?: readonly string[]): AsyncGenerator<Row[]>;
};

export function records(home: Home): Records {
  const { engine } = home;
  const studio = () => home.device.studio;
  const lookIn = (tx: Tx): Look => ({
    get: (kind, id) => tx.get('records', [studio(), kind, id]),
    all: (kind) => tx.list('records', within(studio(), kind)),
    under: async (kind, parent, most) => {
      const rows = await tx.list('records', ofParent(studio(), kind, parent), { most, newest: true });
      return rows.reverse();
    },
  });
  const look: Records['look'] = (work) => engine.run(['records'], 'read', (tx) => work(lookIn(tx)));
  return {
    look,
    get: (kind, id) => look((at) => at.get(kind, id)),
    all: (kind) => look((at) => at.all(kind)),
    under: (kind, parent, most) => look((at) => at.under(kind, parent, most)),
    count: (kind) => engine.run(['records'], 'read', (tx) => tx.count('records', within(studio(), kind))),
    pages: (size, kinds) => pagesOf(home, studio(), size, kinds),
  };
}

/** The same of any studio on this phone. Each page is a transaction of its own: a year's book never stands in memory. */
export async function* pagesOf(
  { engine }: Home,
  studio: string,
  size = 500,
  kinds?: readonly string[],
): AsyncGenerator<Row[]> {
  for (const span of kinds ? kinds.map((kind) => within(studio, kind)) : [within(studio)]) {
    let rest = span;
    for (;;) {
      const from = rest;
      const rows = await engine.run(['records'], 'read', (tx) => tx.list('records', from, { most: size }));
      if (rows.length > 0) yield rows;
      const last = rows.at(-1);
      if (rows.length < size || !last) break;
      rest = { from: [studio, last.kind, last.id], to: span.to, after: true };
    }
  }
}
