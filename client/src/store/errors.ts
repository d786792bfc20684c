/** Why the store can't do what was asked; the screen has a sentence for each. */

export type Reason =
  | 'full' // no room left on this phone
  | 'blocked' // another tab holds an older database open
  | 'lost' // the browser took the database away, twice
  | 'newer' // written by a later version of the program
  | 'refused'; // over a limit of the format, or not of it

export class StoreError extends Error {
  constructor(
    readonly reason: Reason,
    cause?: unknown,
  ) {
    super(`store: ${reason}`, { cause });
  }
}

const lost = ['InvalidStateError', 'UnknownError', 'AbortError', 'TransactionInactiveError'];

/** A browser's error as one of ours; anything else as it is. */
export function failure(e: unknown): unknown {
  if (typeof e !== 'object' || e === null || !('name' in e)) return e;
  if (e.name === 'QuotaExceededError') return new StoreError('full', e);
  if (e.name === 'VersionError') return new StoreError('newer', e);
  return lost.includes(String(e.name)) ? new StoreError('lost', e) : e;
}
