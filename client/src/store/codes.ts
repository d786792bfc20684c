/** Codes that a camera read of a run, until the run is whole or thrown away. One run at a time; no studio's: it may become one. */
import type { Home } from './home';

export type Codes = {
  /** The texts that were kept, in the order of their parts. */
  codes(): Promise<string[]>;
  /** Keeps the text of one part. It may be lost with the battery: the other phone shows it again. */
  keepCode(index: number, text: string): Promise<void>;
  dropCodes(): Promise<void>;
};

const start = 'code ';
const all = { from: start, to: `${start}\uffff` };

export function codes({ engine }: Home): Codes {
  return {
    codes: async () => {
      const rows = await engine.run(['meta'], 'read', (tx) => tx.list('meta', all));
      return rows.map((r) => String(r.value));
    },
    keepCode: (index, text) => {
      const key = `${start}${String(index).padStart(5, '0')}`;
      return engine.run(['meta'], 'bulk', async (tx) => tx.put('meta', { key, value: text }));
    },
    dropCodes: () => engine.run(['meta'], 'write', async (tx) => tx.remove('meta', all)),
  };
}
