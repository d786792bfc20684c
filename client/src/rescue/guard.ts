/// <reference lib="dom" />
// The guard: first on the page, a classic script of its own, so that it runs
// where the app does not. It tells a browser that is too old, and after eight
// seconds without a started app shows a page that can save a copy of everything
// that is kept on this phone. It imports nothing and knows no version of the data.

const WAIT_MS = 8000;
const DATABASE = 'evenpull';

const words = {
  old: 'This browser is too old for Evenpull. Your notes are still on this phone. Save a copy and open it on a newer phone (iOS 16.4, Chrome 111, or later).',
  stuck: 'Evenpull did not start. Your notes are still on this phone.',
  copy: 'Save a copy',
  again: 'Load again',
  saved: 'The copy is in your downloads.',
  failed: 'The copy could not be made: ',
};

function started(): boolean {
  return document.documentElement.dataset.started === 'yes';
}

function tooOld(): boolean {
  return !('structuredClone' in window) || !('locks' in navigator) || !('CompressionStream' in window);
}

function element(tag: string, text: string): HTMLElement {
  const e = document.createElement(tag);
  e.textContent = text;
  return e;
}

function show(sentence: string): void {
  const page = document.createElement('main');
  page.id = 'rescue';
  const said = element('p', '');
  said.setAttribute('role', 'status');
  const copy = element('button', words.copy);
  copy.onclick = () => {
    dump().then(
      () => {
        said.textContent = words.saved;
      },
      (e: unknown) => {
        said.textContent = words.failed + String(e);
      },
    );
  };
  const again = element('button', words.again);
  again.onclick = () => location.reload();
  for (const b of [copy, again]) {
    b.style.minHeight = '88px';
    b.style.width = '100%';
    b.style.fontSize = '22px';
    b.style.margin = '12px 0';
  }
  page.style.padding = '16px';
  page.style.font = '17px/24px sans-serif';
  page.append(element('h1', 'Evenpull'), element('p', sentence), copy, again, said);
  document.body.replaceChildren(page);
}

/** Writes every store of the database to one JSON file. Bytes become base64, keys that can't leave the phone are left out. */
function dump(): Promise<void> {
  return new Promise((resolve, reject) => {
    const open = indexedDB.open(DATABASE); // no version: whatever is there
    open.onerror = () => reject(open.error);
    open.onupgradeneeded = () => {
      open.transaction?.abort();
      reject(new Error('nothing is kept here yet'));
    };
    open.onsuccess = () => {
      const db = open.result;
      const names = [...db.objectStoreNames];
      const out: Record<string, unknown[]> = {};
      if (names.length === 0) {
        reject(new Error('nothing is kept here yet'));
        return;
      }
      const tx = db.transaction(names, 'readonly');
      for (const name of names) {
        const rows: unknown[] = [];
        out[name] = rows;
        const walk = tx.objectStore(name).openCursor();
        walk.onsuccess = () => {
          const cursor = walk.result;
          if (!cursor) return;
          rows.push([cursor.key, plain(cursor.value)]);
          cursor.continue();
        };
      }
      tx.onerror = () => reject(tx.error);
      tx.oncomplete = () => {
        db.close();
        const file = new Blob([JSON.stringify({ format: 'evenpull-rescue', version: 1, stores: out })], { type: 'application/json' });
        const a = document.createElement('a');
        a.href = URL.createObjectURL(file);
        a.download = 'evenpull-rescue.json';
        a.click();
        resolve();
      };
    };
  });
}

function plain(value: unknown): unknown {
  if (value instanceof ArrayBuffer) return { base64: base64(new Uint8Array(value)) };
  if (value instanceof Uint8Array) return { base64: base64(value) };
  if (value instanceof CryptoKey) return undefined;
  if (Array.isArray(value)) return value.map(plain);
  if (value !== null && typeof value === 'object') {
    return Object.fromEntries(Object.entries(value).map(([k, v]) => [k, plain(v)]));
  }
  return value;
}

function base64(bytes: Uint8Array): string {
  let text = '';
  for (const b of bytes) text += String.fromCharCode(b);
  return btoa(text);
}

if (tooOld()) {
  addEventListener('DOMContentLoaded', () => show(words.old));
} else {
  setTimeout(() => {
    if (!started()) show(words.stuck);
  }, WAIT_MS);
}
