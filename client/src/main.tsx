// Wiring only: the store, the clock, the address and the files are handed to the loop; the first screen is mounted.
import './styles/tokens.css';
import './styles/base.css';
import { effect } from '@preact/signals';
import { render } from 'preact';
import { createApp } from './app';
import { connect } from './connect';
import { homeScreen } from './install';
import { Shell } from './screens/shell';
import { storageTruth } from './storage';
import { Store } from './store/store';
import { applyLook } from './ui/look';
import { watchScroll } from './ui/use-top';
import { inTask, watchUpdates } from './worker/update';

const link = connect();

const app = createApp(() => Store.open(undefined, { onBlocked: () => app.say({ trouble: 'blocked' }) }), {
  now: () => Date.now(),
  zone: () => -new Date().getTimezoneOffset(),
  path: () => location.pathname,
  hash: () => location.hash,
  go: (path, replace) => (replace ? history.replaceState(null, '', path) : history.pushState(null, '', path)),
  back: () => history.back(),
  photo: async (file) => (await import('./photo')).shrinkPhoto(file),
  saveCopy: async (store) => (await import('./copy')).saveCopy(store),
  saveTable: async (store, table) => (await import('./copy')).saveTable(store, table),
  giveFile: async (...a) => (await import('./copy')).giveFile(...a),
  lookAtCopy: async (...a) => (await import('./copy')).lookAtCopy(...a),
  openCopy: async (...a) => (await import('./copy')).openCopy(...a),
  codesOut: async (...a) => (await import('./copy')).codesOut(...a),
  codesIn: async (...a) => (await import('./copy')).codesIn(...a),
  link: link.act,
  storage: storageTruth,
  putHome: () => home.put(),
  seen: painted,
});
const home = homeScreen((way) => app.say({ home: way }));

effect(() => applyLook(app.state.value.settings, document.documentElement));
effect(() => {
  const { path, task, machine } = app.state.value;
  inTask(task !== undefined && (path.startsWith('/task') || machine === ''));
});
effect(() => {
  // the guard waits for this mark; a store that does not open leaves it out, so that a copy can be saved
  const { phase } = app.state.value;
  if (phase === 'new' || phase === 'ready') document.documentElement.dataset.started = 'yes';
  if (phase === 'broken') delete document.documentElement.dataset.started; // what was shown was not all
});

for (const event of ['popstate', 'hashchange']) addEventListener(event, () => app.moved(location.pathname));
watchScroll(window);
addEventListener('pagehide', () => void app.hide());
document.addEventListener('visibilitychange', () => document.hidden && void app.hide());

const place = document.getElementById('app');
if (place) render(<Shell app={app} />, place);

function painted(): Promise<void> {
  return new Promise((shown) => {
    requestAnimationFrame(() => setTimeout(shown));
    setTimeout(shown, 1000); // a page that is not looked at is not drawn
  });
}

async function begin(): Promise<void> {
  await app.start();
  link.hear(app);
  await painted(); // all else comes after the first screen stands
  // A new build is let in before anything else is asked for; a browser that does not answer holds nothing up.
  const leaving = await Promise.race([
    watchUpdates((apply) => app.updateWaits(() => void apply().then((free) => app.say({ updateHeld: !free })))),
    new Promise<boolean>((on) => setTimeout(on, 1000, false)),
  ]);
  if (!leaving) {
    void link.start(app);

    // What the first tap on a task needs is fetched while nothing else is to do; a failure shows when it is needed.
    for (const part of [
      () => import('./domain/troubleshoot'), // a part of its own: the fault model's tables are large
      () => import('./domain/task/run'),
      () => import('./screens/task'),
    ])
      part().catch(() => {});
  }
}

/** Not awaited at the top: the lazy parts import this file (client/build/parts.go), and it waits for some of them. */
void begin();
