import 'fake-indexeddb/auto';
import type { Fixture } from './contract';
import { copiesContract } from './contract-copies';
import { exchangeContract } from './contract-exchange';
import { writingContract } from './contract-writing';
import { memoryEngine } from './memory';
import { spoil } from './spoil';
import { openStore, storeOver } from './store';

const hooks = { zone: () => 90 };

function storeContract(over: string, make: () => Promise<Fixture>): void {
  for (const part of [writingContract, exchangeContract, copiesContract]) part(over, make);
}

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
