/** A note: written as it is typed, with its photos; two versions written apart are both kept. */
import { bothKept, find, limits, list, measure, shown } from '../../read';
import { text } from '../../text/book';
import { text as shellText } from '../../text/shell';
import { Card } from '../../ui/card';
import { Field } from '../../ui/field';
import { machineName } from '../book';
import { FileDoor } from '../file-door';
import { Photo } from '../photo';
import { AtPlace } from '../place';
import type { ScreenProps } from '../shell';
import { Versions } from './versions';

export function Note(props: ScreenProps & { id: string }) {
  const { state, send, id } = props;
  const row = find(state.rows, 'note', id);
  if (!row)
    return (
      <AtPlace state={state} place="book">
        <h1>{text.note}</h1>
        <p>{shellText.opening}</p>
      </AtPlace>
    );
  const key = `note/${id}/text`;
  const typed = state.drafts.get(key);
  const value = typed ?? String(shown(row, 'text') ?? '');
  const size = measure(value);
  const fits = size.units <= limits.noteUnits && size.bytes <= limits.noteBytes;
  const about = ['machine', 'bobbinCase', 'quilt', 'thread', 'recipe']
    .map((k) => nameOf(state, k, shown(row, k)))
    .filter(Boolean);
  return (
    <AtPlace state={state} place="book">
      <h1>{text.note}</h1>
      {about.length > 0 && (
        <p class="small-text">
          {text.about}: {about.join(', ')}
        </p>
      )}
      {bothKept(row).includes('text') && <Versions {...props} row={row} field="text" />}
      <Field
        label={text.write}
        kind="long"
        value={value}
        count={size.units > limits.noteUnits - 2000 ? text.left(Math.max(0, limits.noteUnits - size.units)) : undefined}
        error={fits ? undefined : text.tooLong}
        onInput={(t) => send({ type: 'typed', kind: 'note', id, field: 'text', text: t })}
        onLeave={() => send({ type: 'left-field', kind: 'note', id, field: 'text' })}
      />
      <p class="small-text" role="status">
        {typed !== undefined
          ? text.draft
          : row.base
            ? state.link.joined
              ? text.waiting
              : text.onPhone
            : state.link.joined
              ? text.withStudio
              : text.onPhone}
      </p>
      <Photos {...props} parentKind="note" parent={id} />
      <div class="acts">
        <a class="button" href="/book">
          {text.done}
        </a>
        <button type="button" onClick={() => send({ type: 'remove', kind: 'note', id, goTo: '/book' })}>
          {text.remove}
        </button>
      </div>
    </AtPlace>
  );
}

function nameOf(state: ScreenProps['state'], kind: string, id: unknown): string {
  if (typeof id !== 'string' || id === '') return '';
  if (kind === 'machine') return machineName(state.rows, id);
  const row = find(state.rows, kind, id);
  return String(shown(row, 'label') ?? shown(row, 'name') ?? shown(row, 'number') ?? '');
}

export function Photos({ state, send, parentKind, parent }: ScreenProps & { parentKind: string; parent: string }) {
  const photos = list(state.rows, 'photo').filter((p) => shown(p, 'parent') === parent);
  return (
    <Card>
      {photos.map((p) => (
        <Photo key={p.id} row={p} photoOf={state.photoOf} alt={text.photoAlt} />
      ))}
      <FileDoor
        label={text.photo}
        accept="image/*"
        onFile={(file) => send({ type: 'photo', parentKind, parent, file })}
      />
    </Card>
  );
}
