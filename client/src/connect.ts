/** Ties the loop to the studio's server. What it takes comes with its first use: a phone that is alone never loads it. */
import type { App } from './app';
import type { LinkAct } from './state';
import type { Json } from './sync/ops';

export function connect() {
  let live: Promise<{ act(act: LinkAct): Promise<Json | undefined> }> | undefined;
  const open = (app: App) => {
    live ??= import('./live').then((m) => m.goLive(app));
    live.catch(() => {
      live = undefined; // asked again with the next act
    });
    return live;
  };
  return {
    act: async (act: LinkAct, app: App): Promise<Json | undefined> => (await open(app)).act(act),
    /** From the first reading on, so that nothing is missed. */
    hear: (app: App): void => {
      if (app.state.value.phase !== 'broken') watch(app);
    },
    /** After the first screen stands: goes on with what is shared, with a code that waits for a signal, or with more than one studio. */
    start: async (app: App): Promise<void> => {
      if (app.state.value.phase === 'broken') return;
      const store = app.store();
      const joined = store.device.studio !== '' && Object.keys((await store.phone())?.links ?? {}).length > 0;
      const other = async () => (await store.studios()).some((s) => s.id !== store.device.studio); // it can be shown again
      if (joined || (await store.meta('waiting code')) || (await other())) await open(app);
    },
  };
}

/** What the studio or another tab wrote is read again, many at once in one go. */
function watch(app: App): void {
  const togetherMs = 150;
  let planned = false;
  app.store().onChange((change) => {
    if (change.by === 'us' || planned) return;
    planned = true;
    setTimeout(() => {
      planned = false;
      void app.changed();
    }, togetherMs);
  });
}
