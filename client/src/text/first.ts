export const text = {
  title: 'Evenpull',
  what: 'Balance the top and the bobbin thread at the frame, one small written-down change at a time.',
  start: 'Start on this phone',
  startNote: 'No account and no signal needed. Everything stays on this phone until you share it.',
  code: 'I have a code',
  copy: 'Open a copy',
  codes: 'Read another phone’s codes',
  caution: 'Your machine’s manual, local rules and a qualified technician go before anything this app says.',
};

/** What the first machine is called until its person says otherwise. */
export const usualName = 'My machine';
