/**
 * Paces a drop test from one Start tap: sound goes onto the audio clock at once, and at every paint the rest follows from the
 * time since that tap. It says when a drop is over; it knows nothing of tasks.
 */
import { type Cue, type Gaps, schedule } from '../domain/task';
import { cuesBetween, type Phase, passedAt, phaseAt } from './phase';
import { buzz, speak, stopBuzz, stopSpeaking } from './senses';
import { createSound } from './sound';

export type Senses = {
  readonly sound: boolean;
  readonly buzz: boolean;
  readonly voice: boolean;
  readonly numbers: readonly string[]; // what a voice says for each drop
};

export type Pacer = ReturnType<typeof createPacer>;

type Run = { readonly startMs: number; readonly gaps: Gaps; readonly drops: number; readonly cues: readonly Cue[] };

/** `shown` is called when the word or the count changes, `passed` when the quiet after a drop is over. */
export function createPacer(on: { shown(phase: Phase | undefined): void; passed(drop: number): void; ended(): void }) {
  const sound = createSound();
  let run: Run | undefined;
  let frame = 0;
  let senses: Senses = { sound: true, buzz: true, voice: false, numbers: [] };
  let felt = -1; // ms since Start up to which cues were felt and said
  let passed = 0;
  let last = '';

  function paint(): void {
    if (!run) return;
    const { gaps, drops, cues } = run;
    const ms = performance.now() - run.startMs;
    if (senses.sound) sound.look();
    const phase = phaseAt(gaps, drops, ms);
    const key = `${phase.drop} ${phase.name} ${phase.left}`;
    if (key !== last) on.shown(phase);
    last = key;
    for (const cue of cuesBetween(cues, felt, ms).slice(-2)) {
      if (senses.buzz) buzz(cue);
      if (senses.voice && cue.cue === 'number') speak(senses.numbers[cue.drop] ?? '');
    }
    felt = ms;
    for (const upTo = passedAt(gaps, drops, ms); passed < upTo; passed++) on.passed(passed);
    if (phase.name === 'over') {
      run = undefined;
      sound.over();
      on.ended();
      return;
    }
    frame = requestAnimationFrame(paint);
  }

  function halt(): void {
    cancelAnimationFrame(frame);
    run = undefined;
    sound.stop();
    stopBuzz();
    stopSpeaking();
    on.shown(undefined);
  }

  return {
    /** Wakes the sound in an earlier tap, so that the first tone is not late. */
    wake: sound.wake,
    /** In the tap: `startMs` is event.timeStamp. */
    start(startMs: number, gaps: Gaps, drops: number, how: Senses): void {
      halt();
      const cues = schedule(gaps, drops);
      run = { startMs, gaps, drops, cues };
      senses = how;
      felt = -1;
      passed = 0;
      last = '';
      if (how.sound) sound.play(cues, startMs);
      paint();
    },
    stop: halt,
    /** Milliseconds since Start at a moment of performance.now(), or undefined when nothing is paced. */
    sinceStart: (atMs: number): number | undefined => run && Math.max(0, atMs - run.startMs),
    /** Sounds, shakes or says one cue, to try it. */
    tryCue(cue: Cue['cue'], how: 'sound' | 'buzz' | 'voice', word: string): void {
      const one: Cue = { atMs: 0, cue, drop: 0 };
      if (how === 'sound') {
        sound.wake(); // on a slow phone this takes longer than a beep may be late
        sound.play([one], performance.now());
      } else if (how === 'buzz') buzz(one);
      else speak(word);
    },
    close(): void {
      halt();
      sound.close();
    },
  };
}
