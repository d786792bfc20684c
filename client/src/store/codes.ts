/** Codes that a camera read of a run, until the run is whole, thrown away or a week old. No studio's: it may become one. */
import type { Home } from './home';

/** `run`: its id, so that two tabs that read two of them keep them apart. `at`: ms UTC, when it was read. */
export type KeptCode = { readonly run: string; readonly index: number; readonly text: string; readonly at: number };

export type Codes = {
  /** The texts that were kept, run by run, in the order of their parts. What is older than a week is dropped. */
  codes(nowMs: number): Promise<string[]>;
  /** Keeps the text of one part. It may be lost with the battery: the other phone shows it again. */
  keepCode(code: KeptCode): Promise<void>;
  /** What was kept of one run; without an id, of all. */
  dropCodes(run?: string): Promise<void>;
};

/** A run that was given up names another studio's things: it is kept no longer than this (our choice). */
export const keptMs = 7 * 24 * 3600 * 1000;

const start = 'code ';
const within = (prefix: string) => ({ from: prefix, to: `${prefix}\uffff` });

export function codes({ engine }: Home): Codes {
  return {
    codes: async (nowMs) => {
      const rows = await engine.run(['meta'], 'read', (tx) => tx.list('meta', within(start)));
      const [fresh, old]: [string[], string[]] = [[], []];
      for (const { key, value } of rows) {
        const { text, at } = value as Partial<KeptCode>;
        if (text && at !== undefined && at > nowMs - keptMs) fresh.push(text);
        else old.push(key);
      }
      if (old.length > 0)
        await engine.run(['meta'], 'bulk', async (tx) => {
          for (const key of old) tx.remove('meta', key);
        });
      return fresh;
    },
    keepCode: ({ run, index, text, at }) => {
      const key = `${start}${run} ${String(index).padStart(5, '0')}`;
      return engine.run(['meta'], 'bulk', async (tx) => tx.put('meta', { key, value: { text, at } }));
    },
    dropCodes: (run) =>
      engine.run(['meta'], 'write', async (tx) => tx.remove('meta', within(run ? `${start}${run} ` : start))),
  };
}
