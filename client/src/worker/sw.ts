/// <reference lib="webworker" />
// The worker keeps one whole build: all its files or none. It never takes over
// by itself; the page asks when nothing is open (see update.ts).
declare const self: ServiceWorkerGlobalScope;
declare const __FILES__: string[];
declare const __STAMP__: string;

const PREFIX = 'evenpull-';
const CACHE = PREFIX + __STAMP__;
const HASHED = /^\/assets\/.*-[A-Z0-9]{8}\.[a-z0-9]+$/;
const SERVER = /^\/(v1\/|healthz$|readyz$|sw\.js$|build\.json$)/;

self.addEventListener('install', (event) => {
  event.waitUntil(fill());
});

async function fill(): Promise<void> {
  const cache = await caches.open(CACHE);
  await Promise.all(
    __FILES__.map(async (url) => {
      const kept = HASHED.test(url) ? await caches.match(url) : undefined; // a hashed name never changes
      const response = kept ?? (await fetch(new Request(url, { cache: 'reload' })));
      const type = response.headers.get('content-type') ?? '';
      if (!response.ok || (url !== '/' && type.startsWith('text/html'))) throw new Error(`${url}: ${response.status} ${type}`);
      await cache.put(url, response);
    }),
  );
}

self.addEventListener('activate', (event) => {
  event.waitUntil(
    (async () => {
      for (const name of await caches.keys()) if (name.startsWith(PREFIX) && name !== CACHE) await caches.delete(name);
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
  event.respondWith(serve(event.request.mode === 'navigate' ? '/' : url.pathname, event.request));
});

async function serve(path: string, request: Request): Promise<Response> {
  const cache = await caches.open(CACHE);
  return (await cache.match(path)) ?? fetch(request);
}
export {};
