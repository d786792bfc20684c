import type { ComponentChildren } from 'preact';
import './card.css';

/** A group of things that belong together, under a heading. `act` stands at the heading's end. */
export function Card(props: { title?: string; act?: ComponentChildren; children: ComponentChildren }) {
  return (
    <section class="card">
      {props.title && (
        <header>
          <h2>{props.title}</h2>
          {props.act}
        </header>
      )}
      {props.children}
    </section>
  );
}

/** A line in a list: what it is, what it says, and when or who at its end. With `href` or `onOpen` all of it is target. */
export function Row(props: {
  title: ComponentChildren;
  detail?: ComponentChildren;
  end?: ComponentChildren;
  href?: string;
  onOpen?: () => void;
}) {
  const { title, detail, end, href, onOpen } = props;
  const inside = (
    <>
      <span class="what">
        <b>{title}</b>
        {detail && <span>{detail}</span>}
      </span>
      {end && <span class="end">{end}</span>}
    </>
  );
  if (href)
    return (
      <a class="line" href={href}>
        {inside}
      </a>
    );
  if (onOpen)
    return (
      <button type="button" class="line" onClick={onOpen}>
        {inside}
      </button>
    );
  return <div class="line">{inside}</div>;
}

/** What was done, and the way back. It stays until the next act; nothing here vanishes by itself. */
export function UndoRow(props: { done: string; undo: string; onUndo: () => void }) {
  return (
    <div class="undo" role="status">
      <span>{props.done}</span>
      <button type="button" class="small-act" onClick={props.onUndo}>
        {props.undo}
      </button>
    </div>
  );
}

/** A sentence that stays until it is dealt with: not saved, only on this phone, a new version. Acts are children. */
export function Notice(props: { kind?: 'plain' | 'stop'; text: string; children?: ComponentChildren }) {
  return (
    <div class={`notice ${props.kind ?? 'plain'}`} role={props.kind === 'stop' ? 'alert' : 'status'}>
      <p>{props.text}</p>
      {props.children && <div class="acts">{props.children}</div>}
    </div>
  );
}

/** Figures 88 px tall that never move: room is kept for `places` characters. Silent to screen readers unless named. */
export function Digits(props: { value: string; places: number; label?: string }) {
  return (
    <div class="digits" role="timer" aria-live="off" aria-label={props.label} style={{ minWidth: `${props.places}ch` }}>
      {props.value}
    </div>
  );
}
