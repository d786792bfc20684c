/** A note: written as it is typed, with its photos; two versions written apart are both kept. */
import { useEffect, useState } from 'preact/hooks';
import { bothKept, find, limits, list, measure, type Row as StoredRow, shown } from '../../read';
import { text } from '../../text/book';
import { when } from '../../text/shell';
import { BothKept } from '../../ui/both-kept';
import { Card } from '../../ui/card';
import { Field } from '../../ui/field';
import { PhotoView } from '../../ui/photo-view';
import { machineName } from '../book';
import { FileDoor } from '../file-door';
import { AtPlace } from '../place';
import type { ScreenProps } from '../shell';

export function Note(props: ScreenProps & { id: string }) {
  const { state, send, id } = props;
  const row = find(state.rows, 'note', id);
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
      <p class="small-text">
        {text.about}: {about.join(', ')}
      </p>
      {row && bothKept(row).includes('text') && <Versions {...props} row={row} />}
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
          : row?.base
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
        {row && (
          <button type="button" onClick={() => send({ type: 'remove', kind: 'note', id, goTo: '/book' })}>
            {text.remove}
          </button>
        )}
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

function personName(state: ScreenProps['state'], by: string): string {
  if (by === state.person || by === '') return text.me;
  return String(shown(find(state.rows, 'person', by), 'name') ?? text.someone);
}

function Versions({ state, send, id, row }: ScreenProps & { id: string; row: StoredRow }) {
  const live = (row.fields.text?.live ?? []).filter((v) => v.value !== undefined);
  const [a, b] = live;
  if (!a || !b) return null;
  const kept = (v: typeof a) => ({
    id: v.dot,
    who: personName(state, v.by),
    when: when(v.at[0]),
    text: String(v.value),
  });
  const put = (t: string, dots: string[]) =>
    send({ type: 'write', drafts: [{ kind: 'note', id, set: { text: t }, over: { text: dots } }] });
  return (
    <BothKept
      title={text.both}
      values={[kept(a), kept(b)]}
      differs={text.differs}
      keepBoth={{ label: text.keepBoth, onKeep: () => put(`${String(a.value)}\n${String(b.value)}`, [a.dot, b.dot]) }}
      keepOne={(v) => text.keepThis(v.who)}
      onKeepOne={(dot) => put(String(live.find((v) => v.dot === dot)?.value), [a.dot, b.dot])}
    />
  );
}

export function Photos({ state, send, parentKind, parent }: ScreenProps & { parentKind: string; parent: string }) {
  const photos = list(state.rows, 'photo').filter((p) => shown(p, 'parent') === parent);
  return (
    <Card>
      {photos.map((p) => (
        <Photo key={p.id} {...{ state, send }} row={p} />
      ))}
      <FileDoor
        label={text.photo}
        accept="image/*"
        onFile={(file) => send({ type: 'photo', parentKind, parent, file })}
      />
    </Card>
  );
}

function Photo({ state, row }: ScreenProps & { row: StoredRow }) {
  const [src, setSrc] = useState<string>();
  const sha = String(shown(row, 'sha256') ?? '');
  useEffect(() => {
    let url: string | undefined;
    let gone = false;
    void state.photoOf(sha).then((p) => {
      if (!p || gone) return;
      url = URL.createObjectURL(new Blob([p.bytes], { type: p.type }));
      setSrc(url);
    });
    return () => {
      gone = true;
      if (url) URL.revokeObjectURL(url);
    };
  }, [sha, state.photoOf]);
  return (
    <PhotoView
      src={src}
      alt={text.photoAlt}
      width={Number(shown(row, 'width') ?? 4)}
      height={Number(shown(row, 'height') ?? 3)}
      missing={text.photoMissing}
    />
  );
}
