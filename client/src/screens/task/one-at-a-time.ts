/** An answer of the task may fail to come (400 ms): then what is typed is told all the same. */
const longestMs = 400;

/**
 * Tells what is typed at once, and while the task takes that in, holds what comes for one telling right after: a browser
 * that is killed has lost the keys of a few milliseconds at most. `taken` says that the task has it; `flush` waits for nothing.
 */
export function oneAtATime(tell: (text: string, of: string | undefined) => void) {
  let held: { text: string; of: string | undefined } | undefined;
  let under: ReturnType<typeof setTimeout> | undefined;
  function flush(): void {
    if (!held) return;
    const { text, of } = held;
    held = undefined;
    clearTimeout(under);
    under = setTimeout(taken, longestMs);
    tell(text, of);
  }
  function taken(): void {
    clearTimeout(under);
    under = undefined;
    flush();
  }
  return {
    flush,
    taken,
    type(text: string, of?: string): void {
      if (held && held.of !== of) flush();
      held = { text, of };
      if (under === undefined) flush();
    },
  };
}
