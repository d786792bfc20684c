/** Listening for news of the studio while one tab leads: opened again when it ends, later and later while it can't be. */
import type { StreamEnd } from './transport';
import { backOff } from './when';

export type Listening = {
  /** Opens the stream and resolves when it ends; rejects where it can't be opened. */
  events(news: (upTo: number) => void, signal: AbortSignal): Promise<StreamEnd>;
  /** Resolves when the server has answered last time it was asked: nobody knocks at a door that is known to be shut. */
  answers(signal: AbortSignal): Promise<void>;
  /** A line came. */
  news(upTo: number): void;
  /** Something may have come while nobody listened, or the right ended. */
  unsure(): void;
  pause(ms: number, signal: AbortSignal): Promise<void>;
  random(): number;
};

/** A stream that ended well is opened again after so long. */
const reopenMs = 1000;

export async function listen(l: Listening, signal: AbortSignal): Promise<void> {
  let failures = 0;
  for (;;) {
    await l.answers(signal);
    if (signal.aborted) return;
    const heard = (upTo: number) => {
      failures = 0;
      l.news(upTo);
    };
    const end = await l.events(heard, signal).catch(() => 'unopened' as const);
    if (signal.aborted) return;
    if (end === 'token') continue; // signed in again with the next call
    failures++;
    await l.pause(failures > 1 || end === 'unopened' ? backOff(failures, l.random()) : reopenMs, signal);
    if (signal.aborted) return;
    l.unsure();
  }
}
