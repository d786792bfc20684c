/** Where a record stands: being typed, on this phone, waiting to go, or with the studio. */
import type { Row } from '../../read';
import { text } from '../../text/book';
import type { ScreenProps } from '../shell';

export function KeptWhere({ state, row, typed }: ScreenProps & { row: Row; typed: boolean }) {
  const { joined } = state.link;
  return (
    <p class="small-text" role="status">
      {typed ? text.draft : !joined ? text.onPhone : row.base ? text.waiting : text.withStudio}
    </p>
  );
}
