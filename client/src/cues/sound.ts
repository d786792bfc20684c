/**
 * Sound from the phone. A context is made or resumed in the tap itself, all cues are scheduled at once, and while they play the
 * audio clock is watched: one that stands still (after a call, on some phones) is thrown away and a new one gets the rest.
 */
import type { Cue } from '../domain/task';
import { renderCues, type Voice } from './tones';

/** The audio clock counts as stopped when it has not moved for this long while it was looked at (150 ms). */
const stoppedMs = 150;
/** Looks further apart than this say nothing about the clock in between: the page was busy. */
const lookMs = 120;
/** A clock that started late is lined up once; later only when it is this far off (our choice; the bar is 50 ms). */
const driftS = 0.04;

type Play = { cues: readonly Cue[]; startMs: number; voices: readonly Voice[]; from: number; lined: boolean };

export type Sound = ReturnType<typeof createSound>;

/** `now` is performance.now(): the clock of event.timeStamp. */
export function createSound(now: () => number = () => performance.now()) {
  let ctx: AudioContext | undefined;
  let playing: Play | undefined;
  let seen = { time: 0, movedAt: 0, lookedAt: 0 };

  function open(): AudioContext | undefined {
    if (typeof globalThis.AudioContext !== 'function') return undefined;
    try {
      ctx ??= new AudioContext({ latencyHint: 'interactive' });
      if (ctx.state !== 'running') void ctx.resume().catch(() => undefined);
    } catch {
      ctx = undefined; // no sound on this phone: the picture and the words go on
    }
    return ctx;
  }

  function lay(play: Play, audio: AudioContext): void {
    const begun = new Set(play.voices.filter((v) => v.at <= audio.currentTime).map((v) => v.cue));
    const kept = play.voices.filter((v) => begun.has(v.cue));
    for (const v of play.voices) if (!begun.has(v.cue)) v.cancel();
    play.from = audio.currentTime - (now() - play.startMs) / 1000;
    const rest = play.cues.filter((c) => !begun.has(c));
    play.voices = [...kept, ...renderCues(audio, rest, { sound: true, from: play.from })];
  }

  function close(): void {
    const old = ctx;
    ctx = undefined;
    if (old && old.state !== 'closed') void old.close().catch(() => undefined);
  }

  return {
    /** Wakes the context in a tap, so that it runs by the time it is needed. */
    wake: () => void open(),

    /** In the Start tap: schedules all of it. `startMs` is the tap's time. */
    play(cues: readonly Cue[], startMs: number): void {
      const audio = open();
      if (!audio) return;
      playing = { cues, startMs, voices: [], from: 0, lined: audio.state === 'running' && audio.currentTime > 0 };
      seen = { time: audio.currentTime, movedAt: now(), lookedAt: now() };
      lay(playing, audio);
    },

    /** Called at every paint while something plays. */
    look(): void {
      if (!playing) return;
      const at = now();
      const time = ctx?.currentTime ?? 0;
      const watched = at - seen.lookedAt < lookMs;
      if (ctx && time !== seen.time) {
        const drift = Math.abs((at - playing.startMs) / 1000 - (time - playing.from));
        if (!playing.lined || drift > driftS) {
          playing.lined = true;
          if (drift > 0.005) lay(playing, ctx);
        }
        seen = { time, movedAt: at, lookedAt: at };
      } else if (!watched) seen = { time, movedAt: at, lookedAt: at };
      else if (at - seen.movedAt < stoppedMs) seen = { ...seen, lookedAt: at };
      else {
        close();
        const fresh = open();
        playing.lined = false;
        playing.voices = [];
        seen = { time: fresh?.currentTime ?? 0, movedAt: at, lookedAt: at };
        if (fresh) lay(playing, fresh);
      }
    },

    /** Calls off what has not sounded yet, and what sounds. */
    stop(): void {
      const time = ctx?.currentTime ?? 0;
      for (const v of playing?.voices ?? []) if (v.until > time) v.cancel();
      playing = undefined;
    },

    /** Over by itself: the last tone rings out. */
    over(): void {
      playing = undefined;
    },

    close,
  };
}
