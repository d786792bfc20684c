/** Two texts of one field that were written apart: both are kept until a person joins or picks. */
import { find, type Row, shown, versions } from '../../read';
import { text } from '../../text/book';
import { when } from '../../text/shell';
import { BothKept } from '../../ui/both-kept';
import { Card } from '../../ui/card';
import type { ScreenProps } from '../shell';

export function Versions({ state, send, row, field }: ScreenProps & { row: Row; field: string }) {
  const [a, b] = versions(row, field);
  if (!a || !b) return null;
  const kept = (v: typeof a) => ({
    id: v.dots.join(),
    who: personName(state, v.by),
    when: when(v.at),
    text: String(v.value),
  });
  const put = (t: string) =>
    send({
      type: 'write',
      drafts: [{ kind: row.kind, id: row.id, set: { [field]: t }, over: { [field]: [...a.dots, ...b.dots] } }],
    });
  const joined = field === 'text' && { label: text.keepBoth, onKeep: () => put(`${a.value}\n${b.value}`) };
  return (
    <Card title={field === 'text' ? text.words : text.name}>
      <BothKept
        title={text.both}
        values={[kept(a), kept(b)]}
        differs={text.differs}
        keepBoth={joined || undefined}
        keepOne={(v) => text.keepThis(v.who)}
        onKeepOne={(id) => put(String((id === kept(a).id ? a : b).value))}
      />
    </Card>
  );
}

export function personName(state: ScreenProps['state'], by: string): string {
  if (by === state.person || by === '') return text.me;
  return String(shown(find(state.rows, 'person', by), 'name') ?? text.someone);
}
