import { diffLines } from './line-diff';
import './both-kept.css';

/** One of two values that were written apart: `id` names it to the caller, `who` and `when` are shown above it. */
export type KeptValue = { id: string; who: string; when: string; text: string };

/**
 * Two texts of one field, both kept until a person decides: newest first, lines that differ carry a bar and a word for
 * screen readers (`differs`). "Keep both" stands first. More than two values are settled two at a time.
 */
export function BothKept(props: {
  title: string;
  values: readonly [KeptValue, KeptValue];
  differs: string;
  keepBoth?: { label: string; onKeep: () => void };
  keepOne: (value: KeptValue) => string;
  onKeepOne: (id: string) => void;
}) {
  const { title, values, differs, keepBoth, keepOne, onKeepOne } = props;
  const sides = diffLines(values[0].text, values[1].text);
  return (
    <section class="both-kept">
      <h2>{title}</h2>
      {keepBoth && (
        <button type="button" class="paired" onClick={keepBoth.onKeep}>
          {keepBoth.label}
        </button>
      )}
      {values.map((value, i) => (
        <article key={value.id}>
          <header>
            <b>{value.who}</b> <span>{value.when}</span>
          </header>
          {sides[i]?.map((line, at) => (
            <p key={`${at}-${line.text}`} class={line.same ? undefined : 'differs'}>
              {!line.same && <span class="unseen">{differs}: </span>}
              {line.text || '\u00a0'}
            </p>
          ))}
          <button type="button" onClick={() => onKeepOne(value.id)}>
            {keepOne(value)}
          </button>
        </article>
      ))}
    </section>
  );
}
