// The page's half of an update: a new build waits until the person, or a cold
// start with nothing open, says so; then the page loads anew, once.

const GUARD_MS = 5000;

/** Registers the worker. `onWaiting` gets a function that applies the build that waits. Resolves false where no worker can be. */
export async function watchUpdates(onWaiting: (apply: () => void) => void): Promise<boolean> {
  if (!('serviceWorker' in navigator)) return false;
  const hadOne = navigator.serviceWorker.controller !== null;
  const registration = await navigator.serviceWorker.register('/sw.js', { updateViaCache: 'none' });
  const offer = () => {
    const waiting = registration.waiting;
    if (waiting) onWaiting(() => applyUpdate(waiting));
  };
  offer(); // it may have come while no page was open
  registration.addEventListener('updatefound', () => {
    const next = registration.installing;
    next?.addEventListener('statechange', () => {
      if (next.state === 'installed' && hadOne) offer();
    });
  });
  return true;
}

let reloading = false;

function applyUpdate(waiting: ServiceWorker): void {
  const reload = () => {
    if (reloading) return;
    reloading = true;
    location.reload();
  };
  navigator.serviceWorker.addEventListener('controllerchange', reload, { once: true });
  setTimeout(reload, GUARD_MS); // a worker that never answers must not leave the page waiting
  waiting.postMessage('apply-update');
}
