/** A copy of everything in one file: given to the phone's files, and opened again here or elsewhere. */
import type { Store } from './store/store';
import { BadFile } from './sync/statefile';
import { badFile, fileName, openedWords } from './text/copy';

/** Gives the file to the browser, which asks where it goes. */
export async function saveCopy(store: Store): Promise<void> {
  const now = Date.now();
  const url = URL.createObjectURL(await store.exportCopy(now));
  const a = document.createElement('a');
  a.href = url;
  a.download = fileName(now);
  a.click();
  setTimeout(() => URL.revokeObjectURL(url), 60_000); // some browsers read it late
}

/** Opens a file; says in a sentence what came of it. A damaged or foreign file is refused whole. */
export async function openCopy(store: Store, file: Blob): Promise<string> {
  try {
    return openedWords(await store.openCopy(file, Date.now()));
  } catch (e) {
    if (e instanceof BadFile) return badFile(e.reason);
    throw e;
  }
}
