import type { ComponentChildren } from 'preact';

/** Two columns on a desk; on a phone and a tablet the second follows the first. */
export function Columns({ left, right }: { left: ComponentChildren; right: ComponentChildren }) {
  return (
    <div class="columns">
      <div class="column">{left}</div>
      <div class="column">{right}</div>
    </div>
  );
}
