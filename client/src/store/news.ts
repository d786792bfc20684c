/** Tells the other tabs of this browser what changed. Where the browser can't, they read when they are looked at. */
import type { Change } from './home';

export type News = {
  post(change: Change): void;
  listen(listener: (change: Change) => void): void;
  close(): void;
};

/** The tabs that have this database open. */
export function newsTo(database: string): News | undefined {
  if (typeof BroadcastChannel === 'undefined') return undefined;
  const channel = new BroadcastChannel(`${database} changes`);
  return {
    post: (change) => {
      try {
        channel.postMessage(change);
      } catch {
        // closed meanwhile: what was written is written all the same
      }
    },
    listen: (listener) => {
      channel.onmessage = (e: MessageEvent<Change>) => listener(e.data);
    },
    close: () => channel.close(),
  };
}
