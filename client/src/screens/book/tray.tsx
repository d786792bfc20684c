/** What was removed in the last 30 days. Nothing here is gone: a new value brings a record back. */
import type { Intent } from '../../app';
import { isHidden, type Json, type Row as StoredRow, shown } from '../../read';
import { text } from '../../text/book';
import { when } from '../../text/shell';
import { Card, Row } from '../../ui/card';
import { AtPlace } from '../place';
import type { ScreenProps } from '../shell';

const trayMs = 30 * 24 * 3600 * 1000;

/** Removes a record, with the way back. */
export function removal(row: StoredRow, goTo?: string): Intent {
  const seen = Object.entries(row.fields)
    .filter(([field]) => field !== 'removed')
    .flatMap(([, f]) => f.live.map((v) => v.dot));
  return {
    type: 'write',
    drafts: [{ kind: row.kind, id: row.id, set: { removed: { seen: seen as Json[] } } }],
    goTo,
    undo: [back(row)],
  };
}

/** A value written anew stands outside every removal's list. */
function back(row: StoredRow) {
  const field = Object.keys(row.fields).find((f) => f !== 'removed' && f !== 'zone') ?? 'zone';
  return { kind: row.kind, id: row.id, set: { [field]: shown(row, field) as Json } };
}

export function Tray({ state, send }: ScreenProps) {
  const now = Date.now();
  const gone = ['note', 'recipe'].flatMap((kind) =>
    [...(state.rows.get(kind)?.values() ?? [])].filter((r) => isHidden(r) && now - removedAt(r) < trayMs),
  );
  return (
    <AtPlace state={state} place="book">
      <h1>{text.tray}</h1>
      <Card>
        {gone.map((r) => (
          <Row
            key={r.id}
            title={String(shown(r, 'name') ?? shown(r, 'text') ?? '').slice(0, 80) || text.emptyNote}
            detail={text.bringBack}
            end={when(removedAt(r))}
            onOpen={() => send({ type: 'write', drafts: [back(r)] })}
          />
        ))}
      </Card>
      <a class="button" href="/book">
        {text.done}
      </a>
    </AtPlace>
  );
}

const removedAt = (row: StoredRow): number => row.fields.removed?.live[0]?.at[0] ?? 0;
