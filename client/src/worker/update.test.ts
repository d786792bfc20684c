import { afterEach, expect, test, vi } from 'vitest';
import { inTask, watchUpdates } from './update';

/** Locks as a browser's, of one name: as many share it as want, and nobody has it alone meanwhile. */
function locks() {
  let shared = 0;
  const request = async (_: string, o: { ifAvailable?: boolean }, work: (lock: object | null) => unknown) => {
    if (o.ifAvailable) return work(shared === 0 ? {} : null);
    shared++;
    await work({});
    shared--;
  };
  return { request };
}

function browser(over: object = {}) {
  const waiting = { postMessage: vi.fn() };
  const registration = { waiting, active: {}, addEventListener: () => {} };
  const serviceWorker = { register: async () => registration, addEventListener: () => {} };
  vi.stubGlobal('navigator', { serviceWorker, locks: locks(), ...over });
  vi.stubGlobal('document', { addEventListener: () => {} });
  vi.stubGlobal('window', {});
  vi.useFakeTimers(); // the guard that loads the page anew must not run here
  return waiting;
}

afterEach(() => {
  inTask(false);
  vi.useRealTimers();
  vi.unstubAllGlobals();
});

/** Lets it in, and gives the page the moment of stillness that it waits for before. */
async function applied(): Promise<boolean> {
  const free = await new Promise<boolean>((done) => {
    void watchUpdates((apply) => void apply().then(done));
  });
  await vi.advanceTimersByTimeAsync(1000);
  return free;
}

test('while a tab is in a task no new build is let in, and when it has left one is', async () => {
  const waiting = browser();
  inTask(true);
  inTask(true); // the state changes often while the task stays
  expect(await applied()).toBe(false);
  expect(waiting.postMessage).not.toHaveBeenCalled();
  inTask(false);
  await vi.advanceTimersByTimeAsync(0);
  expect(await applied()).toBe(true);
  expect(waiting.postMessage).toHaveBeenCalledWith('apply-update');
});

test('a browser without locks lets it in', async () => {
  const waiting = browser({ locks: undefined });
  inTask(true);
  expect(await applied()).toBe(true);
  expect(waiting.postMessage).toHaveBeenCalledTimes(1);
});
