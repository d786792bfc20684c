import type { ComponentChildren } from 'preact';
import { useState } from 'preact/hooks';

/**
 * An act that can't be taken back: its button asks first, in its own place, and says what it does. Anything that can be
 * taken back is done at once instead.
 */
export function Sure(props: {
  label: string;
  question: ComponentChildren;
  yes: string;
  no: string;
  onYes: () => void;
}) {
  const [asked, setAsked] = useState(false);
  if (!asked)
    return (
      <button type="button" class="small-act" onClick={() => setAsked(true)}>
        {props.label}
      </button>
    );
  return (
    <div class="notice stop" role="alert">
      <p>{props.question}</p>
      <div class="acts">
        <button
          type="button"
          class="small-act"
          onClick={() => {
            setAsked(false);
            props.onYes();
          }}
        >
          {props.yes}
        </button>
        <button type="button" class="small-act" onClick={() => setAsked(false)}>
          {props.no}
        </button>
      </div>
    </div>
  );
}
