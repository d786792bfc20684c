/**
 * Small signs that never stand alone: each has its word beside it, and each has a form of its own, since the colours of
 * good and stop, and of stop and bobbin, meet for some eyes.
 */
import type { ComponentChildren } from 'preact';
import './signs.css';

/** A triangle on hatching. */
export function CautionSign() {
  return (
    <svg class="sign caution" viewBox="0 0 32 32" aria-hidden="true">
      <path class="hatching" d="M1 9 9 1M1 20 20 1M1 31 31 1M12 31 31 12M23 31 31 23" />
      <path class="plate" d="M16 5 28.5 27H3.5Z" />
      <path d="M16 13v6" />
      <circle cx="16" cy="23" r="1.2" />
    </svg>
  );
}

const box = 'M3 3H29V29H3Z';

/** What a result says: a tick in a box, or a crossed box, or a triangle, and the word. */
export function Verdict(props: { kind: 'good' | 'stop' | 'caution'; children: ComponentChildren }) {
  return (
    <p class={`verdict ${props.kind}`}>
      {props.kind === 'caution' ? (
        <CautionSign />
      ) : (
        <svg class="sign" viewBox="0 0 32 32" aria-hidden="true">
          <path d={box + (props.kind === 'good' ? 'M9 17l5 5L24 10' : 'M10 10 22 22M22 10 10 22')} />
        </svg>
      )}
      <span>{props.children}</span>
    </p>
  );
}
