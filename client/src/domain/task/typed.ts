/** A text field of a task: kept as typed in the state, taken only when it is fit to be a field of a record. */
import type { Offer } from './task';

/** Names and labels, in UTF-16 units (our choice: two lines of a card). */
export const nameLimit = 80;
/** A reason, in UTF-16 units (our choice: a short paragraph). */
export const reasonLimit = 1_000;

export const writes = (text: string, of?: string): Offer => ({
  action: of === undefined ? { do: 'type', text } : { do: 'type', text, of },
  as: 'write',
});

/** The text to store, or undefined while it is blank or too long. */
export function taken(text: string | undefined, limit: number): string | undefined {
  const trimmed = (text ?? '').trim();
  return trimmed !== '' && trimmed.length <= limit ? trimmed : undefined;
}
