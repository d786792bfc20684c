/** Fields whose words are kept as they are typed: of a record, or of a form that is no record yet. */
import { find, formKind, shown } from '../read';
import { Field } from '../ui/field';
import type { ScreenProps } from './shell';

/** A text field of a record, written when the person goes on. */
export function Words({
  state,
  send,
  kind,
  id,
  field,
  label,
  hint,
  long,
}: ScreenProps & { kind: string; id: string; field: string; label: string; hint?: string; long?: boolean }) {
  const typed = state.drafts.get(`${kind}/${id}/${field}`);
  const kept = shown(find(state.rows, kind, id), field);
  return (
    <Field
      label={label}
      hint={hint}
      kind={long ? 'long' : 'text'}
      value={typed ?? (typeof kept === 'string' ? kept : '')}
      onInput={(t) => send({ type: 'typed', kind, id, field, text: t })}
      onLeave={() => send({ type: 'left-field', kind, id, field })}
    />
  );
}

/** Under which a text of a form is kept until the form is used. */
export const formKey = (id: string, field: string): string => `${formKind}/${id}/${field}`;

/** A text of a form: what it is, how it is changed, and its key. */
export function useForm({ state, send }: ScreenProps, id: string, field: string) {
  const place = { kind: formKind, id, field } as const;
  const key = formKey(id, field);
  const put = (words: string) => send({ type: 'typed', ...place, text: words });
  return [state.drafts.get(key) ?? '', put, key] as const;
}
