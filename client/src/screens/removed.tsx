/** What was removed last, and its way back, until the next act. */
import { text } from '../text/book';
import { UndoRow } from '../ui/card';
import type { ScreenProps } from './shell';

export function Removed({ state, send }: ScreenProps) {
  if (state.undo?.of !== 'removal') return null;
  return <UndoRow done={text.removed} undo={text.undo} onUndo={() => send({ type: 'undo' })} />;
}
