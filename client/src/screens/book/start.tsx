/** Where to start with a new mix: the studio's nearest recipes with the turns from now, else the trade's table. */
import { useEffect } from 'preact/hooks';
import { fromNow, type Near, nearest, tradeStarts } from '../../domain/recipe';
import { recipesOf } from '../../read';
import { text as frameText } from '../../text/frame';
import { text } from '../../text/start';
import { Card, Row } from '../../ui/card';
import { Columns } from '../../ui/columns';
import { AtPlace } from '../place';
import type { ScreenProps } from '../shell';
import { threadOption } from '../thread-form';
import { useRecipe } from './use-recipe';

/** As many recipes as are looked at (our choice). */
const mostShown = 4;

export function Start(props: ScreenProps) {
  const { state, send } = props;
  const { ctx } = state;
  useEffect(() => send({ type: 'load', kinds: ['recipe', 'recipeUse'] }), [send, state.machine]);
  const threads = new Map(ctx.threads.map((t) => [t.id, t]));
  const { recipes, worked } = recipesOf(state.rows);
  const near = nearest({ machine: ctx.machine, ...ctx.bench }, recipes, threads, worked).slice(0, mostShown);
  const own = near.some((n) => n.recipe.machine === ctx.machine);
  return (
    <AtPlace state={state} place="book">
      <h1>{text.title}</h1>
      <Columns
        left={<Mix {...props} />}
        right={
          <>
            {near.length === 0 && <p>{text.none}</p>}
            {near.length > 0 && <h2>{text.near}</h2>}
            {near.map((n) => (
              <Candidate key={n.recipe.id} {...props} near={n} />
            ))}
            {!own && <Trade {...props} />}
          </>
        }
      />
      <a class="button" href="/book">
        {text.back}
      </a>
    </AtPlace>
  );
}

function Mix({ state }: ScreenProps) {
  const { ctx } = state;
  const { bench } = ctx;
  const thread = (id: string | undefined) => {
    const t = ctx.threads.find((x) => x.id === id);
    return t ? threadOption(t).label : text.notSaid;
  };
  const now = ctx.bobbinCases.find((c) => c.id === bench.bobbinCase);
  const set = ctx.bobbinCases.find(
    (c) => bench.bobbinThread && c.setFor === bench.bobbinThread && (c.fits?.includes(ctx.machine) ?? true),
  );
  const words = frameText.bench;
  return (
    <Card
      title={text.mix}
      act={
        <a class="button small-act" href="/bench">
          {text.change}
        </a>
      }
    >
      <Row title={words.topThread} detail={thread(bench.topThread)} />
      <Row title={words.bobbinThread} detail={thread(bench.bobbinThread)} />
      <Row title={words.bobbinCase} detail={now?.label ?? text.notSaid} />
      <Row title={words.needle} detail={bench.needle || text.notSaid} />
      <Row title={words.batting} detail={bench.batting || text.notSaid} />
      {set && set.id !== now?.id && <p>{text.caseFor(set.label)}</p>}
    </Card>
  );
}

function Candidate({ state, send, near }: ScreenProps & { near: Near }) {
  const { recipe, differences, failed } = near;
  return (
    <Card title={recipe.name || text.near}>
      <p>{text.differences(differences)}</p>
      {failed && <p>{text.failed}</p>}
      {text.turns(fromNow(recipe, state.ctx), state.settings.units).map((words) => (
        <p key={words}>
          <b>{words}</b>
        </p>
      ))}
      <div class="acts">
        <button type="button" onClick={() => useRecipe(state, send, recipe.id)}>
          {text.use}
        </button>
        <a class="button" href={`/book/recipe/${recipe.id}`}>
          {text.open}
        </a>
      </div>
      <p class="small-text">{text.note}</p>
    </Card>
  );
}

function Trade({ state }: ScreenProps) {
  const { bench, threads } = state.ctx;
  const of = (id: string | undefined) => threads.find((t) => t.id === id);
  const rows = tradeStarts(of(bench.topThread), of(bench.bobbinThread)).slice(0, 2);
  return (
    <Card title={text.trade}>
      <p class="small-text">{rows.length > 0 ? text.tradeNote : text.tradeNone}</p>
      {rows.map(({ pair, exact }) => (
        <section key={pair.hint}>
          <h3>{text.pair(pair)}</h3>
          <p>{`${exact ? text.exact : text.close}, ${pair.sure === 'usual' ? text.usual : text.guess}`}</p>
          {text.pairRows(pair, state.settings.gauge).map(([what, much]) => (
            <Row key={what} title={what} end={<b>{much}</b>} />
          ))}
          <p>{text.hint(pair.hint)}</p>
        </section>
      ))}
      <p class="small-text">{text.note}</p>
    </Card>
  );
}
