/** A white screen as a lamp, for a head that is dark once its power is off. It stays on while it is open. */
import { useEffect, useRef, useState } from 'preact/hooks';
import { keepScreenOn } from '../cues/wake-lock';
import { text } from '../text/help';
import './light.css';

/** The button that opens it. */
export function LightDoor() {
  const [on, setOn] = useState(false);
  return (
    <>
      <button type="button" onClick={() => setOn(true)}>
        {text.light}
      </button>
      {on && <Light onClose={() => setOn(false)} />}
    </>
  );
}

function Light({ onClose }: { onClose: () => void }) {
  const dialog = useRef<HTMLDialogElement>(null);
  useEffect(() => {
    const lock = keepScreenOn(() => {});
    const open = dialog.current;
    const before = document.activeElement;
    open?.showModal();
    return () => {
      lock.release();
      open?.close();
      if (before instanceof HTMLElement) before.focus({ preventScroll: true });
    };
  }, []);
  return (
    <dialog class="light" ref={dialog} aria-label={text.light} onClose={onClose}>
      <p>{text.lightFirst}</p>
      <button type="button" onClick={onClose}>
        {text.lightOff}
      </button>
    </dialog>
  );
}
