/// <reference lib="webworker" />
// The worker keeps one whole build: all its files or none. It never takes over
// by itself; the page asks when nothing is open (see update.ts). What speaks to
// the server goes past it.
declare const self: ServiceWorkerGlobalScope;
declare const __FILES__: string[]; // every file of this build, put in by client/build
declare const __STAMP__: string; // differs between any two builds

const PREFIX = 'evenpull-';
const CACHE = PREFIX + __STAMP__;
const HASHED = /^\/assets\/.*-[A-Z0-9]{8}\.[a-z0-9]+$/;
const SERVER = /^\/(v1\/|healthz$|readyz$|sw\.js$|build\.json$)/;

/** Routes that go past the worker without waking it, where the browser knows of them. */
type Routes = { addRoutes?(rule: object): Promise<void> };

self.addEventListener('install', (event) => {
  // Else a stream of news would wake the worker that is to give way to a new one (update.ts).
  void (event as Routes).addRoutes?.({ condition: { urlPattern: { pathname: '/v1/*' } }, source: 'network' });
  event.waitUntil(
    fill().catch(async (e: unknown) => {
      await caches.delete(CACHE); // no half build stays behind
      throw e;
    }),
  );
});

async function fill(): Promise<void> {
  const cache = await caches.open(CACHE);
  await Promise.all(
    __FILES__.map(async (url) => {
      const hashed = HASHED.test(url); // such a name never means other bytes
      const kept = hashed ? await caches.match(url, { ignoreVary: true }) : undefined;
      const response = kept ?? (await fetch(url, { cache: hashed ? 'default' : 'reload' })); // the page has just loaded some
      if (!fits(url, response)) throw new Error(`${url}: not what it should be (${response.status})`);
      await cache.put(url, response);
    }),
  );
}

/** A sign-in page of the house's network, or the app shell in place of a missing file, must not be kept as one of ours. */
function fits(url: string, response: Response): boolean {
  const type = response.headers.get('content-type') ?? '';
  const html = type.startsWith('text/html');
  if (!response.ok || response.redirected) return false;
  if (url.endsWith('.js')) return type.includes('javascript');
  return url === '/' ? html : !html;
}

self.addEventListener('activate', (event) => {
  event.waitUntil(
    (async () => {
      // The build before stays for pages that are still open on it; older ones go. Names come in the order they were made.
      const others = (await caches.keys()).filter((name) => name.startsWith(PREFIX) && name !== CACHE);
      for (const name of others.slice(0, -1)) await caches.delete(name);
      await self.clients.claim(); // on the first visit the page is served from here without a reload
    })(),
  );
});

self.addEventListener('message', (event) => {
  if (event.data === 'apply-update') void self.skipWaiting();
});

self.addEventListener('fetch', (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== 'GET' || url.origin !== self.location.origin || SERVER.test(url.pathname)) return;
  event.respondWith(serve(url.pathname, event.request));
});

async function serve(path: string, request: Request): Promise<Response> {
  const any = { ignoreVary: true };
  const cache = await caches.open(CACHE);
  const shell = request.mode === 'navigate' ? '/' : undefined; // every address of the app is the one page
  return (
    (await cache.match(path, any)) ??
    (shell && (await cache.match(shell, any))) ??
    (await caches.match(path, any)) ??
    fetch(request)
  );
}

export {};
