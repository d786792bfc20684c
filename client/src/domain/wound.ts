/** Bobbins that are wound and ready: one line, counted down by each new bobbin. */

/** One-tap facts about bobbins, oldest first. */
export type BobbinEvent = { readonly type: string; readonly count?: number; readonly thread?: string };

/**
 * How many wound bobbins are left of a thread: as many as somebody counted last, less the new bobbins put in since, never
 * below none. An event that names no thread counts for every one.
 */
export function woundLeft(events: readonly BobbinEvent[], thread: string | undefined): number | undefined {
  let left: number | undefined;
  for (const e of events) {
    if (e.thread !== undefined && e.thread !== thread) continue;
    if (e.type === 'wound') left = e.count ?? 0;
    else if (e.type === 'new-bobbin' && left !== undefined) left = Math.max(0, left - 1);
  }
  return left;
}
