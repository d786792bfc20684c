/** Keeps the screen on while a task is open, where the browser can. Taken again after the page was away. */

export type ScreenLock = { release(): void };

/** `changed` is told whether the screen is kept on now. */
export function keepScreenOn(changed: (on: boolean) => void, doc: Document = document): ScreenLock {
  const lock = navigator.wakeLock as WakeLock | undefined;
  let held: WakeLockSentinel | undefined;
  let wanted = true;
  let asking = false;

  async function take(): Promise<void> {
    if (!lock || !wanted || asking || held || doc.visibilityState !== 'visible') return;
    asking = true;
    try {
      const got = await lock.request('screen');
      if (!wanted) {
        await got.release();
        return;
      }
      held = got;
      // The phone may take it back at any time; an old handle must not stand in the way of a new one.
      got.addEventListener('release', () => {
        if (held === got) held = undefined;
        changed(false);
      });
      changed(true);
    } catch {
      changed(false); // low battery, or not allowed: the words say so
    } finally {
      asking = false;
    }
  }

  const shown = () => void take();
  doc.addEventListener('visibilitychange', shown);
  void take();
  return {
    release() {
      wanted = false;
      doc.removeEventListener('visibilitychange', shown);
      void held?.release().catch(() => undefined);
      held = undefined;
    },
  };
}
