/** What a task screen keeps beside the task itself: the pacing of a run, the screen that stays on, touches, typing. */
import { useEffect, useRef, useState } from 'preact/hooks';
import { createPacer, type Pacer } from '../../cues/pacer';
import type { Phase } from '../../cues/phase';
import { keepScreenOn } from '../../cues/wake-lock';
import { type TaskState, type Touch, touchCounts } from '../../domain/task';
import { text } from '../../text/cues';
import { turnMs } from './cue-sheet';
import { oneAtATime } from './one-at-a-time';

/** The pacer of this screen, and what it shows now. `passed` hears of each drop that is over. */
export function usePacer(passed: (drop: number) => void, flash: boolean) {
  const [phase, setPhase] = useState<Phase>();
  const [turned, setTurned] = useState(false);
  const now = useRef({ passed, flash });
  now.current = { passed, flash };
  const pacer = useRef<Pacer | undefined>(undefined);
  pacer.current ??= createPacer({
    shown: setPhase,
    passed: (drop) => now.current.passed(drop),
    ended: () => {
      if (!now.current.flash) return;
      setTurned(true);
      setTimeout(() => setTurned(false), turnMs);
    },
  });
  useEffect(() => () => pacer.current?.close(), []);
  return { pacer: pacer.current, phase, turned };
}

/** Sounds, shakes or says one cue to try it, away from any run. */
export function useTry(): (how: 'sound' | 'buzz' | 'voice') => void {
  const pacer = useRef<Pacer | undefined>(undefined);
  useEffect(() => () => pacer.current?.close(), []);
  return (how) => {
    pacer.current ??= createPacer({ shown: () => {}, passed: () => {}, ended: () => {} });
    pacer.current.tryCue('shake', how, text.numbers[0] ?? '');
  };
}

/** Whether the screen is kept on while this is mounted. */
export function useScreenOn(): boolean {
  const [on, setOn] = useState(false);
  useEffect(() => {
    const lock = keepScreenOn(setOn);
    return () => lock.release();
  }, []);
  return on;
}

const saidMs = 2500;

/**
 * Keeps touches that do not count from pressing anything: a palm, a long press, a touch while only Stop is live. `live` says
 * whether a target is asked for now. Returns whether the last one was not counted, for as long as that is said.
 */
export function useTouches(guarded: boolean, live: (target: Element) => boolean) {
  const [refused, setRefused] = useState(false);
  const now = useRef({ guarded, live });
  now.current = { guarded, live };
  useEffect(() => {
    const down = new Map<number, number>(); // pointer → when
    let most = 0;
    let timer: ReturnType<typeof setTimeout> | undefined;
    let swallow = false; // the click that this touch would become
    const press = (e: PointerEvent) => {
      if (down.size === 0) most = 0;
      down.set(e.pointerId, e.timeStamp);
      most = Math.max(most, down.size);
    };
    const lift = (e: PointerEvent) => {
      const since = down.get(e.pointerId);
      down.delete(e.pointerId);
      const target = e.target instanceof Element ? e.target : undefined;
      if (since === undefined || !now.current.guarded || !target) return;
      const touch: Touch = { pointers: most, heldMs: e.timeStamp - since, asking: now.current.live(target) };
      swallow = !touchCounts(touch);
      if (!swallow) return;
      setRefused(true);
      clearTimeout(timer);
      timer = setTimeout(() => setRefused(false), saidMs);
    };
    const gone = (e: PointerEvent) => void down.delete(e.pointerId);
    const click = (e: MouseEvent) => {
      if (swallow && e.detail > 0) {
        e.preventDefault();
        e.stopPropagation();
      }
      swallow = false;
    };
    addEventListener('pointerdown', press, true);
    addEventListener('pointerup', lift, true);
    addEventListener('pointercancel', gone, true);
    addEventListener('click', click, true);
    return () => {
      clearTimeout(timer);
      removeEventListener('pointerdown', press, true);
      removeEventListener('pointerup', lift, true);
      removeEventListener('pointercancel', gone, true);
      removeEventListener('click', click, true);
    };
  }, []);
  return refused;
}

/** Tells the task what is typed as it is typed; `flush` tells it at once. */
export function useTyping(task: TaskState, tell: (text: string, of: string | undefined) => void) {
  const now = useRef(tell);
  now.current = tell;
  const typing = useRef(oneAtATime((text, of) => now.current(text, of)));
  const { flush, taken, type } = typing.current;
  useEffect(taken, [task]);
  useEffect(() => {
    const hide = () => document.hidden && flush();
    document.addEventListener('visibilitychange', hide, true);
    addEventListener('pagehide', flush);
    return () => {
      document.removeEventListener('visibilitychange', hide, true);
      removeEventListener('pagehide', flush);
      flush();
    };
  }, []);
  return { flush, type };
}
