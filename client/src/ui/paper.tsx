import type { ComponentChildren } from 'preact';
import { barMm, type Paper as Size } from '../domain/sheet';
import './paper.css';

/**
 * One printed sheet, and what it looks like: black on white, with the bar that shows whether the printer kept the size. What
 * may stand on a card's other side comes `after` it. `dense`: there is much to say on one page.
 */
export function Paper(props: {
  size: Size;
  title: string;
  bar: string;
  dense?: boolean;
  children: ComponentChildren;
  after?: ComponentChildren;
}) {
  const { size, title, bar, dense, children, after } = props;
  return (
    <article class={`paper ${size}-size${dense ? ' dense' : ''}`}>
      <h2>{title}</h2>
      {children}
      <p class="bar">
        <svg viewBox={`0 0 ${barMm} 2`} width={`${barMm}mm`} height="2mm" aria-hidden="true">
          <rect width={barMm} height="2" />
        </svg>
        <span>{bar}</span>
      </p>
      {after}
    </article>
  );
}

/** What is so, line by line: its name, and what there is to say of it. */
export function Facts({ rows }: { rows: readonly (readonly [name: string, words: string])[] }) {
  return (
    <dl class="facts-list">
      {rows.map(([name, words]) => [<dt key={`${name}?`}>{name}</dt>, <dd key={name}>{words}</dd>])}
    </dl>
  );
}
