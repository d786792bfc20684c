/** The browser's page, as the loop sees it (loop.ts). */
import type { Page, TabMessage } from './loop';

export function browserPage(name = 'evenpull'): Page {
  return {
    now: Date.now,
    random: Math.random,
    after: (ms, act) => {
      const timer = setTimeout(act, Math.min(ms, 2 ** 31 - 1));
      return () => clearTimeout(timer);
    },
    visible: () => document.visibilityState === 'visible',
    on: (moment, act) => {
      if (moment === 'online') {
        addEventListener('online', act);
        return () => removeEventListener('online', act);
      }
      const changed = () => document.visibilityState === moment && act();
      document.addEventListener('visibilitychange', changed);
      return () => document.removeEventListener('visibilitychange', changed);
    },
    alone: async (work, signal) => {
      // Without locks two tabs may send the same: servers take it once.
      if (!navigator.locks) return work();
      await navigator.locks.request(`${name} sends`, { signal }, work);
    },
    tabs: tabsOf(name),
  };
}

function tabsOf(name: string): Page['tabs'] {
  if (typeof BroadcastChannel === 'undefined') return undefined;
  const channel = new BroadcastChannel(`${name} sync`);
  return {
    post: (message) => channel.postMessage(message),
    listen: (listener) => {
      const heard = (e: MessageEvent<TabMessage>) => listener(e.data);
      channel.addEventListener('message', heard);
      return () => channel.removeEventListener('message', heard);
    },
  };
}
