/**
 * The sounds of a paced test, laid out on the audio clock before the first of them is heard: what is scheduled there keeps
 * its time whatever the page is busy with. The same function fills a live context and an offline one.
 */
import type { Cue } from '../domain/task';

/** What a context must have: live and offline ones do. */
export type AudioLike = Pick<BaseAudioContext, 'currentTime' | 'destination' | 'createGain' | 'createOscillator'>;

export type CueSettings = {
  readonly sound: boolean;
  /** Time of the audio clock, in seconds, at which Start was tapped; may lie in its past. */
  readonly from: number;
};

/** One beep: pitch in Hz, when after its cue and how long in ms. */
export type Beep = { readonly hz: number; readonly atMs: number; readonly forMs: number };
/** A beep in its place on the audio clock (seconds), which can still be called off. */
export type Voice = { readonly cue: Cue; readonly at: number; readonly until: number; cancel(): void };

/** Low and high lie two octaves apart, the end on neither; all are loud on a phone's small speaker (our choice). */
const pitch = { number: 660, hold: 392, shake: 1568, tick: 1047, end: 784 } as const;
/** In ms. From the second drop on the second tick sounds at the same moment, so the count waits for it. */
const pip = { every: 160, long: 90, afterTick: 240 } as const;

/** The beeps of a cue. As many short ones as the number of the drop; the end holds at least 600 ms. */
export function beepsOf({ cue, drop }: Cue): readonly Beep[] {
  const hz = pitch[cue];
  switch (cue) {
    case 'number':
      return Array.from({ length: drop + 1 }, (_, i) => ({
        hz,
        atMs: (drop > 0 ? pip.afterTick : 0) + i * pip.every,
        forMs: pip.long,
      }));
    case 'hold':
      return [{ hz, atMs: 0, forMs: 450 }];
    case 'shake':
      return [{ hz, atMs: 0, forMs: 350 }];
    case 'tick':
      return [{ hz, atMs: 0, forMs: 70 }];
    case 'end':
      return [{ hz, atMs: 0, forMs: 900 }];
  }
}

const loudness = 0.5;
/** Seconds in which a beep comes and goes, so that it does not click. */
const ramp = 0.006;
/** A beep this late, in seconds, is left out, since it would say another time. The number of a drop asks for nothing yet. */
const tooLate = (cue: Cue) => (cue.cue === 'number' ? 0.3 : 0.03);

/** Schedules every beep that has not begun yet. */
export function renderCues(ctx: AudioLike, cues: readonly Cue[], { sound, from }: CueSettings): readonly Voice[] {
  if (!sound) return [];
  return cues.flatMap((cue) =>
    beepsOf(cue).flatMap((b) => {
      const at = from + (cue.atMs + b.atMs) / 1000;
      if (ctx.currentTime - at > tooLate(cue)) return [];
      return [voice(ctx, cue, b, Math.max(at, ctx.currentTime))];
    }),
  );
}

function voice(ctx: AudioLike, cue: Cue, { hz, forMs }: Beep, at: number): Voice {
  const until = at + forMs / 1000;
  const tone = ctx.createOscillator();
  const gain = ctx.createGain();
  tone.type = 'triangle';
  tone.frequency.value = hz;
  gain.gain.setValueAtTime(0, at);
  gain.gain.linearRampToValueAtTime(loudness, at + ramp);
  gain.gain.setValueAtTime(loudness, until - ramp);
  gain.gain.linearRampToValueAtTime(0, until);
  tone.connect(gain);
  gain.connect(ctx.destination);
  tone.onended = () => gain.disconnect();
  tone.start(at);
  tone.stop(until);
  return {
    cue,
    at,
    until,
    cancel() {
      tone.stop();
      tone.disconnect();
      gain.disconnect();
    },
  };
}
