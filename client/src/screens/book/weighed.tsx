/** A rough tension for those who weighed case and bobbin: kept as typed, never written to a record, never a target. */
import { roughTension } from '../../domain/weighed-drop';
import { faultWords, length } from '../../text/sizes';
import { text } from '../../text/weighed';
import { Card } from '../../ui/card';
import { Columns } from '../../ui/columns';
import { Field } from '../../ui/field';
import { type Amount, readAmount } from '../amount';
import { AtPlace } from '../place';
import type { ScreenProps } from '../shell';
import { useForm } from '../typed';

/** Bounds of what is typed, our own: no case with its bobbin is heavier, no shake falls or slips further. */
const mass: Amount = { per: 10, least: 1, most: 200 };
const fall: Amount = { size: true, per: 1, least: 1, most: 300 };
const slip: Amount = { size: true, per: 10 / 25.4, least: 1, most: 600 };
const form = 'weighed-drop';

export function Weighed(props: ScreenProps) {
  const units = props.state.settings.units === 'mm' ? 'mm' : 'in';
  const entry = (field: string, amount: Amount) => {
    const [typed, onInput] = useForm(props, form, field);
    const read = readAmount(typed, amount, units);
    const show = (n: number) => (amount.size ? length(n, units) : `${n} g`);
    const wrong = 'fault' in read && read.fault !== 'empty' ? read.fault : undefined;
    const error = wrong && faultWords(wrong, show(amount.least), show(amount.most));
    return {
      kept: 'kept' in read ? read.kept : undefined,
      empty: typed.trim() === '',
      field: { value: typed, onInput, error },
    };
  };
  const weight = entry('mass', mass);
  const height = entry('fall', fall);
  const slips = [entry('slip1', slip), entry('slip2', slip), entry('slip3', slip)];
  const lengths = slips.flatMap((s) => (s.kept === undefined ? [] : [s.kept]));
  const whole = slips.every((s) => s.empty || s.kept !== undefined) && lengths.length > 0;
  const rough =
    whole && weight.kept !== undefined && height.kept !== undefined
      ? roughTension({ massG: weight.kept / 10, fallMm: height.kept, slipsTenthsIn: lengths })
      : undefined;
  return (
    <AtPlace state={props.state} place="book">
      <h1>{text.title}</h1>
      <p>{text.about}</p>
      <Columns
        left={
          <Card title={text.weighed}>
            <Field label={text.mass} hint={text.massHint} kind="number" unit="g" {...weight.field} />
            <Field label={text.fall} hint={text.fallHint} {...height.field} />
            {slips.map((s, i) => (
              <Field
                key={text.slips[i]}
                label={text.slips[i] ?? ''}
                hint={i === 0 ? text.slipHint : undefined}
                {...s.field}
              />
            ))}
          </Card>
        }
        right={
          <Card title={text.answer}>
            <div role="status">
              {!rough && <p>{text.wait}</p>}
              {rough && 'fault' in rough && <p>{text.fault(rough.fault)}</p>}
              {rough && !('fault' in rough) && (
                <>
                  <p>
                    <b>{text.about5(rough.fromG, rough.toG)}</b>
                  </p>
                  <p class="small-text">{text.wide}</p>
                </>
              )}
            </div>
            <p class="small-text">{text.noTarget}</p>
          </Card>
        }
      />
      <a class="button" href="/book">
        {text.back}
      </a>
    </AtPlace>
  );
}
