/** Texts that are being typed: kept at each pause, so that none is lost when the browser ends. */
import type { Home } from './home';
import { type TextDraft, within } from './tables';

export type Drafts = {
  saveDraft(draft: Omit<TextDraft, 'studio'>): Promise<void>;
  dropDraft(key: string): Promise<void>;
  /** What was being typed in this studio; at a start the app makes records of it. */
  drafts(): Promise<TextDraft[]>;
};

export function drafts(home: Home): Drafts {
  const { engine } = home;
  const studio = () => home.device.studio;
  return {
    saveDraft: (draft) =>
      engine.run(['drafts'], 'write', async (tx) => tx.put('drafts', { ...draft, studio: studio() })),
    dropDraft: (key) => engine.run(['drafts'], 'write', async (tx) => tx.remove('drafts', [studio(), key])),
    drafts: () => engine.run(['drafts'], 'read', (tx) => tx.list('drafts', within(studio()))),
  };
}
