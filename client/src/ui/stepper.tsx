import type { ComponentChildren } from 'preact';
import './stepper.css';

export type StepButton = { label: string; onStep: () => void; disabled?: boolean };

/**
 * Buttons that set a value, less on the left and more on the right: the normal step large, the small step under it.
 * `value` stands above them and is read aloud when it changes. With `hidden: true` it is only read.
 */
export function Stepper(props: {
  label: string;
  less: StepButton;
  more: StepButton;
  lessSmall?: StepButton;
  moreSmall?: StepButton;
  value?: ComponentChildren;
  hidden?: boolean;
}) {
  const { label, less, more, lessSmall, moreSmall, value, hidden } = props;
  return (
    <fieldset class="stepper">
      <legend class="unseen">{label}</legend>
      {value !== undefined && <output class={hidden ? 'unseen' : undefined}>{value}</output>}
      <Step {...less} size="paired" />
      <Step {...more} size="paired" />
      {lessSmall && <Step {...lessSmall} size="small-act" />}
      {moreSmall && <Step {...moreSmall} size="small-act" />}
    </fieldset>
  );
}

function Step({ label, onStep, disabled, size }: StepButton & { size: string }) {
  return (
    <button type="button" class={size} disabled={disabled} onClick={onStep}>
      {label}
    </button>
  );
}
