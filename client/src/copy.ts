/** A copy of everything in one file: given to the phone's files, and opened again here or elsewhere. */
import type { Store, Told } from './store/store';
import type { Json } from './sync/ops';
import { BadFile } from './sync/statefile';
import { tableText } from './tables';
import { badFile, dayOf, fileName, nothingNew, openedWords } from './text/copy';
import { type TableName, tableFile } from './text/tables';

export { codesIn, codesOut } from './codes'; // in the same lazy part

/** Gives the file to the browser, which asks where it goes. */
export async function saveCopy(store: Store): Promise<void> {
  const now = Date.now();
  give(await store.exportCopy(now), fileName(now));
}

/** One table of the studio, for a spreadsheet. The mark before it says that it is UTF-8. */
export async function saveTable(store: Store, table: TableName): Promise<void> {
  const text = await tableText(store, table);
  give(new Blob(['\ufeff', text], { type: 'text/csv;charset=utf-8' }), tableFile(table, dayOf(Date.now())));
}

/** Offers a file to the phone's other apps; where there is no such way, or it is not taken, to the phone's files. */
export async function giveFile(file: Blob, name: string): Promise<void> {
  const files = [new File([file], name, { type: file.type })];
  if (!navigator.canShare?.({ files })) return give(file, name);
  await navigator.share({ files }).catch((e: unknown) => {
    if ((e as { name?: string }).name !== 'AbortError') give(file, name); // the person thought better of it
  });
}

function give(file: Blob, name: string): void {
  const url = URL.createObjectURL(file);
  const a = document.createElement('a');
  a.href = url;
  a.download = name;
  a.click();
  setTimeout(() => URL.revokeObjectURL(url), 60_000); // some browsers read it late
}

/** What a file would bring, or the sentence that there is nothing to bring, or why it can't be opened. Nothing is written. */
export const lookAtCopy = (store: Store, file: Blob, told: Told): Promise<Json> =>
  whole(async () => {
    const seen = await store.lookAtCopy(file, Date.now(), told);
    return Object.keys(seen.kinds).length + seen.photos === 0 ? nothingNew : { seen };
  });

/** Opens a file; says in a sentence what came of it. A damaged or foreign file is refused whole. */
export const openCopy = (store: Store, file: Blob, told: Told): Promise<Json> =>
  whole(async () => openedWords(await store.openCopy(file, Date.now(), told)));

async function whole(work: () => Promise<Json>): Promise<Json> {
  try {
    return await work();
  } catch (e) {
    if (e instanceof BadFile) return badFile(e.reason);
    throw e;
  }
}
