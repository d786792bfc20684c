/// <reference lib="dom" />
// The guard: first on the page, a classic script of its own, so that it runs
// where the app does not. It tells a browser that is too old, and after eight
// seconds without a started app it offers a copy of everything kept on this
// phone. It shares no code with the app and knows no version of the data; it is
// built for older browsers than the app, so it keeps to what those can run.
import { dump } from './dump';

const WAIT_MS = 8000;

const words = {
  title: 'Evenpull',
  old: 'This browser is too old for Evenpull. Your notes are still on this phone. Save a copy, and open it in a newer browser (Chrome 111, iOS 16.4, or later).',
  stuck: 'Evenpull did not start. Your notes are still on this phone.',
  copy: 'Save a copy',
  again: 'Load again',
  saving: 'Saving … If this stays, close the other tabs with Evenpull in them.',
  saved: 'The copy is with your downloads.',
  failed: 'The copy could not be made: ',
  why: 'What went wrong: ',
};

const root = document.documentElement;
let why = '';
let shown: HTMLElement | undefined;

/** The app sets this mark once it can be used. */
function started(): boolean {
  return root.getAttribute('data-started') === 'yes';
}

/** Below the floor: what the app needs came with Chrome 111 (oklch) and iOS 16.4 (compression streams) at the latest. */
function tooOld(): boolean {
  return !('CompressionStream' in window) || !('CSS' in window && CSS.supports('color', 'oklch(0% 0 0)'));
}

function part(tag: string, text: string): HTMLElement {
  const e = document.createElement(tag);
  e.textContent = text;
  return e;
}

function button(label: string, act: () => void): HTMLElement {
  const b = part('button', label);
  b.onclick = act;
  b.style.cssText = 'display:block;width:100%;min-height:88px;margin:12px 0;font:700 22px/28px sans-serif';
  return b;
}

function show(sentence: string): void {
  if (shown) return;
  const page = part('main', '');
  page.id = 'rescue';
  page.style.cssText = 'padding:16px;font:17px/24px sans-serif;overflow-wrap:anywhere';
  const said = part('p', '');
  said.setAttribute('role', 'status');
  const say = (text: string) => {
    said.textContent = text;
  };
  const copy = button(words.copy, () => {
    say(words.saving);
    dump((name, blob) => {
      const a = document.createElement('a');
      a.href = URL.createObjectURL(blob);
      a.download = name;
      a.click();
    }).then(
      () => say(words.saved),
      (e) => say(words.failed + String(e)),
    );
  });
  const again = button(words.again, () => location.reload());
  for (const e of [part('h1', words.title), part('p', sentence), copy, again, said]) page.appendChild(e);
  if (why) page.appendChild(part('p', words.why + why));
  const app = document.getElementById('app');
  if (app) app.hidden = true;
  document.body.appendChild(page);
  shown = page;
}

/** A phone that was only slow gets its app after all. */
function hide(): void {
  if (!shown || !started()) return;
  shown.remove();
  shown = undefined;
  const app = document.getElementById('app');
  if (app) app.hidden = false;
}

addEventListener(
  'error',
  (e) => {
    if (!why) why = e.message || 'a part of the page did not load';
  },
  true, // a script that is not there says so only to itself
);
addEventListener('unhandledrejection', (e) => {
  if (!why) why = String(e.reason);
});

if (tooOld()) addEventListener('DOMContentLoaded', () => show(words.old));
else {
  setTimeout(() => {
    if (!started()) show(words.stuck);
  }, WAIT_MS);
  new MutationObserver(hide).observe(root, { attributes: true, attributeFilter: ['data-started'] });
}
