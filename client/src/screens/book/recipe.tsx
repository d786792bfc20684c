/** A recipe: a whole setting that worked, and what it would take to go back to it from now. */

import { position, topScrew } from '../../domain/task';
import { recipeName, recipeNow } from '../../domain/task/recipe-now';
import { bothKept, find, type Json, list, newId, plain, shown } from '../../read';
import type { Send, State } from '../../state';
import { move } from '../../text/amount';
import { text } from '../../text/book';
import { text as paperText } from '../../text/paper';
import { text as shellText, when } from '../../text/shell';
import { Card, Row } from '../../ui/card';
import { Field } from '../../ui/field';
import { AtPlace } from '../place';
import type { ScreenProps } from '../shell';
import { KeptWhere } from './kept-where';
import { Photos } from './note';
import { valueWords } from './recipe-words';
import { benchFields, materials, useRecipe } from './use-recipe';
import { Versions } from './versions';

/** Keeps what is set up now. */
export function keepRecipe(state: State, send: Send): void {
  const id = newId();
  const fields = Object.entries(recipeNow(state.ctx)).filter((e): e is [string, Json] => e[1] !== undefined);
  const set = { ...Object.fromEntries(fields), name: recipeName(state.ctx) || text.recipe, zone: state.ctx.zone };
  send({ type: 'write', drafts: [{ kind: 'recipe', id, set }], goTo: `/book/recipe/${id}` });
}

export function Recipe(props: ScreenProps & { id: string }) {
  const { state, send, id } = props;
  const row = find(state.rows, 'recipe', id);
  if (!row)
    return (
      <AtPlace state={state} place="book">
        <h1>{text.recipe}</h1>
        <p>{shellText.opening}</p>
      </AtPlace>
    );
  const r = plain(row);
  const uses = list(state.rows, 'recipeUse')
    .filter((u) => shown(u, 'recipe') === id)
    .toReversed();
  const used = (worked: boolean) =>
    send({
      type: 'write',
      drafts: [
        { kind: 'recipeUse', id: newId(), set: { recipe: id, worked, machine: state.machine, zone: state.ctx.zone } },
      ],
    });
  return (
    <AtPlace state={state} place="book">
      <h1>{String(r.name || text.recipe)}</h1>
      <Card title={text.settings}>
        {Object.keys(text.fields)
          .filter((f) => r[f] !== undefined && r[f] !== '')
          .map((f) => (
            <Row
              key={f}
              title={text.fields[f]}
              detail={valueWords(state, f, r[f])}
              end={against(state, r.machine, f, r[f])}
            />
          ))}
        <button type="button" class="paired wide" onClick={() => useRecipe(state, send, id, materials(r))}>
          {text.use}
        </button>
        <p class="small-text">{text.useNote}</p>
        <div class="acts">
          <button type="button" onClick={() => used(true)}>
            {text.worked}
          </button>
          <button type="button" onClick={() => used(false)}>
            {text.didNot}
          </button>
        </div>
        {uses.map((u) => (
          <Row key={u.id} title={shown(u, 'worked') === true ? text.workedOn : text.didNotOn} end={when(u.t)} />
        ))}
      </Card>
      {bothKept(row)
        .filter((field) => field === 'name' || field === 'text')
        .map((field) => (
          <Versions key={field} {...props} row={row} field={field} />
        ))}
      {(['name', 'text'] as const).map((field) => (
        <Field
          key={field}
          label={field === 'name' ? text.name : text.words}
          kind={field === 'text' ? 'long' : 'text'}
          value={state.drafts.get(`recipe/${id}/${field}`) ?? String(r[field] ?? '')}
          onInput={(t) => send({ type: 'typed', kind: 'recipe', id, field, text: t })}
          onLeave={() => send({ type: 'left-field', kind: 'recipe', id, field })}
        />
      ))}
      <KeptWhere
        {...props}
        row={row}
        typed={['name', 'text'].some((field) => state.drafts.has(`recipe/${id}/${field}`))}
      />
      <Photos {...props} parentKind="recipe" parent={id} />
      <div class="acts">
        <a class="button" href="/book">
          {text.done}
        </a>
        <a class="button" href={`/paper/recipe/${id}`}>
          {paperText.printCard}
        </a>
        <button type="button" onClick={() => send({ type: 'remove', kind: 'recipe', id, goTo: '/book' })}>
          {text.remove}
        </button>
      </div>
    </AtPlace>
  );
}

/** What differs from now, as the turn to make where it is a screw. */
function against(state: State, machine: Json | undefined, field: string, value: Json | undefined): string | undefined {
  if (field === 'topMinutesFromFlush' && typeof value === 'number') {
    if (machine !== state.machine) return undefined; // another machine's knob
    const now = position(state.ctx, topScrew(state.machine));
    return now === 'lost' ? undefined : now.known === value ? text.same : move(value - now.known);
  }
  const bench = (benchFields as readonly string[]).includes(field)
    ? state.ctx.bench[field as (typeof benchFields)[number]]
    : undefined;
  if (bench === undefined) return undefined;
  return bench === value ? text.same : `${text.now}: ${valueWords(state, field, bench)}`;
}
