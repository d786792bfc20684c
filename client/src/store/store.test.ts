import 'fake-indexeddb/auto';
import { storeContract } from './contract';
import { memoryEngine } from './memory';
import { spoil } from './spoil';
import { openStore, storeOver } from './store';

const hooks = { zone: () => 90 };

storeContract('memory', async () => {
  const engine = memoryEngine();
  return {
    store: await storeOver(engine, hooks),
    again: () => storeOver(engine, hooks),
    fail: (reason) => engine.fail(reason),
  };
});

let n = 0;
storeContract('IndexedDB', async () => {
  const name = `contract-${++n}`;
  const store = await openStore(name, hooks);
  return {
    store,
    again: async () => {
      await store.close();
      return openStore(name, hooks);
    },
    fail: spoil,
  };
});
