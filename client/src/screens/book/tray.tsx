/** What was removed in the last 30 days. Nothing here is gone: a new value brings a record back. */
import { bringBack, isHidden, type Row as StoredRow, shown } from '../../read';
import { text } from '../../text/book';
import { when } from '../../text/shell';
import { Card, Row } from '../../ui/card';
import { Photo } from '../photo';
import { AtPlace } from '../place';
import type { ScreenProps } from '../shell';

const trayMs = 30 * 24 * 3600 * 1000;

export function Tray({ state, send }: ScreenProps) {
  const now = Date.now();
  const gone = ['note', 'recipe', 'thread', 'photo'].flatMap((kind) =>
    [...(state.rows.get(kind)?.values() ?? [])].filter((r) => isHidden(r) && now - removedAt(r) < trayMs),
  );
  return (
    <AtPlace state={state} place="book">
      <h1>{text.tray}</h1>
      <Card>
        {gone.length === 0 && <p>{text.emptyTray}</p>}
        {gone.map((r) => (
          <div key={r.id}>
            {r.kind === 'photo' && <Photo row={r} photoOf={state.photoOf} alt={text.photoAlt} />}
            <Row
              title={r.kind === 'photo' ? text.aPhoto : wordsOf(r)}
              detail={text.bringBack}
              end={when(removedAt(r))}
              onOpen={() => send({ type: 'write', drafts: [bringBack(r)] })}
            />
          </div>
        ))}
      </Card>
      <a class="button" href="/book">
        {text.done}
      </a>
    </AtPlace>
  );
}

const wordsOf = (row: StoredRow): string =>
  String(shown(row, 'name') ?? shown(row, 'text') ?? shown(row, 'number') ?? '').slice(0, 80) || text.emptyNote;

const removedAt = (row: StoredRow): number => row.fields.removed?.live[0]?.at[0] ?? 0;
