/** A text field of a task: kept as typed in the state, taken only when it is fit to be a field of a record. */
import { line } from '../field';
import { limits } from '../records';
import type { Offer } from './task';

/** UTF-16 units of names and labels, and of a reason. */
export const nameLimit = limits.name;
export const reasonLimit = limits.reason;

export const writes = (text: string, of?: string): Offer => ({
  action: of === undefined ? { do: 'type', text } : { do: 'type', text, of },
  as: 'write',
});

/** The text to store, or undefined while it is blank, too long, or holds what a line of text can't. */
export function taken(text: string | undefined, limit: number): string | undefined {
  const trimmed = (text ?? '').trim();
  return trimmed === '' || line(limit)(trimmed) ? undefined : trimmed;
}
