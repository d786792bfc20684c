/** The controls that every step is built of: answers, steppers, fields and small acts, each drawn from an offer. */
import type { ComponentChildren } from 'preact';
import { useState } from 'preact/hooks';
import type { Offer } from '../../domain/task';
import { text } from '../../text/task-screen';
import { Field } from '../../ui/field';
import { Sheet } from '../../ui/sheet';
import { tilesClass } from '../../ui/tiles';
import { pairs, pickOf } from './layout';
import type { StepProps } from './parts';

type Draw = Pick<StepProps, 'words' | 'press'>;

/**
 * Answers as buttons: a tap acts at once, which a radio button under the arrow keys must not do. `state` rows say which are
 * chosen. `size` as in TileRow: face 120 px, tile 72 px, chip 56 px.
 */
export function Choices(
  props: Draw & {
    offers: readonly Offer[];
    legend: string;
    showLegend?: boolean;
    size?: 'face' | 'tile' | 'chip';
    state?: boolean;
    picture?: (value: string) => ComponentChildren;
    note?: (value: string) => string | undefined;
  },
) {
  const { offers, legend, showLegend, size = 'tile', state, picture, note, words, press } = props;
  if (offers.length === 0) return null;
  const pressable = state || offers.some((o) => o.on);
  return (
    <fieldset
      class={tilesClass(
        size,
        offers.map((o) => ({ label: words(o) })),
      )}
    >
      <legend class={showLegend ? undefined : 'unseen'}>{legend}</legend>
      <div class="row">
        {offers.map((o) => (
          <button
            key={JSON.stringify(o.action)}
            type="button"
            class="tile choice"
            aria-pressed={pressable ? o.on === true : undefined}
            onClick={(e) => press(o.action, e)}
          >
            {picture?.(pickOf(o))}
            <span>
              {words(o)}
              {note?.(pickOf(o)) && <small>{note(pickOf(o))}</small>}
            </span>
          </button>
        ))}
      </div>
    </fieldset>
  );
}

/**
 * Plus and minus in pairs: the first large, the second small, further ones in the same line as the second. What a button does is
 * its name in full; what stands on it is short. `alike`: all of them small, in one line. `value` is read aloud when it changes.
 */
export function Steps(
  props: Draw & {
    offers: readonly Offer[];
    label: string;
    alike?: boolean;
    short: (by: number) => string;
    value?: string;
    hidden?: boolean;
  },
) {
  const { offers, label, alike, short, value, hidden, words, press } = props;
  const all = pairs(offers);
  const [first, rest] = alike ? [undefined, all] : [all[0], all.slice(1)];
  if (all.length === 0) return null;
  const button = (o: Offer, by: number, size: string) => (
    <button key={by} type="button" class={size} aria-label={words(o)} onClick={(e) => press(o.action, e)}>
      {short(by)}
    </button>
  );
  return (
    <fieldset class="steps">
      <legend class="unseen">{label}</legend>
      {value !== undefined && <output class={hidden ? 'unseen' : undefined}>{value}</output>}
      {first && (
        <div class="pair">
          {button(first.less, -first.by, 'paired')}
          {button(first.more, first.by, 'paired')}
        </div>
      )}
      {rest.length > 0 && (
        <div class="pair small">
          {rest.map((p) => button(p.less, -p.by, 'small-act'))}
          {rest.toReversed().map((p) => button(p.more, p.by, 'small-act'))}
        </div>
      )}
    </fieldset>
  );
}

/** Small acts in a row. */
export function Acts(props: Draw & { offers: readonly Offer[]; children?: ComponentChildren }) {
  const { offers, words, press, children } = props;
  if (offers.length === 0 && !children) return null;
  return (
    <div class="acts">
      {offers.map((o) => (
        <button
          key={JSON.stringify(o.action)}
          type="button"
          class="small-act"
          aria-pressed={o.on === undefined ? undefined : o.on}
          onClick={(e) => press(o.action, e)}
        >
          {words(o)}
        </button>
      ))}
      {children}
    </div>
  );
}

/** What is seldom wanted stands on a card of its own, so that the step keeps to one thing. */
export function More({ offers, words, press }: Draw & { offers: readonly Offer[] }) {
  const [open, setOpen] = useState(false);
  if (offers.length === 0) return null;
  return (
    <>
      <button type="button" class="small-act more-act" aria-haspopup="dialog" onClick={() => setOpen(true)}>
        {text.more}
      </button>
      {open && (
        <Sheet title={text.other} close={text.close} onClose={() => setOpen(false)}>
          <div class="stack">
            {offers.map((o) => (
              <button
                key={JSON.stringify(o.action)}
                type="button"
                onClick={(e) => {
                  setOpen(false);
                  press(o.action, e);
                }}
              >
                {words(o)}
              </button>
            ))}
          </div>
        </Sheet>
      )}
    </>
  );
}

/** A text field that shows what is typed at once; the task hears of it as it is typed. Mount one for each step. */
export function Typed({
  offer,
  words,
  type,
  long,
}: Pick<StepProps, 'words' | 'type'> & { offer: Offer; long?: boolean }) {
  const [value, setValue] = useState(offer.action.do === 'type' ? offer.action.text : '');
  const of = offer.action.do === 'type' ? offer.action.of : undefined;
  return (
    <Field
      label={words(offer)}
      kind={long ? 'long' : 'text'}
      value={value}
      onInput={(v) => {
        setValue(v);
        type(v, of);
      }}
    />
  );
}

/** A number with at most one digit after the point, typed; what can't be read as one is left standing and not taken. */
export function TypedNumber(props: {
  label: string;
  tenths: number | undefined;
  shown: string;
  onSet: (tenths: number) => void;
}) {
  const { label, tenths, shown, onSet } = props;
  const [typed, setTyped] = useState<string>();
  const mine = typed !== undefined && tenthsOf(typed) === tenths ? typed : undefined;
  return (
    <Field
      label={label}
      kind="number"
      value={mine ?? (typed !== undefined && tenthsOf(typed) === undefined ? typed : shown)}
      onInput={(v) => {
        setTyped(v);
        const to = tenthsOf(v);
        if (to !== undefined) onSet(to);
      }}
      onLeave={() => setTyped(undefined)}
    />
  );
}

/** "3", "3.5", "3,5" as tenths; undefined for anything else. */
export function tenthsOf(typed: string): number | undefined {
  const m = /^\s*(\d{1,4})(?:[.,](\d)?)?\s*$/.exec(typed);
  return m ? Number(m[1]) * 10 + Number(m[2] ?? '0') : undefined;
}
