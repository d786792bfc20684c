// The page's half of an update: a new build waits until the person, or a cold
// start with nothing open, says so; then the page loads anew, once.

/** A worker that never answers must not leave the person waiting (5 s). */
const GUARD_MS = 5000;
/** Nothing was asked of the worker for so long: then it can give way (300 ms; at most 3 s are waited). */
const STILL_MS = 300;
const MOST_STILL_MS = 3000;
/** A page that stays open for days asks for a new build when it is looked at again, at most this often (1 h). */
const LOOK_MS = 3_600_000;

/**
 * Registers the worker. `onWaiting` gets a function that lets the build that waits in, and answers false where a tab is in
 * a task; it may be called again when a newer one waits. Resolves true where a new build is being let in: the page is
 * about to load anew.
 */
export async function watchUpdates(onWaiting: (apply: () => Promise<boolean>) => void): Promise<boolean> {
  const registration = await navigator.serviceWorker
    ?.register(trusted('/sw.js'), { updateViaCache: 'none' })
    .catch(() => undefined); // an old browser, or an address without a secure connection
  if (!registration) return false;
  const offer = () => {
    const { waiting, active } = registration;
    if (waiting && active) onWaiting(() => applyUpdate(waiting)); // without an active one it is the first, and takes over by itself
  };
  const follow = () => registration.installing?.addEventListener('statechange', offer);
  offer(); // it may have come while no page was open
  follow();
  registration.addEventListener('updatefound', follow);
  let looked = Date.now();
  document.addEventListener('visibilitychange', () => {
    if (document.hidden || Date.now() - looked < LOOK_MS) return;
    looked = Date.now();
    registration.update().catch(() => {}); // no signal: later
  });
  return applying;
}

type Trust = { createPolicy(name: string, rules: object): { createScriptURL(url: string): string } };

/** The page's security policy lets one rule of this name say what a script's address may be; ours says this one. */
function trusted(url: '/sw.js'): string {
  const { trustedTypes } = window as { trustedTypes?: Trust };
  return trustedTypes
    ? trustedTypes.createPolicy('evenpull', { createScriptURL: () => url }).createScriptURL(url)
    : url;
}

let applying = Promise.resolve(false);
let reloading = false;

function applyUpdate(waiting: ServiceWorker): Promise<boolean> {
  applying = noneInTask();
  void applying.then((free) => {
    if (free) void letIn(waiting);
  });
  return applying;
}

async function letIn(waiting: ServiceWorker): Promise<void> {
  await stillness();
  const reload = () => {
    if (reloading) return;
    reloading = true;
    location.reload();
  };
  navigator.serviceWorker.addEventListener('controllerchange', reload, { once: true });
  setTimeout(reload, GUARD_MS);
  waiting.postMessage('apply-update');
}

/**
 * Waits until this page asks for nothing. Chromium stops the worker of before to let the new one in; a file that is asked
 * for meanwhile starts it again, and then the new one waits on, and with it the page.
 */
async function stillness(): Promise<void> {
  const asked = () => performance.getEntriesByType('resource').length;
  for (let waited = 0, before = -1; waited < MOST_STILL_MS && before !== asked(); waited += STILL_MS) {
    before = asked();
    await new Promise((r) => setTimeout(r, STILL_MS));
  }
}

/** Held by each tab that is in a task: a new build may take the database to a form that the tab's own can't read. */
const TASK_LOCK = 'evenpull-in-a-task';
let letGo: (() => void) | undefined;

/** Says whether this tab is in a task: while any is, no new build is let in. */
export function inTask(is: boolean): void {
  if (is === (letGo !== undefined)) return;
  letGo?.();
  letGo = undefined;
  if (!is) return;
  const held = new Promise<void>((done) => {
    letGo = done;
  });
  navigator.locks?.request(TASK_LOCK, { mode: 'shared' }, () => held).catch(() => {});
}

/** Where the browser has no locks there is nobody to ask, and it is let in. */
const noneInTask = async (): Promise<boolean> =>
  (await navigator.locks?.request(TASK_LOCK, { ifAvailable: true }, (lock) => lock !== null)) ?? true;
