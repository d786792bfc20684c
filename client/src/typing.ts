/**
 * Texts that are being typed: shown at once, kept at each key, made into records when the person goes on. One that
 * can't become a record stays as a draft, on the screen and on the disk.
 */
import { type Draft, find, formKind, type Row, type Rows, shown } from './read';
import type { Store, TextDraft } from './store/store';

/** A text goes into a record after this long without a key (30 s). */
export const quietMs = 30_000;

export type Place = { readonly kind: string; readonly id: string; readonly field: string };
export const keyOf = (p: Place): string => `${p.kind}/${p.id}/${p.field}`;

type Around = {
  store(): Store;
  now(): number;
  rows(): Rows;
  show(drafts: ReadonlyMap<string, string>): void;
  /** Writes first what could not be written before. Throws while it can't be. */
  ready(): Promise<unknown>;
  write(drafts: readonly Draft[], draftDone: string): Promise<void>;
  /** Runs when the acts before it are done. */
  queue(work: () => Promise<void>): void;
  failed(e: unknown): void;
};

export function createTyping(around: Around) {
  const texts = new Map<string, TextDraft>();
  const quiet = new Map<string, ReturnType<typeof setTimeout>>();
  const showAll = () => around.show(new Map([...texts].map(([key, d]) => [key, d.text])));

  /** A key was pressed. What was shown when the typing began is what the text will stand in place of, and nothing else. */
  function typed(place: Place, text: string): void {
    const key = keyOf(place);
    const { kind, id, field } = place;
    const before = texts.get(key);
    const first = find(around.rows(), kind, id)?.fields[field]?.live.find((v) => v.value !== undefined);
    const over = before ? before.over : first ? [first.dot] : [];
    texts.set(key, { key, studio: around.store().device.studio, kind, id, field, text, at: around.now(), over });
    showAll();
    clearTimeout(quiet.get(key));
    quiet.set(
      key,
      setTimeout(() => around.queue(() => settle(key)), quietMs),
    );
  }

  const keeping = new Map<string, Promise<void>>();
  const kept = new Map<string, TextDraft>();

  /** Keeps the text on the disk. What is typed while that goes on is kept right after, in one go. */
  function keep(place: Place): Promise<void> {
    const key = keyOf(place);
    const under = keeping.get(key) ?? keepLatest(key).finally(() => keeping.delete(key));
    keeping.set(key, under);
    return under;
  }

  async function keepLatest(key: string): Promise<void> {
    for (let d = texts.get(key); d && d !== kept.get(key); d = texts.get(key)) {
      await around.store().saveDraft(d);
      kept.set(key, d);
    }
  }

  /** Makes a record of it. Never throws: what fails is said, and stays. */
  async function settle(key: string): Promise<void> {
    if (!texts.has(key) || texts.get(key)?.kind === formKind) return;
    let d: TextDraft | undefined;
    try {
      await around.ready();
      d = texts.get(key);
      if (!d) return;
      const row = find(around.rows(), d.kind, d.id) ?? (await around.store().get(d.kind, d.id));
      if (shown(row, d.field) === d.text) await around.store().dropDraft(key);
      else
        await around.write(
          [{ kind: d.kind, id: d.id, set: { [d.field]: d.text }, ...(d.over && { over: { [d.field]: [...d.over] } }) }],
          key,
        );
    } catch (e) {
      around.failed(e);
      return;
    }
    if (texts.get(key)?.text === d.text) texts.delete(key);
    showAll();
  }

  return {
    typed,
    keep,
    settle,
    settleAll: async (): Promise<void> => {
      for (const key of [...texts.keys()]) await settle(key);
    },
    /** Starts with what the studio that is entered has on the disk; it becomes records. */
    restore: async (): Promise<void> => {
      const { studio } = around.store().device;
      for (const [key, d] of texts) if (d.studio !== studio) texts.delete(key);
      for (const d of await around.store().drafts()) if (!texts.has(d.key)) texts.set(d.key, d);
      showAll();
      for (const key of [...texts.keys()]) await settle(key);
    },
    /** This phone wrote these: what is typed on in the same fields stands in place of that now. */
    wrote: (drafts: readonly Draft[], rows: readonly Row[]): void => {
      for (const { kind, id, set } of drafts)
        for (const field of Object.keys(set)) {
          const key = keyOf({ kind, id, field });
          const d = texts.get(key);
          const newest = rows.find((r) => r.kind === kind && r.id === id)?.fields[field]?.live[0];
          if (d && newest) texts.set(key, { ...d, over: [newest.dot] });
        }
    },
    /** A form was used: its texts are in records now. */
    forget: async (keys: readonly string[]): Promise<void> => {
      for (const key of keys) {
        texts.delete(key);
        await around.store().dropDraft(key);
      }
      showAll();
    },
  };
}
