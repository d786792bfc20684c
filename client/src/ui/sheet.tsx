import type { ComponentChildren } from 'preact';
import { useEffect, useId, useRef } from 'preact/hooks';
import './sheet.css';

/** A card over the screen that asks one thing. Mounted means open; Escape, the close button and `onClose` are one act. */
export function Sheet(props: { title: string; close: string; onClose: () => void; children: ComponentChildren }) {
  const id = useId();
  const dialog = useRef<HTMLDialogElement>(null);
  useEffect(() => {
    const open = dialog.current;
    const before = document.activeElement;
    open?.showModal();
    return () => {
      open?.close();
      // taken from the page before it is closed, it can't give the keys back by itself
      if (before instanceof HTMLElement) before.focus({ preventScroll: true });
    };
  }, []);
  return (
    <dialog
      class="sheet"
      ref={dialog}
      aria-labelledby={id}
      onCancel={(e) => {
        e.preventDefault();
        props.onClose();
      }}
    >
      <header>
        <h2 id={id} tabIndex={-1} autofocus>
          {props.title}
        </h2>
        <button type="button" class="small-act quiet" onClick={props.onClose}>
          {props.close}
        </button>
      </header>
      {props.children}
    </dialog>
  );
}
