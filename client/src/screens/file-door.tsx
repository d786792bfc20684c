/** A button that asks for a file. The same file may be chosen twice. */

/** What a copy may be called. */
export const copyFiles = '.evenpull,application/json,application/x-ndjson';

export function FileDoor(props: { label: string; accept: string; look?: string; onFile: (file: File) => void }) {
  const { label, accept, look = '', onFile } = props;
  return (
    <label class={`button ${look}`}>
      {label}
      <input
        type="file"
        class="unseen"
        accept={accept}
        onChange={(e) => {
          const file = e.currentTarget.files?.[0];
          if (file) onFile(file);
          e.currentTarget.value = '';
        }}
      />
    </label>
  );
}
