// What a person sees of a screen, to hold one against the other.

/** Lets every page of a phone tell what it shows, by window.evenpullScreen(). */
export const watched = (phone) => phone.context.addInitScript(`window.evenpullScreen = ${screen}`);

export const shown = (page) => page.evaluate(() => window.evenpullScreen());

/** Title, every control with its state, what is said and what is typed. Runs in the page. */
function screen() {
  const text = (e) => (e?.textContent ?? '').trim().replace(/\s+/g, ' ');
  const all = (s) => [...document.querySelectorAll(s)];
  return {
    path: location.pathname,
    title: text(document.querySelector('h1')),
    controls: all('main button:not(.cue-line, .take-back button, .notice button, .offers button), [role=slider]')
      .filter((b) => text(b) !== 'White light' && !(location.pathname === '/' && text(b) === 'Done')) // come to Frame a moment later
      .map((b) =>
        [text(b), b.getAttribute('aria-label'), b.getAttribute('aria-pressed'), b.getAttribute('aria-valuenow')].join(
          '|',
        ),
      ),
    said: all('output').map(text),
    fields: all('main input, main textarea').map((f) => f.value),
    open: all('main .main-act').some((b) => !b.disabled),
    waits: document.querySelector('main .controls:empty') !== null,
  };
}

/** A part that is read with its first use is there. */
export const drawn = (seen) => !seen.waits && seen.controls.some((c) => !/^(Leave|Back|\?)/.test(c));

export const same = (a, b) => JSON.stringify(a) === JSON.stringify(b);
