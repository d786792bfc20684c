/** A copy of everything in one file: given to the phone's files, and opened again here or elsewhere. */
import type { Store } from './store/store';
import { BadFile } from './sync/statefile';
import { tableText } from './tables';
import { badFile, dayOf, fileName, openedWords } from './text/copy';
import { type TableName, tableFile } from './text/tables';

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

function give(file: Blob, name: string): void {
  const url = URL.createObjectURL(file);
  const a = document.createElement('a');
  a.href = url;
  a.download = name;
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
