/** Taking a recipe as the place to start from. */

import { fromNow, type Recipe } from '../../domain/recipe';
import { topScrew } from '../../domain/task';
import type { Json } from '../../read';
import type { Send, State } from '../../state';

/** What is on the bench that a recipe says too. */
export const benchFields = [
  ...(['topThread', 'bobbinThread', 'bobbinKind', 'bobbinCase', 'needle', 'batting', 'backing'] as const),
];

/** The turn of the top knob from now to a recipe: a task to begin, or nothing to do. */
export function beginTop(state: State, send: Send, recipe: Recipe): boolean {
  const screw = topScrew(state.machine);
  const { top } = fromNow(recipe, state.ctx);
  if (top === 'neutral-first') send({ type: 'begin', task: 'change-screw', with: { door: 'neutral', screw } });
  else if (top && 'minutes' in top && top.minutes !== 0)
    send({
      type: 'begin',
      task: 'change-screw',
      with: { door: 'about', screw, minutes: top.minutes, wanted: top.minutes },
    });
  else return false;
  return true;
}

/** What a recipe says of the bench. */
export const materials = (r: { readonly [field: string]: Json }): { readonly [field: string]: Json } =>
  Object.fromEntries(benchFields.filter((f) => r[f] !== undefined).map((f) => [f, r[f] as Json]));

/** Remembers on the bench what was started from, with the recipe's materials where it is the same mix again. Frame says what comes next. */
export function useRecipe(state: State, send: Send, id: string, of: { readonly [field: string]: Json } = {}): void {
  send({ type: 'write', drafts: [{ kind: 'bench', id: state.machine, set: { ...of, startedFrom: id } }], goTo: '/' });
}
