// The page's half of an update: a new build waits until the person, or a cold
// start with nothing open, says so; then the page loads anew, once.

/** A worker that never answers must not leave the person waiting (5 s). */
const GUARD_MS = 5000;
/** A page that stays open for days asks for a new build when it is looked at again, at most this often (1 h). */
const LOOK_MS = 3_600_000;

/**
 * Registers the worker. `onWaiting` gets a function that applies the build that waits; it may be called again when a
 * newer one waits. Resolves false where no worker can be: an old browser, or an address without a secure connection.
 */
export async function watchUpdates(onWaiting: (apply: () => void) => void): Promise<boolean> {
  const workers = navigator.serviceWorker;
  if (!workers) return false;
  const registration = await workers.register(trusted('/sw.js'), { updateViaCache: 'none' }).catch(() => undefined);
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
  return true;
}

type Trust = { createPolicy(name: string, rules: object): { createScriptURL(url: string): string } };

/** The page's security policy lets one rule of this name say what a script's address may be; ours says this one. */
function trusted(url: '/sw.js'): string {
  const { trustedTypes } = window as { trustedTypes?: Trust };
  return trustedTypes
    ? trustedTypes.createPolicy('evenpull', { createScriptURL: () => url }).createScriptURL(url)
    : url;
}

let reloading = false;

function applyUpdate(waiting: ServiceWorker): void {
  const reload = () => {
    if (reloading) return;
    reloading = true;
    location.reload();
  };
  navigator.serviceWorker.addEventListener('controllerchange', reload, { once: true });
  setTimeout(reload, GUARD_MS);
  waiting.postMessage('apply-update');
}
