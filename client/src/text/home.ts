/** The words about the home screen. */
export const text = {
  title: 'Put it on the home screen',
  why: 'There it keeps your notes for good, opens with no signal, and the screen can stay on.',
  put: 'Put it there',
  notNow: 'Not now',
  share: 'Tap Share at the edge of the browser.',
  add: 'Choose “Add to Home Screen”, then open Evenpull from there.',
  copyFirst: 'It starts empty there. Save a copy here first, and open it there with “Open a copy”.',
  saveCopy: 'Save a copy',
  firstHere:
    'On this phone put it on the home screen first: a browser tab and the home screen keep two separate sets of notes.',
  carry: 'Then type this code there:',
};
