/** What two phones set apart on one record: both stay until somebody looks. */
import { bothKept, find, type Json, plain, versions } from '../read';
import { text } from '../text/bench';
import { TileRow } from '../ui/tiles';
import type { ScreenProps } from './shell';

export function Which({
  state,
  send,
  kind,
  id,
  names,
}: ScreenProps & { kind: string; id: string; names: { readonly [field: string]: string } }) {
  const row = find(state.rows, kind, id);
  if (!row) return null;
  const label = (value: Json | undefined): string => {
    if (typeof value !== 'string') return String(value ?? '');
    const named = ['thread', 'bobbinCase', 'quilt'].map((k) => find(state.rows, k, value)).find(Boolean);
    if (!named) return coded[value] ?? value;
    const p = plain(named);
    return String(p.label ?? p.name ?? [p.number, p.fibre].filter(Boolean).join(' '));
  };
  return (
    <>
      {bothKept(row)
        .filter((field) => Object.hasOwn(names, field))
        .map((field) => {
          const values = versions(row, field);
          return (
            <TileRow
              key={field}
              name={`which-${kind}-${field}`}
              legend={text.both(names[field] ?? '')}
              options={values.map((v) => ({ id: v.dots.join(), label: label(v.value) || text.nothing }))}
              chosen={[]}
              onChoose={(id) => {
                const value = values.find((v) => v.dots.join() === id)?.value;
                const over = { [field]: values.flatMap((v) => v.dots) };
                if (value !== undefined) send({ type: 'write', drafts: [{ kind, id, set: { [field]: value }, over }] });
              }}
            />
          );
        })}
    </>
  );
}

/** Words for what fields keep as codes. */
const coded: { readonly [code: string]: string } = {
  ...text.kinds,
  ...text.works,
  ...text.bodies,
  ...text.knobs,
  ...text.ways,
};
