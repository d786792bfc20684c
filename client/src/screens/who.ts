/** Who wrote something, as far as this phone knows. */
import type { State } from '../app';
import { find, shown } from '../read';
import { text } from '../text/changes';

export function personName(state: State, by: string): string {
  if (by === state.person || by === '') return text.me;
  const name = shown(find(state.rows, 'person', by), 'name');
  return typeof name === 'string' ? name : text.someone;
}
