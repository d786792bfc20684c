import type { ComponentChildren } from 'preact';
import './tiles.css';

export type Option = { id: string; label: string; note?: string; picture?: ComponentChildren };

/** A longer word does not fit three in a row on a phone (our choice, by the letters of B612 at 17 px). */
const longWord = /[\p{L}\p{N}]{8}/u;

/** The class of a row of answers; one with a long word in it gives each more room. */
export const tilesClass = (size: 'face' | 'tile' | 'chip', of: readonly { readonly label: string }[]): string =>
  ['tiles', ...(size === 'tile' ? [] : [size]), ...(of.some((o) => longWord.test(o.label)) ? ['wide'] : [])].join(' ');

/**
 * A row of answers: one may be chosen, or several with `many`. Tapping a chosen one takes it back, so every question
 * can be left open. "Can't tell" and its like are options as the others, last in the list and of the same size.
 * `size`: 'face' 120 px for choices by picture, 'tile' 72 px, 'chip' 48 px. The legend is read aloud even when unseen.
 */
export function TileRow(props: {
  name: string;
  legend: string;
  options: readonly Option[];
  chosen: readonly string[];
  onChoose: (id: string, chosen: boolean) => void;
  many?: boolean;
  size?: 'face' | 'tile' | 'chip';
  hideLegend?: boolean;
}) {
  const { name, legend, options, chosen, onChoose, many, size = 'tile', hideLegend } = props;
  return (
    <fieldset class={tilesClass(size, options)}>
      <legend class={hideLegend ? 'unseen' : undefined}>{legend}</legend>
      <div class="row">
        {options.map((option) => (
          <Tile
            key={option.id}
            name={name}
            option={option}
            many={many}
            chosen={chosen.includes(option.id)}
            onChoose={(on) => onChoose(option.id, on)}
          />
        ))}
      </div>
    </fieldset>
  );
}

/** One answer, a radio button or a tick box in a frame that is all target. Stands in a `TileRow`. */
export function Tile(props: {
  name: string;
  option: Option;
  chosen: boolean;
  onChoose: (chosen: boolean) => void;
  many?: boolean;
}) {
  const { name, option, chosen, onChoose, many } = props;
  return (
    <label class="tile">
      <input
        type={many ? 'checkbox' : 'radio'}
        name={name}
        value={option.id}
        checked={chosen}
        onChange={(e) => e.currentTarget.checked !== chosen && onChoose(e.currentTarget.checked)}
        onClick={() => !many && chosen && onChoose(false)}
      />
      {option.picture}
      <span>
        {option.label}
        {option.note && <small>{option.note}</small>}
      </span>
    </label>
  );
}

/** Answers given so far; tapping one opens its question again. */
export function Chips(props: {
  label: string;
  chips: readonly { id: string; label: string }[];
  onOpen: (id: string) => void;
}) {
  return (
    <ul class="chips" aria-label={props.label}>
      {props.chips.map((chip) => (
        <li key={chip.id}>
          <button type="button" class="small-act" onClick={() => props.onOpen(chip.id)}>
            {chip.label}
          </button>
        </li>
      ))}
    </ul>
  );
}

/** A setting that is on or off, the words at the left and the tick in its box at the right. */
export function Switch(props: { label: string; note?: string; on: boolean; onSwitch: (on: boolean) => void }) {
  return (
    <label class="switch">
      <span>
        {props.label}
        {props.note && <small>{props.note}</small>}
      </span>
      <input type="checkbox" checked={props.on} onChange={(e) => props.onSwitch(e.currentTarget.checked)} />
    </label>
  );
}
