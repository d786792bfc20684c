/** What each task is for, in three sentences, and the words of the lock that is moved by hand and of the white light. */
import type { Pull } from '../domain/lock-depth';
import type { TaskName } from '../domain/task';

export const text = {
  title: 'How it works',
  intro: 'Two threads lock in the middle of the sandwich. Whichever pulls harder draws the lock to its own side.',
  tasks: 'What each task does',
  close: 'Close',
  lock: 'Where the threads lock',
  lockHow: 'Move the lock and look at the three views: top face, cut, back face.',
  topHarder: 'Top pulls harder',
  bobbinHarder: 'Bobbin pulls harder',
  middle: 'Back to the middle',
  either: 'Harder can also mean that the other pulls too little: the drop test tells which.',
  clock: 'A clock with a hand at 12, dashed, and one at 1: five minutes, one hour mark',
  light: 'White light',
  lightNote: 'With power off the head is dark: the whole screen turns white and stays on.',
  lightFirst: 'Power off first. Turn the phone’s brightness up.',
  lightOff: 'Light off',
};

const pulls = {
  top: [
    'The top thread pulls harder: bobbin colour shows in the holes on top, the back is clean.',
    'The top thread pulls much harder: it lies on the cloth like a wire and draws the bobbin thread up.',
  ],
  bobbin: [
    'The bobbin thread pulls harder: top colour shows in the holes on the back, the top is clean.',
    'The bobbin thread pulls much harder: it lies on the back like a wire and draws the top thread down.',
  ],
  neither: ['Both pull alike: the lock lies in the batting, and each face shows its own thread only.', ''],
} as const;

export const pullWords = ({ harder, much }: Pull): string => pulls[harder][much ? 1 : 0];

/** Three sentences a task: what for, what is done, what comes of it. */
export const help: { readonly [task in TaskName]: readonly [string, string, string] } = {
  'first-run': [
    'Every turn, drop and note belongs to a machine, so the machine gets a name first.',
    'One name is enough; threads, needle and batting are told later, when they are asked for or changed.',
    'From then on Frame shows what is set up and what was done last.',
  ],
  balance: [
    'The bobbin is settled first, then the top, and nothing but one thing is changed between two samples.',
    'Each round sews two lines away and toward you, looks at both faces and offers the next step with its reason.',
    'It ends when the stitch is good enough for this work, is left for now, or belongs to a technician.',
  ],
  'drop-test': [
    'It tells how hard the bobbin case holds its thread, without a gauge.',
    'The case hangs by its thread over your other hand; the phone counts, you give one shake, and you read how far it fell.',
    'Three drops that agree are a reading, and the answer looks at what was turned since the last one.',
  ],
  'change-screw': [
    'A screw is turned by minutes on a clock: 60 is one whole turn, and the clock is drawn as the screw faces you.',
    'Turn it with the machine stopped, then write down what you turned, so that there is a way back.',
    'If the count is lost, say so: a neutral place and a drop test begin a new one.',
  ],
  'top-feel': [
    'It tells how hard the top tension holds, before anything is sewn.',
    'With the foot down the thread is drawn from behind the needle, slowly, and felt against what is usual for you.',
    'Stiff or light says which way to look first; it does not settle the knob.',
  ],
  sew: [
    'Two short lines on the same sandwich show what the settings do now.',
    'Sew one away from you and one toward you, then power off, and look at both faces under good light.',
    'Lines that differ from one another speak of direction, not of tension; then the star is sewn.',
  ],
  see: [
    'What is on the cloth tells more than where the knob stands.',
    'Say on which face it shows and what it looks like; any question may be skipped, and “Can’t tell” is an answer.',
    'What fits best comes with a check that takes less than two minutes, and tension is not always the cause.',
  ],
  'first-five': [
    'Five plain things cure more than any knob does.',
    'Thread again from the cone, put in a new needle, draw a card under the case spring, drop three times, sew two lines.',
    'If the fault is still there afterwards, the questions about it begin with these ruled out.',
  ],
  stop: [
    'After a strike, a jam, a knock or heat the machine is looked over before it sews again.',
    'Power off comes first, then one look after another; a white light helps in the dark head.',
    'One bad answer marks the machine “do not run” for everybody until somebody lifts it with a reason.',
  ],
  lift: [
    '“Do not run” stands on every phone of the studio.',
    'Whoever knows that the machine is safe again takes it away and says why.',
    'The reason stays in the book with the name and the day.',
  ],
  ask: [
    'Some advice needs one fact about this machine that nobody has told yet.',
    'It is asked once, just before it matters, and kept with the machine.',
    'If you don’t know it, say so: the manual does, and what needs it waits.',
  ],
};
