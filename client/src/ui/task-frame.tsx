import type { ComponentChildren } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { CautionSign } from './signs';
import { useTop } from './use-top';
import './task-frame.css';

export type MainAct = { label: string; onPress: (event: Event) => void; disabled?: boolean };

const advances = new Set([' ', 'Enter', 'PageDown', 'ArrowRight', 'ArrowDown']);
const takesKeys = 'button, a, input, textarea, select, label, dialog, [tabindex]:not(h1)';

/**
 * One step of a task, full screen: one instruction, one picture, one main act in the same place on every step.
 * - `step` names the step: when it changes the page is at its top and the heading takes the focus, so that it is read aloud.
 * - `main` is 88 px tall at the foot; with `lowerHalf` the whole lower half of the screen presses it (the right half when
 *   the phone lies on its side). Only for steps with no other controls there. Space, Enter, Page Down and the right and
 *   down arrows press it too, unless a control or a page longer than the screen wants the key.
 * - `stop` stands at the top left and stays live while anything runs; `leave` at the top right keeps the place.
 * - `title` names the task and `back` leads to the step before; both stand in the top line. With `help` the title opens it.
 * - `caution` is the short line that stays on each step that needs it.
 */
export function TaskFrame(props: {
  step: string;
  heading: string;
  title?: string;
  help?: { label: string; onOpen: () => void };
  back?: { label: string; onBack: () => void };
  main?: MainAct;
  lowerHalf?: boolean;
  leave?: { label: string; onLeave: () => void };
  stop?: { label: string; onStop: () => void };
  caution?: string;
  /** One line about what was done before, shown on coming back. */
  done?: string;
  picture?: ComponentChildren;
  children?: ComponentChildren;
}) {
  const { step, heading, title, help, back, main, lowerHalf, leave, stop, caution, done, picture, children } = props;
  const head = useRef<HTMLHeadingElement>(null);
  useTop(step);
  useEffect(() => {
    head.current?.focus({ preventScroll: true });
  }, [step]);
  useEffect(() => {
    if (!main || main.disabled) return;
    const press = (e: KeyboardEvent) => {
      if (e.defaultPrevented || e.repeat || e.ctrlKey || e.metaKey || e.altKey || !advances.has(e.key)) return;
      if (e.target instanceof Element && e.target.closest(takesKeys)) return;
      const page = document.scrollingElement;
      if (page && e.key !== 'Enter' && page.scrollHeight > page.clientHeight + 1) return; // the key is for reading on
      e.preventDefault();
      main.onPress(e);
    };
    document.addEventListener('keydown', press);
    return () => document.removeEventListener('keydown', press);
  }, [main]);
  return (
    <main class={`task${children ? ' with-controls' : ''}${picture ? ' with-picture' : ''}`}>
      <header class={title ? 'titled' : undefined}>
        {stop && (
          <button type="button" class="small-act stop-act" onClick={stop.onStop}>
            {stop.label}
          </button>
        )}
        {back && (
          <button type="button" class="small-act quiet back-act" onClick={back.onBack}>
            {back.label}
          </button>
        )}
        {title && !help && <p class="task-title">{title}</p>}
        {title && help && (
          <button
            type="button"
            class="task-title"
            aria-label={`${help.label}: ${title}`}
            aria-haspopup="dialog"
            onClick={help.onOpen}
          >
            <b aria-hidden="true">?</b>
            <span>{title}</span>
          </button>
        )}
        {caution && (
          <p class="caution-line">
            <CautionSign />
            <span>{caution}</span>
          </p>
        )}
        {leave && (
          <button type="button" class="small-act quiet leave-act" onClick={leave.onLeave}>
            {leave.label}
          </button>
        )}
      </header>
      <div class="say">
        {done && <p class="done-line">{done}</p>}
        <h1 ref={head} tabIndex={-1}>
          {heading}
        </h1>
      </div>
      {picture && <div class="picture">{picture}</div>}
      {children && <div class="controls">{children}</div>}
      {main && (
        <footer>
          <button
            type="button"
            class={lowerHalf ? 'main-act lower-half' : 'main-act'}
            disabled={main.disabled}
            onClick={main.onPress}
          >
            {main.label}
          </button>
        </footer>
      )}
    </main>
  );
}
