/** What needs the person: ops that no server takes, ever. Their words stay until the person says what becomes of them. */

import { dotOf } from '../sync/merge';
import type { Op } from '../sync/ops';
import { keyOf } from '../sync/phone';
import type { Home } from './home';
import { type Needed, type Row, within } from './tables';
import { put } from './write';

export type Needs = {
  needs(): Promise<Needed[]>;
  /** Those that the person keeps on this phone only. */
  keptHere(): Promise<Needed[]>;
  /** Writes it again as a new op, in place of the refused one; `text`, where given, replaces the text it set. */
  retryNeed(key: number, nowMs: number, text?: string): Promise<Row[]>;
  /** Keeps its words on this phone only and asks no more. */
  keepNeed(key: number): Promise<void>;
  /** Forgets it. Its words are gone then: the person said so. */
  dropNeed(key: number): Promise<void>;
};

export function needs(home: Home): Needs {
  const { engine } = home;
  const studio = () => home.device.studio;
  const list = async (kept: boolean) => {
    const all = await engine.run(['needs'], 'read', (tx) => tx.list('needs', within(studio())));
    return all.filter((n) => (n.kept === true) === kept);
  };
  return {
    needs: () => list(false),
    keptHere: () => list(true),
    retryNeed: async (key, nowMs, text) => {
      const here = studio();
      const rows = await engine.run(['needs', 'records', 'outbox', 'phones'], 'write', async (tx) => {
        const need = await tx.get('needs', [here, key]);
        if (!need) return [];
        tx.remove('needs', [here, key]);
        const op = JSON.parse(need.text) as Op;
        // It replaces what the refused op would have, and no value that came since.
        const refused = dotOf(op.replica, op.n);
        const over = Object.fromEntries(Object.keys(op.set).map((f) => [f, [refused, ...(op.over[f] ?? [])]]));
        const set = text !== undefined && typeof op.set.text === 'string' ? { ...op.set, text } : op.set;
        return put(home, tx, here, [{ kind: op.kind, id: op.id, set, over }], nowMs);
      });
      if (rows.length > 0) home.changed({ by: 'us', studio: here, keys: rows.map((r) => keyOf(r.kind, r.id)) });
      return rows;
    },
    keepNeed: (key) =>
      engine.run(['needs'], 'write', async (tx) => {
        const need = await tx.get('needs', [studio(), key]);
        if (need) tx.put('needs', { ...need, kept: true });
      }),
    dropNeed: (key) => engine.run(['needs'], 'write', async (tx) => tx.remove('needs', [studio(), key])),
  };
}
