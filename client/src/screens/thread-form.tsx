/** A thread for the shelf: two rows of tiles, and nothing else is asked. */
import { limits } from '../domain/records';
import { newId } from '../read';
import { text } from '../text/bench';
import { Field } from '../ui/field';
import { TileRow } from '../ui/tiles';
import type { ScreenProps } from './shell';
import { useForm } from './typed';

type Thread = Pick<ScreenProps['state']['ctx']['threads'][number], 'id' | 'number' | 'fibre' | 'name' | 'colour'>;

/** A thread to choose: number and fibre, and what tells two of them apart, its own name and its colour. */
export const threadOption = (t: Thread) => ({
  id: t.id,
  label: [t.number, t.fibre].filter(Boolean).join(' ') || text.noThreadName,
  note: t.name || undefined,
  picture: t.colour && <Swatch colour={t.colour} />,
});

export const Swatch = ({ colour }: { colour: string }) => (
  <svg class="swatch" viewBox="0 0 16 16" aria-hidden="true">
    <rect width="16" height="16" fill={colour} />
  </svg>
);

/** `form` names what is typed, so that two forms on one screen are two. `onAdded` is told the thread's id. */
export function ThreadForm(props: ScreenProps & { form: string; onAdded?: (id: string) => void }) {
  const { state, send, form, onAdded } = props;
  const [number, setNumber, numberKey] = useForm(props, form, 'number');
  const [fibre, setFibre, fibreKey] = useForm(props, form, 'fibre');
  const [colour, setColour, colourKey] = useForm(props, form, 'colour');
  const tooLong = number.length > limits.short;
  const add = () => {
    const id = newId();
    const set = { number, fibre, ...(colour ? { colour } : {}), zone: state.ctx.zone };
    send({ type: 'write', drafts: [{ kind: 'thread', id, set }], used: [numberKey, fibreKey, colourKey] });
    onAdded?.(id);
  };
  return (
    <>
      <TileRow
        name={`${form}-number`}
        legend={text.number}
        size="chip"
        options={text.numbers.map((n) => ({ id: n, label: n }))}
        chosen={number === '' ? [] : [number]}
        onChoose={(id, on) => setNumber(on ? id : '')}
      />
      <Field
        label={text.otherNumber}
        value={text.numbers.includes(number) ? '' : number}
        onInput={setNumber}
        error={tooLong ? text.numberTooLong(limits.short) : undefined}
      />
      <TileRow
        name={`${form}-fibre`}
        legend={text.fibre}
        size="chip"
        options={text.fibres.map((f) => ({ id: f, label: f }))}
        chosen={fibre === '' ? [] : [fibre]}
        onChoose={(id, on) => setFibre(on ? id : '')}
      />
      <label class="field">
        <span>{text.colour}</span>
        <input type="color" value={colour || '#808080'} onInput={(e) => setColour(e.currentTarget.value)} />
      </label>
      <button type="button" class="paired wide" disabled={(!number && !fibre) || tooLong} onClick={add}>
        {text.addIt}
      </button>
    </>
  );
}
