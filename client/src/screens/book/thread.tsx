/** One thread: what its label counts in, what that is in other counts, how thick it is. All of it may stay unknown. */
import {
  type CountSystem,
  fibreDensity,
  fromTex,
  pliesOf,
  printed,
  systems,
  takesPlies,
  texOf,
  thicknessOf,
  usualPacking,
  worth,
} from '../../domain/thread';
import { find } from '../../read';
import { text as shellText } from '../../text/shell';
import { number } from '../../text/sizes';
import { text } from '../../text/threads';
import { Card, Row } from '../../ui/card';
import { Columns } from '../../ui/columns';
import { AmountField } from '../amount';
import { Choice } from '../choice';
import { AtPlace } from '../place';
import type { ScreenProps } from '../shell';
import { threadOption } from '../thread-form';
import { Words } from '../typed';
import { Which } from '../which';

export function ThreadPage(props: ScreenProps & { id: string }) {
  const { state, send, id } = props;
  const thread = state.ctx.threads.find((t) => t.id === id);
  if (!thread || !find(state.rows, 'thread', id))
    return (
      <AtPlace state={state} place="book">
        <h1>{text.thread}</h1>
        <p>{shellText.opening}</p>
      </AtPlace>
    );
  const at = (field: string) => ({ kind: 'thread', id, field });
  const set = (more: { readonly [field: string]: string | null }) =>
    send({ type: 'write', drafts: [{ kind: 'thread', id, set: more }] });
  const size = texOf(thread);
  const counted = thread.countSystem && thread.countThousandths;
  const plied = pliesOf(thread) > 1;
  const mm = thicknessOf(thread);
  const density = fibreDensity(thread.fibre);
  const words = { number: text.label, fibre: text.fibre, name: text.name } as const;
  return (
    <AtPlace state={state} place="book">
      <h1>{threadOption(thread).label}</h1>
      <Columns
        left={
          <Card>
            <Which {...props} kind="thread" id={id} names={words} />
            {(Object.keys(words) as (keyof typeof words)[]).map((field) => (
              <Words key={field} {...props} kind="thread" id={id} field={field} label={words[field]} />
            ))}
            <label class="field">
              <span>{text.colour}</span>
              <input
                type="color"
                value={thread.colour ?? '#808080'}
                onChange={(e) => set({ colour: e.currentTarget.value })}
              />
            </label>
            <AmountField
              {...props}
              place={at('coneM')}
              amount={{ per: 1, least: 1, most: 1_000_000 }}
              label={text.cone}
              unit="m"
            />
            <Words {...props} kind="thread" id={id} field="text" label={text.notes} long />
          </Card>
        }
        right={
          <Card title={text.count}>
            <p>{text.from(counted ? thread.countSystem : undefined, printed(thread.number ?? ''), plied)}</p>
            <Choice
              name="countSystem"
              legend={text.countSystem}
              names={text.systems}
              chosen={thread.countSystem ? [thread.countSystem] : []}
              onChoose={(system, on) => set({ countSystem: on ? system : null })}
            />
            {thread.countSystem && (
              <AmountField
                {...props}
                place={at('countThousandths')}
                amount={{ per: 1000, least: 0.1, most: 100_000 }}
                label={text.countFigure}
                hint={text.countHint}
              />
            )}
            {thread.countSystem && takesPlies(thread.countSystem) && (
              <AmountField
                {...props}
                place={at('countPlies')}
                amount={{ per: 1, least: 1, most: 24 }}
                label={text.plies}
              />
            )}
            {size && <Counts of={size} own={plied ? undefined : counted ? thread.countSystem : 'wt'} />}
            {density !== undefined && <Row title={text.density} detail={text.densityOf(density)} />}
            <Row title={text.diameter} detail={mm === undefined ? text.noDiameter : text.diameterOf(mm)} />
            <AmountField
              {...props}
              place={at('packingPercent')}
              amount={{ per: 1, least: 20, most: 95 }}
              usual={usualPacking * 100}
              label={text.packing}
              hint={text.packingHint}
              unit="%"
            />
          </Card>
        }
      />
      <div class="acts">
        <a class="button" href="/book/threads">
          {text.back}
        </a>
        <button type="button" onClick={() => send({ type: 'remove', kind: 'thread', id, goTo: '/book/threads' })}>
          {text.remove}
        </button>
      </div>
    </AtPlace>
  );
}

/** The size in every count but that of the label, each with what it is worth. */
function Counts({ of, own }: { of: NonNullable<ReturnType<typeof texOf>>; own: CountSystem | undefined }) {
  return (
    <>
      <h3>{text.inOthers}</h3>
      {systems
        .filter((system) => system !== own)
        .map((system) => (
          <Row
            key={system}
            title={text.systems[system]}
            detail={of.worth === 'exact' && worth(system) === 'exact' ? text.exact : text.estimate}
            end={number(fromTex(of.tex, system), 1)}
          />
        ))}
    </>
  );
}
