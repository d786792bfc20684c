/** A note: written as it is typed, with its photos; two versions written apart are both kept. */
import { bothKept, find, limits, list, measure, type Row, shown } from '../../read';
import { text } from '../../text/book';
import { text as frameText } from '../../text/frame';
import { text as shellText, when } from '../../text/shell';
import { Card } from '../../ui/card';
import { Field } from '../../ui/field';
import { FileDoor } from '../file-door';
import { Photo } from '../photo';
import { AtPlace } from '../place';
import { Removed } from '../removed';
import type { ScreenProps } from '../shell';
import { NoteAbout } from './about';
import { Earlier } from './earlier';
import { KeptWhere } from './kept-where';
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
  const drop = dropBefore(state, row);
  return (
    <AtPlace state={state} place="book">
      <h1>{text.note}</h1>
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
      <KeptWhere {...props} row={row} typed={typed !== undefined} />
      <NoteAbout {...props} row={row} />
      {drop && (
        <p class="small-text">
          {text.lastDrop}: {drop}
        </p>
      )}
      <Photos {...props} parentKind="note" parent={id} />
      <Earlier {...props} kind="note" id={id} field="text" />
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

/** The last drop of this machine that a note written then could have meant. */
function dropBefore({ ctx, machine, settings }: ScreenProps['state'], row: Row): string | undefined {
  if (shown(row, 'machine') !== machine) return undefined;
  const bobbinCase = shown(row, 'bobbinCase');
  const r = ctx.readings.findLast(
    (x) => ['drop', 'finger'].includes(x.type) && x.at <= row.t && (!bobbinCase || x.bobbinCase === bobbinCase),
  );
  return r && `${frameText.reading(r.type, r.drops, r.answer, r.fill, settings.units)}, ${when(r.at)}`;
}

export function Photos({ state, send, parentKind, parent }: ScreenProps & { parentKind: string; parent: string }) {
  const photos = list(state.rows, 'photo').filter((p) => shown(p, 'parent') === parent);
  return (
    <Card>
      <Removed {...{ state, send }} />
      {photos.map((p) => (
        <div key={p.id}>
          <Photo row={p} photoOf={state.photoOf} alt={text.photoAlt} />
          <button
            type="button"
            class="small-act quiet"
            onClick={() => send({ type: 'remove', kind: 'photo', id: p.id })}
          >
            {text.removePhoto}
          </button>
        </div>
      ))}
      <FileDoor
        label={text.photo}
        accept="image/*"
        onFile={(file) => send({ type: 'photo', parentKind, parent, file })}
      />
    </Card>
  );
}
