/** Opening a copy: what it would bring is said first, and nothing is written until the person says so. */
import { useState } from 'preact/hooks';
import type { State } from '../state';
import { broughtWords, dayOf, type Seen, text } from '../text/copy';
import { copyFiles, FileDoor } from './file-door';
import type { ScreenProps } from './shell';

export function CopyDoor({ state, send, label, look }: ScreenProps & { label: string; look: string }) {
  const [file, setFile] = useState<File>();
  return (
    <>
      <FileDoor
        label={label}
        accept={copyFiles}
        look={look}
        onFile={(f) => {
          setFile(f);
          send({ type: 'look-at-copy', file: f });
        }}
      />
      <CopySeen {...{ state, send, file }} onLeave={() => setFile(undefined)} />
    </>
  );
}

/** How far a copy is read, what it would bring, and what came of it. */
export function CopySeen(props: ScreenProps & { file: File | undefined; onLeave: () => void }) {
  const { state, send, file, onLeave } = props;
  const { said, looked } = state;
  const own = file !== undefined && looked === file; // said of another file, or by another act, it is not shown
  const seen = own && seenIn(said);
  const share = shareIn(said);
  return (
    <>
      {share !== undefined && (
        <label class="field">
          <span>{text.reading}</span>
          <progress value={share} />
        </label>
      )}
      {seen && (
        <div class="notice" role="status">
          <p>{`${text.brings(seen.of, dayOf(seen.madeMs), broughtWords(seen))} ${text.would[seen.how]}`}</p>
          <div class="acts">
            <button type="button" onClick={() => send({ type: 'open-copy', file })}>
              {text.bring}
            </button>
            <button type="button" onClick={onLeave}>
              {text.leave}
            </button>
          </div>
        </div>
      )}
      {own && typeof said === 'string' && <p role="status">{said}</p>}
    </>
  );
}

const shareIn = (said: State['said']): number | undefined => {
  const share = typeof said === 'object' && said !== null && 'share' in said ? said.share : undefined;
  return typeof share === 'number' ? share : undefined;
};

const seenIn = (said: State['said']): Seen | undefined =>
  typeof said === 'object' && said !== null && 'seen' in said ? (said.seen as unknown as Seen) : undefined;
