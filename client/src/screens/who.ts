/** Who wrote something, as far as this phone knows. */

import { find, shown } from '../read';
import type { State } from '../state';
import { text } from '../text/changes';

export function personName(state: State, by: string): string {
  return by === state.person ? text.me : signedName(state, by);
}

/** As it stands under what others read: a name also for the person of this phone, where the studio knows one. */
export function signedName(state: State, by: string): string {
  const name = shown(find(state.rows, 'person', by), 'name');
  if (typeof name === 'string') return name;
  return by === state.person || by === '' ? text.me : text.someone;
}
