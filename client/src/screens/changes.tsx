/** The ledger, newest first. Each line keeps its two ways back for good. */
import { useEffect } from 'preact/hooks';
import { bobbinScrew, type Ctx, pointsBack, topScrew } from '../domain/task';
import { heads } from '../domain/task/ledger';
import { concurrent } from '../domain/task/twice';
import { newId } from '../read';
import { dialNumber, move, screwName } from '../text/amount';
import { text, ways } from '../text/changes';
import { changeWhy } from '../text/reasons';
import { when } from '../text/shell';
import { Card, Notice } from '../ui/card';
import { Columns } from '../ui/columns';
import { AtPlace } from './place';
import type { ScreenProps } from './shell';
import { standsWords } from './stands';

type Change = Ctx['changes'][number];

export function Changes(props: ScreenProps) {
  const { state, send } = props;
  const { top, bobbin } = useScrews(props);
  return (
    <AtPlace state={state} place="changes">
      <h1>{text.title}</h1>
      <button
        type="button"
        class="paired wide"
        onClick={() => send({ type: 'begin', task: 'change-screw', with: { door: 'turned' } })}
      >
        {text.turn}
      </button>
      {top.length + bobbin.length === 0 && <p>{text.empty}</p>}
      <Columns left={<Screws {...props} screws={top} />} right={<Screws {...props} screws={bobbin} />} />
    </AtPlace>
  );
}

/** The whole ledger in one column, to stand beside the machine on a desk. */
export function Ledger(props: ScreenProps) {
  const { top, bobbin } = useScrews(props);
  return (
    <section class="column" aria-label={text.title}>
      {top.length + bobbin.length === 0 && <p>{text.empty}</p>}
      <Screws {...props} screws={[...top, ...bobbin]} />
    </section>
  );
}

/** The screws of this machine that something was written of. */
function useScrews({ state, send }: ScreenProps) {
  const { ctx } = state;
  useEffect(() => send({ type: 'load', kinds: ['person'] }), [send, state.machine]);
  const screws = [topScrew(state.machine), ...ctx.bobbinCases.map((c) => bobbinScrew(c.id))];
  const some = screws.filter((s) => ctx.changes.some((c) => c.screw === s));
  return { top: some.filter((s) => s === screws[0]), bobbin: some.filter((s) => s !== screws[0]) };
}

function Screws({ screws, state, send }: ScreenProps & { screws: readonly string[] }) {
  return (
    <>
      {screws.map((screw) => (
        <Screw key={screw} screw={screw} state={state} send={send} />
      ))}
    </>
  );
}

function Screw({ screw, state, send }: ScreenProps & { screw: string }) {
  const { ctx } = state;
  const own = ctx.changes.filter((c) => c.screw === screw);
  const struck = new Set(own.map((c) => c.strikes).filter(Boolean));
  const back = pointsBack(ctx, screw);
  const twice = concurrent(ctx, screw);
  return (
    <Card
      title={screwName(screw, ctx)}
      act={
        back.length > 0 && (
          <button
            type="button"
            class="small-act"
            onClick={() => send({ type: 'begin', task: 'change-screw', with: { door: 'points', screw } })}
          >
            {text.lastGood}
          </button>
        )
      }
    >
      <p>
        <b>{text.stands}:</b> <output>{standsWords(ctx, screw)}</output>
      </p>
      {twice.map((pair) => (
        <Notice key={pair.join()} text={isDial(own, pair) ? text.lookAtDial : text.both}>
          {!isDial(own, pair) && (
            <>
              <button type="button" class="small-act" onClick={() => send(answer(ctx, screw, pair, true))}>
                {text.same}
              </button>
              <button type="button" class="small-act" onClick={() => send(answer(ctx, screw, pair, false))}>
                {text.two}
              </button>
            </>
          )}
        </Notice>
      ))}
      <ol class="ledger">
        {own.toReversed().map((c) => (
          <li key={c.id} class={struck.has(c.id) ? 'struck' : undefined}>
            <p>
              <b>{words(c)}</b>
              {struck.has(c.id) && <i class="mark">{text.struck}</i>}
            </p>
            <p class="small-text">
              {[c.why && changeWhy(c.why), when(c.at), who(state.person, c.by, state)].filter(Boolean).join(' · ')}
            </p>
            {(c.type === 'move' || c.type === 'back' || c.type === 'dial') && !struck.has(c.id) && (
              <div class="acts">
                <button
                  type="button"
                  class="small-act"
                  onClick={() => send({ type: 'take-back', how: 'turned-back', change: c.id })}
                >
                  {ways['turned-back']}
                </button>
                <button
                  type="button"
                  class="small-act"
                  onClick={() => send({ type: 'take-back', how: 'wrote-wrong', change: c.id })}
                >
                  {ways['wrote-wrong']}
                </button>
              </div>
            )}
          </li>
        ))}
      </ol>
    </Card>
  );
}

const isDial = (own: readonly Change[], pair: readonly string[]) =>
  own.some((c) => pair.includes(c.id) && c.type === 'dial');

/** The answer names both, so the question is not asked again. "Same" makes them count once. */
function answer(ctx: Ctx, screw: string, pair: readonly [string, string], same: boolean) {
  const set = {
    screw,
    type: 'same',
    after: [...heads(ctx, screw)],
    machine: ctx.machine,
    zone: ctx.zone,
    ...(same ? { sameAs: [...pair] } : {}),
  };
  return { type: 'write', drafts: [{ kind: 'change', id: newId(), set }] } as const;
}

function words(c: Change): string {
  if (c.type === 'dial') return text.dial(dialNumber(c.dialTenths ?? 0));
  if (c.type === 'move') return sentence(move(c.minutes ?? 0));
  if (c.type === 'back') return text.back(move(c.minutes ?? 0));
  return text.kinds[c.type];
}

const sentence = (s: string) => s.charAt(0).toUpperCase() + s.slice(1);

function who(me: string, by: string, state: ScreenProps['state']): string {
  if (by === me || by === '') return text.by(text.me);
  const name = state.rows.get('person')?.get(by)?.fields.name?.live[0]?.value;
  return text.by(typeof name === 'string' ? name : text.someone);
}
