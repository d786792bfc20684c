/** What a note is about: machine, bobbin case, quilt and threads. Those that are set up now are a tap away. */

import { type Row, shown } from '../../read';
import type { State } from '../../state';
import { text } from '../../text/book';
import { TileRow } from '../../ui/tiles';
import type { ScreenProps } from '../shell';
import { nameOf } from './search';

type About = { readonly id: string; readonly field: string; readonly value: string; readonly label: string };

/** What is set up on the machine now, as far as it has a name. */
export function aboutNow({ machine, ctx, rows }: State, more: readonly (readonly [string, unknown])[] = []): About[] {
  const { bobbinCase, quilt, topThread, bobbinThread } = ctx.bench;
  const all: readonly (readonly [field: string, id: unknown])[] = [
    ['machine', machine],
    ['bobbinCase', bobbinCase],
    ['quilt', quilt],
    ['thread', topThread],
    ['thread', bobbinThread],
    ...more,
  ];
  const named = all.map(([field, id]): [string, About] => {
    const value = typeof id === 'string' ? id : '';
    return [`${field}/${value}`, { id: `${field}/${value}`, field, value, label: nameOf(rows, field, value) }];
  });
  return [...new Map(named).values()].filter((a) => a.label !== '');
}

const fields = ['machine', 'bobbinCase', 'quilt', 'thread'] as const;

export function NoteAbout({ state, send, row }: ScreenProps & { row: Row }) {
  const own = fields.map((f) => [f, shown(row, f)] as const);
  const options = aboutNow(state, own);
  return (
    <TileRow
      name="about"
      legend={text.about}
      many
      size="chip"
      options={options}
      chosen={own.map(([f, id]) => `${f}/${id}`)}
      onChoose={(id, on) => {
        const a = options.find((o) => o.id === id);
        if (a) send({ type: 'write', drafts: [{ kind: 'note', id: row.id, set: { [a.field]: on ? a.value : '' } }] });
      }}
    />
  );
}

/** Only those notes that are about one thing; chosen again, all. */
export function OnlyAbout(props: ScreenProps & { notes: readonly Row[]; only: string; onOnly: (id: string) => void }) {
  const { state, notes, only, onOnly } = props;
  const options = aboutNow(state).filter((a) => notes.some((n) => shown(n, a.field) === a.value));
  if (options.length === 0) return null;
  return (
    <TileRow
      name="only"
      legend={text.only}
      size="chip"
      options={options}
      chosen={[only]}
      onChoose={(id, on) => onOnly(on ? id : '')}
    />
  );
}
