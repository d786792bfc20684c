/** On Frame, once the rest stands: what was started from, and what care is due. */
import { useEffect } from 'preact/hooks';
import { careNow, dueNow } from '../domain/care';
import { handOver } from '../domain/hand-over';
import { pendingStart } from '../domain/recipe';
import { woundLeft } from '../domain/wound';
import { careInput, recipesOf } from '../read';
import { text as bobbinText } from '../text/bobbins';
import { text } from '../text/care';
import { text as frameText } from '../text/frame';
import { text as startText } from '../text/start';
import { Card, Notice, Row } from '../ui/card';
import { beginTop } from './book/use-recipe';
import { CareAct } from './care-acts';
import type { ScreenProps } from './shell';
import { threadOption } from './thread-form';
import { personName } from './who';

/** As many lines as Frame has room for (our choice). */
const mostDue = 3;

/** "A start, not a setting": stays until two lines were sewn. */
export function Started({ state, send }: ScreenProps) {
  const id = pendingStart(state.ctx);
  useEffect(() => {
    if (id) send({ type: 'load', kinds: ['recipe', 'recipeUse'] });
  }, [id, send]);
  const recipe = recipesOf(state.rows).recipes.find((r) => r.id === id);
  if (!recipe) return null;
  return (
    <Notice text={startText.startedFrom(recipe.name ?? '')}>
      <button type="button" class="small-act" onClick={() => send({ type: 'begin', task: 'drop-test' })}>
        {startText.dropFirst}
      </button>
      <button type="button" class="small-act" onClick={() => beginTop(state, send, recipe)}>
        {startText.turnTop}
      </button>
      <button type="button" class="small-act" onClick={() => send({ type: 'begin', task: 'sew' })}>
        {startText.sew}
      </button>
    </Notice>
  );
}

/** One line: the wound bobbins that are left of the thread that is in. */
export function Wound({ state }: ScreenProps) {
  const { bench, events, threads } = state.ctx;
  const left = woundLeft(events, bench.bobbinThread);
  if (left === undefined) return null;
  const thread = threads.find((t) => t.id === bench.bobbinThread);
  return <p>{bobbinText.woundNow(left, thread ? threadOption(thread).label : '')}</p>;
}

export function Due(props: ScreenProps) {
  const { state } = props;
  const due = dueNow(careNow(careInput(state.rows, state.ctx)));
  const link = (
    <a class="button small-act" href="/care">
      {due.length > mostDue ? text.more(due.length - mostDue) : text.all}
    </a>
  );
  if (due.length === 0) return link;
  return (
    <Card title={text.due} act={link}>
      <p class="small-text">{text.stop}</p>
      {due.slice(0, mostDue).map((s) => (
        <Row
          key={s.item.id}
          title={text.name(s.item.id)}
          detail={text.stateOnFrame(s)}
          end={<CareAct {...props} of={s} />}
        />
      ))}
    </Card>
  );
}

/** A machine that was handed over and that nobody has yet is spoken of this long (3 days: our choice). */
const untakenMs = 3 * 24 * 3600 * 1000;

/** "Handed over by Wenna: watch it." Until somebody has it. */
export function HandedOver({ state, send }: ScreenProps) {
  const { said, taken } = handOver(state.ctx);
  const open = said?.given !== undefined && !taken && state.ctx.now - said.at < untakenMs;
  useEffect(() => {
    if (open) send({ type: 'load', kinds: ['person'] });
  }, [open, send, state.machine]);
  if (!open) return null;
  return (
    <Notice text={frameText.handedOver(personName(state, said.by), frameText.verdicts[said.verdict])}>
      <a class="button small-act" href="/hand-over">
        {frameText.seePage}
      </a>
    </Notice>
  );
}
