// The phone's own database, seen from a test. Each runs in the page.

/** Makes the database hold these rows and nothing else. */
export async function fill(rows) {
  const open = indexedDB.open('evenpull');
  const db = await new Promise((ok, no) => {
    open.onsuccess = () => ok(open.result);
    open.onerror = () => no(open.error);
  });
  const tx = db.transaction([...db.objectStoreNames], 'readwrite');
  for (const name of db.objectStoreNames) {
    tx.objectStore(name).clear();
    for (const row of rows[name] ?? []) tx.objectStore(name).put(row);
  }
  await new Promise((ok, no) => {
    tx.oncomplete = ok;
    tx.onerror = () => no(tx.error);
  });
  db.close();
}

/** What the phone has on its disk. */
export async function kept() {
  const open = indexedDB.open('evenpull');
  const db = await new Promise((ok, no) => {
    open.onsuccess = () => ok(open.result);
    open.onerror = () => no(open.error);
  });
  const all = (name) =>
    new Promise((ok) => {
      db.transaction(name).objectStore(name).getAll().onsuccess = (e) => ok(e.target.result);
    });
  const rows = { tasks: await all('tasks'), records: await all('records'), meta: await all('meta') };
  db.close();
  return rows;
}

/** The texts that are being typed, as the phone has them on its disk. */
export async function keptDrafts() {
  const open = indexedDB.open('evenpull');
  const db = await new Promise((ok, no) => {
    open.onsuccess = () => ok(open.result);
    open.onerror = () => no(open.error);
  });
  const drafts = await new Promise((ok) => {
    db.transaction('drafts').objectStore('drafts').getAll().onsuccess = (e) => ok(e.target.result);
  });
  db.close();
  return drafts.map((d) => d.text);
}
