// Everything that is kept on this phone as one file, whatever version wrote it.

const DATABASE = 'evenpull';

/**
 * Gives a JSON file {format, version, database, stores: {name: [[key, value] …]}} to `give`. Bytes stand as {base64}.
 * A signing key can't leave the phone and is left out. Rejects where nothing is kept or the browser does not let it be read.
 */
export function dump(give: (name: string, file: Blob) => void): Promise<void> {
  return read().then(({ version, stores }) => {
    // in parts: with photos the whole can be longer than one string may be
    const parts: string[] = [`{"format":"evenpull-rescue","version":1,"database":${version},"stores":{`];
    const jobs: Promise<void>[] = [];
    Object.keys(stores).forEach((name, i) => {
      parts.push(`${i ? ',' : ''}${JSON.stringify(name)}:[`);
      stores[name]?.forEach((row, j) => {
        const at = parts.push('') - 1;
        jobs.push(
          plain(row).then((r) => {
            parts[at] = (j ? ',\n' : '\n') + JSON.stringify(r);
          }),
        );
      });
      parts.push(']');
    });
    parts.push('}}\n');
    return Promise.all(jobs).then(() => give('evenpull-rescue.json', new Blob(parts, { type: 'application/json' })));
  });
}

type Rows = Record<string, [IDBValidKey, unknown][]>;

function read(): Promise<{ version: number; stores: Rows }> {
  return new Promise((resolve, reject) => {
    const open = indexedDB.open(DATABASE); // no version: whatever is there
    const nothing = () => reject(new Error('nothing is kept here yet'));
    open.onerror = () => reject(open.error);
    open.onupgradeneeded = () => {
      open.transaction?.abort(); // there was none: leave none behind
      nothing();
    };
    open.onsuccess = () => {
      const db = open.result;
      const names = Array.from(db.objectStoreNames);
      if (names.length === 0) {
        db.close();
        nothing();
        return;
      }
      const stores: Rows = {};
      const tx = db.transaction(names, 'readonly');
      for (const name of names) {
        const rows: [IDBValidKey, unknown][] = [];
        stores[name] = rows;
        const walk = tx.objectStore(name).openCursor();
        walk.onsuccess = () => {
          const cursor = walk.result;
          if (!cursor) return;
          rows.push([cursor.key, cursor.value]);
          cursor.continue();
        };
      }
      tx.onabort = () => reject(tx.error);
      tx.oncomplete = () => {
        db.close();
        resolve({ version: db.version, stores });
      };
    };
  });
}

/** A stored value as JSON can hold it. */
function plain(value: unknown): Promise<unknown> {
  if (value === null || typeof value !== 'object') return Promise.resolve(value);
  if (value instanceof Blob)
    return new Response(value).arrayBuffer().then((b) => ({ base64: base64(new Uint8Array(b)) }));
  if (value instanceof ArrayBuffer) return Promise.resolve({ base64: base64(new Uint8Array(value)) });
  if (ArrayBuffer.isView(value))
    return Promise.resolve({ base64: base64(new Uint8Array(value.buffer, value.byteOffset, value.byteLength)) });
  if (value instanceof Date) return Promise.resolve(value.toISOString());
  if (typeof CryptoKey === 'function' && value instanceof CryptoKey) return Promise.resolve(undefined);
  if (Array.isArray(value)) return Promise.all(value.map(plain));
  if (value instanceof Map) return plain(Array.from(value));
  if (value instanceof Set) return plain(Array.from(value));
  const keys = Object.keys(value);
  return Promise.all(keys.map((k) => plain((value as Record<string, unknown>)[k]))).then((values) => {
    const out: Record<string, unknown> = {};
    keys.forEach((k, i) => {
      out[k] = values[i];
    });
    return out;
  });
}

function base64(bytes: Uint8Array): string {
  let text = '';
  for (let i = 0; i < bytes.length; i += 0x8000) {
    text += String.fromCharCode.apply(null, Array.from(bytes.subarray(i, i + 0x8000)));
  }
  return btoa(text);
}
