/** The ledger, newest first. Each line keeps its two ways back for good. */
import { useEffect } from 'preact/hooks';
import { casesHere } from '../domain/bench';
import { type Line, ledger, takeBacks } from '../domain/change';
import { bobbinScrew, type Ctx, isBobbin, pointsBack, topScrew } from '../domain/task';
import { heads } from '../domain/task/ledger';
import { concurrent } from '../domain/task/twice';
import { newId } from '../read';
import { screwName } from '../text/amount';
import { changeWords, text, ways } from '../text/changes';
import { changeWhy } from '../text/reasons';
import { when } from '../text/shell';
import { Card, Notice } from '../ui/card';
import { Columns } from '../ui/columns';
import { later } from './later';
import { AtPlace } from './place';
import type { ScreenProps } from './shell';
import { standsWords } from './stands';
import { personName } from './who';
import { Wrote } from './wrote';

const Drops = later(() => import('./plots').then((m) => m.Drops), null);

type Change = Ctx['changes'][number];

export function Changes(props: ScreenProps) {
  const { state, send } = props;
  const { top, bobbin } = useScrews(props);
  return (
    <AtPlace state={state} place="changes">
      <h1>{text.title}</h1>
      <Wrote {...props} only />
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
  const screws = [topScrew(state.machine), ...casesHere(ctx).map((c) => bobbinScrew(c.id))];
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
  const open = takeBacks(ctx.changes, screw);
  const lines = new Map(ledger(ctx.changes, screw).lines.map((l) => [l.record.id, l]));
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
            {back.some((p) => p.good) ? text.lastGood : text.earlier}
          </button>
        )
      }
    >
      <p>
        <b>{text.stands}:</b> <output>{standsWords(ctx, screw)}</output>
      </p>
      {isBobbin(screw) && <Drops ctx={ctx} bobbinCase={caseOfScrew(screw)} />}
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
        {own.toReversed().map((c) => {
          const marks = marksOf(lines.get(c.id), c);
          return (
            <li key={c.id} class={lines.get(c.id)?.struck ? 'struck' : undefined}>
              <p>
                <b>{changeWords(c, ctx.changes)}</b>
                {marks.map((m) => (
                  <i key={m} class="mark">
                    {text[m]}
                  </i>
                ))}
              </p>
              <p class="small-text">
                {[c.why && changeWhy(c.why), when(c.at), text.by(personName(state, c.by))].filter(Boolean).join(' · ')}
              </p>
              <div class="acts">
                {open.get(c.id)?.map((how) => (
                  <button
                    key={how}
                    type="button"
                    class="small-act"
                    onClick={() => send({ type: 'take-back', how, change: c.id })}
                  >
                    {ways[how]}
                  </button>
                ))}
              </div>
            </li>
          );
        })}
      </ol>
    </Card>
  );
}

/** What became of a line since it was written. A count that was lost for a while was found again, not written wrong. */
function marksOf(line: Line | undefined, c: Change): readonly ('struck' | 'found' | 'turnedBack' | 'joined')[] {
  if (line?.struck) return [c.type === 'lost' ? 'found' : 'struck'];
  return [...(line?.turnedBack ? (['turnedBack'] as const) : []), ...(line?.joinedTo ? (['joined'] as const) : [])];
}

const caseOfScrew = (screw: string) => screw.slice(screw.indexOf(':') + 1);

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
