/** A recipe on a card: its stitch, its setting, and a code that holds all of it. */
import { useEffect } from 'preact/hooks';
import { recipeCode } from '../../domain/paper-code';
import { toPaper } from '../../domain/paper-recipe';
import { usable } from '../../domain/records';
import { codeSquareMm, type Paper as Size } from '../../domain/sheet';
import { stitchOfScore } from '../../domain/stitch-symptoms';
import { find, plain } from '../../read';
import { text as bookText } from '../../text/book';
import { text } from '../../text/paper';
import { scoreSays } from '../../text/scores';
import { text as shellText, whenOnPaper } from '../../text/shell';
import { Facts, Paper } from '../../ui/paper';
import { Qr } from '../../ui/qr';
import { StitchView } from '../../ui/stitch-view';
import { valueWords } from '../book/recipe-words';
import type { ScreenProps } from '../shell';

export function RecipeCard({ state, send, size, id }: ScreenProps & { size: Size; id: string }) {
  useEffect(() => send({ type: 'load', kinds: ['recipe'] }), [send, state.machine]);
  const row = find(state.rows, 'recipe', id);
  if (!row) return <p>{shellText.opening}</p>;
  const { fields } = usable('recipe', plain(row));
  const made = recipeCode(toPaper(id, fields, state.ctx));
  const colour = (thread: unknown) => state.ctx.threads.find((t) => t.id === thread)?.colour;
  const score = typeof fields.score === 'number' ? fields.score : undefined;
  const rows = Object.keys(bookText.fields)
    .filter((f) => fields[f] !== undefined)
    .map((f) => [bookText.fields[f] ?? f, valueWords(state, f, fields[f])] as const);
  return (
    <Paper size={size} title={text.recipeCard(String(fields.name ?? bookText.recipe))} bar={text.bar}>
      <div class="side">
        {made ? (
          <Qr text={made.code} label={text.recipeCode} instead={text.recipeNoCode} squareMm={codeSquareMm} />
        ) : (
          <p>{text.recipeNoCode}</p>
        )}
        <div>
          <StitchView
            params={stitchOfScore(score)}
            label={text.stitch(score === undefined ? undefined : scoreSays[score])}
            size={size === 'card' ? 130 : 240}
            topColour={colour(fields.topThread)}
            bobbinColour={colour(fields.bobbinThread)}
          />
          {score === undefined && <p>{text.stitchAim}</p>}
        </div>
      </div>
      <Facts rows={rows} />
      {fields.text && <p class="said">{String(fields.text)}</p>}
      {made?.without && <p>{text.recipeWithout}</p>}
      <p>
        <b>{text.recipeStart}</b> {text.recipeHow}
      </p>
      <p>{text.printed(whenOnPaper(state.ctx.now))}</p>
    </Paper>
  );
}
