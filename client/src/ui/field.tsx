import { useId } from 'preact/hooks';
import './field.css';

/**
 * A field with its label, an optional hint, and one sentence when what stands in it can't be used. `kind` 'number' opens
 * the number keyboard but stays text, so that nothing typed is thrown away; 'long' is several lines; 'code' keeps
 * spelling help away. `onLeave` fires when the person goes on. `count` is the room left,
 * only said: what is typed beyond it stays in the field.
 */
export function Field(props: {
  label: string;
  value: string;
  onInput: (value: string) => void;
  onLeave?: () => void;
  kind?: 'text' | 'number' | 'long' | 'code' | 'search';
  hint?: string;
  error?: string;
  unit?: string;
  count?: string;
}) {
  const { label, value, onInput, onLeave, kind = 'text', hint, error, unit, count } = props;
  const id = useId();
  const about = [hint && `${id}-hint`, error && `${id}-error`].filter(Boolean).join(' ');
  const common = {
    id,
    value,
    'aria-describedby': about || undefined,
    'aria-invalid': error ? true : undefined,
    onBlur: onLeave,
  };
  return (
    <div class={error ? 'field wrong' : 'field'}>
      <label for={id}>{label}</label>
      {hint && <small id={`${id}-hint`}>{hint}</small>}
      {kind === 'long' ? (
        <textarea {...common} rows={5} onInput={(e) => onInput(e.currentTarget.value)} />
      ) : (
        <span class="entry">
          <input
            {...common}
            type="text"
            inputMode={kind === 'number' ? 'decimal' : kind === 'search' ? 'search' : undefined}
            autoComplete="off"
            autoCapitalize={kind === 'code' ? 'characters' : undefined}
            spellcheck={kind === 'code' ? false : undefined}
            class={kind === 'code' ? 'code' : undefined}
            onInput={(e) => onInput(e.currentTarget.value)}
          />
          {unit && <span>{unit}</span>}
        </span>
      )}
      {count && <small>{count}</small>}
      {error && (
        <p id={`${id}-error`} role="alert">
          {error}
        </p>
      )}
    </div>
  );
}
