/** What a field of a recipe says. */
import type { State } from '../../state';
import { dialNumber, far, lengthIn } from '../../text/amount';
import { text as benchText } from '../../text/bench';
import { text } from '../../text/book';
import { text as frameText } from '../../text/frame';
import { scoreSays } from '../../text/scores';
import { nameOf } from './search';

export function valueWords(state: State, field: string, value: unknown): string {
  if (field === 'dropTenthsIn' && typeof value === 'number') return lengthIn(value, state.settings.units);
  if (field === 'topDialTenths' && typeof value === 'number') return dialNumber(value);
  if ((field === 'topMinutesFromFlush' || field === 'bobbinMinutesHint') && typeof value === 'number')
    return value === 0 ? frameText.flush : frameText.fromNeutral(far(value), value > 0);
  if (field === 'score' && typeof value === 'number') return capital(scoreSays[value] ?? '');
  for (const kind of ['machine', 'bobbinCase', 'thread']) {
    const name = nameOf(state.rows, kind, value);
    if (name) return name;
  }
  const named = typeof value === 'string' && Object.hasOwn(coded, field) ? coded[field]?.[value] : undefined;
  return named ?? String(value ?? '');
}

/** Words for what a recipe keeps as codes. */
const coded: { readonly [field: string]: { readonly [code: string]: string } } = {
  bobbinKind: benchText.kinds,
  work: benchText.works,
  fill: text.fills,
};

const capital = (words: string): string => words.charAt(0).toUpperCase() + words.slice(1);
