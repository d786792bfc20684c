/** Words of what paces a drop test: what is heard, felt and seen, and the screen that stays on. */
import type { Gaps } from '../domain/task';

export const text = {
  /** In the place of the count, while a drop runs. */
  phases: {
    'pick-up': 'Take hold',
    hold: 'Hold still',
    shake: 'Shake once',
    read: 'Read the strip',
    over: 'Read the strip',
  },
  ready: 'Get ready',
  drop: (n: number, of: number): string => (of === 1 ? 'One drop' : `Drop ${n} of ${of}`),
  seconds: 'Seconds left',
  numbers: ['one', 'two', 'three'],
  started: 'Started',
  halfway: 'Half way',
  ended: 'All drops done',
  notCounted: 'Not counted',
  title: 'Sound and pace',
  open: 'Sound and pace',
  sound: 'Sound',
  buzz: 'Vibration',
  flash: 'Whole screen turns at the end',
  voice: 'A voice says one, two, three',
  noBuzz: 'This phone or browser does not vibrate.',
  noVoice: 'No voice on this phone works without signal.',
  try: 'Try',
  tryOf: (what: string): string => `Try: ${what}`,
  on: { sound: 'Sound on', buzz: 'vibration on' },
  off: { sound: 'Sound off', buzz: 'no vibration' },
  screen: { on: 'screen stays on', may: 'screen may sleep' },
  gaps: {
    pickUpS: 'Seconds to take hold',
    holdS: 'Seconds to hold still',
    quietS: 'Seconds to read the strip',
  } satisfies { readonly [g in keyof Gaps]: string },
  less: 'one less',
  more: 'one more',
  pace: (g: Gaps): string => `take hold ${g.pickUpS} s, hold ${g.holdS} s, read ${g.quietS} s`,
  close: 'Close',
};

/** "Sound on, no vibration, screen stays on". */
export const cueLine = (s: { sound: boolean; buzz: boolean; awake: boolean }): string =>
  [
    s.sound ? text.on.sound : text.off.sound,
    s.buzz ? text.on.buzz : text.off.buzz,
    s.awake ? text.screen.on : text.screen.may,
  ].join(', ');
