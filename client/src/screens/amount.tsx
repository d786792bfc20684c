/**
 * A number or a size of a record, typed as people type it. What can be used is written when the person goes on; what
 * can't stays as it was typed, with a sentence that says what to do.
 */
import { useEffect, useState } from 'preact/hooks';
import { type LengthUnit, parseNumber, parseSize, type SizeFault } from '../domain/units';
import { find, shown } from '../read';
import { faultWords, length, number } from '../text/sizes';
import { Field } from '../ui/field';
import type { ScreenProps } from './shell';
import { useForm } from './typed';

/** `per`: how many of what the record keeps make one of what is typed; for sizes one millimetre. Bounds in what is typed, sizes in mm. */
export type Amount = { readonly size?: boolean; readonly per: number; readonly least: number; readonly most: number };

type Place = { readonly kind: string; readonly id: string; readonly field: string };

/** Reads a text by its bounds: a whole number as the record keeps it, or what is wrong. */
export function readAmount(typed: string, a: Amount, plain: LengthUnit): { kept: number } | { fault: SizeFault } {
  const read = a.size ? parseSize(typed, plain, a) : parseNumber(typed, a);
  if ('fault' in read) return read;
  if (a.per === 1 && 'number' in read && !Number.isInteger(read.number)) return { fault: 'not-whole' };
  return { kept: Math.round(('um' in read ? read.um / 1000 : read.number) * a.per) };
}

/** What is found typed under this key with nobody in the field, as after a flat battery, is as good as left. */
export function useFound(found: string | undefined, inside: boolean, leave: () => void): void {
  // only when it is found: what is typed here is left by hand
  useEffect(() => {
    if (found !== undefined && !inside) leave();
  }, [found]);
}

export function AmountField(
  props: ScreenProps & { place: Place; amount: Amount; label: string; hint?: string; unit?: string; usual?: number },
) {
  const { state, send, place, amount, label, hint, unit, usual } = props;
  const { kind, id, field } = place;
  const [typed, setTyped, key] = useForm(props, `${kind}-${id}`, field);
  const [inside, setInside] = useState(false);
  const { units } = state.settings;
  const kept = shown(find(state.rows, kind, id), field);
  const show = (n: number) => (amount.size ? length(n, units) : number(n, 3));
  const stands = typeof kept === 'number' ? show(kept / amount.per) : usual === undefined ? '' : show(usual);
  const drafted = state.drafts.has(key);
  const read = readAmount(typed, amount, units === 'in' ? 'in' : 'mm');
  const fault = drafted && !inside && 'fault' in read && read.fault !== 'empty' ? read.fault : undefined;
  const leave = () => {
    setInside(false);
    if (!drafted) return;
    if ('kept' in read) send({ type: 'write', drafts: [{ kind, id, set: { [field]: read.kept } }], used: [key] });
    else if (read.fault === 'empty')
      send({ type: 'write', drafts: [{ kind, id, set: { [field]: null } }], used: [key] });
  };
  useFound(drafted ? key : undefined, inside, leave);
  return (
    <Field
      label={label}
      hint={hint}
      kind={amount.size ? 'text' : 'number'} // the number keyboard has no letters for a unit
      unit={unit}
      value={drafted ? typed : stands}
      error={fault && faultWords(fault, show(amount.least), show(amount.most))}
      onInput={(t) => {
        setInside(true);
        setTyped(t);
      }}
      onLeave={leave}
    />
  );
}
