/** Frame: what is set up right now on this machine, the two doors, and the facts that one tap writes down. */

import { useEffect } from 'preact/hooks';
import { caseOf, lastReading } from '../domain/bench';
import type { Ctx, Fact } from '../domain/task';
import { facts } from '../domain/task/facts';
import { bobbinScrew, topScrew } from '../domain/task/ledger';
import { standing } from '../domain/task/way-in';
import { bothKept, copyDue, find, homeDue } from '../read';
import { text } from '../text/frame';
import { ago } from '../text/shell';
import { taskTitle } from '../text/task-title';
import { Card, Notice, Row, UndoRow } from '../ui/card';
import { Columns } from '../ui/columns';
import { useWide } from '../ui/use-wide';
import { later } from './later';
import { AtPlace } from './place';
import type { ScreenProps } from './shell';
import { standsWords } from './stands';
import { UpdateRow } from './update-row';
import { Wrote } from './wrote';
import './frame.css';

const HomeCard = later(() => import('./home-card').then((m) => m.HomeCard), null);
const notices = () => import('./frame-notices');
const Started = later(() => notices().then((m) => m.Started), null);
const Wound = later(() => notices().then((m) => m.Wound), null);
const HandedOver = later(() => notices().then((m) => m.HandedOver), null);
const Due = later(() => notices().then((m) => m.Due), null);
/** The warning stands at once; its reason comes with the part that knows all reasons. */
const StopNotice = later(
  () => import('./stop-notice').then((m) => m.StopNotice),
  <div class="notice stop" role="alert">
    <p>{text.stop}</p>
    <button type="button" disabled>
      {text.lift}
    </button>
  </div>,
);
const LightDoor = later(() => import('./light').then((m) => m.LightDoor), null);
const Ledger = later(() => import('./changes').then((m) => m.Ledger), null);

export function Frame(props: ScreenProps) {
  const { state, send } = props;
  const { ctx } = state;
  const now = Date.now();
  const stops = standing(ctx);
  const wide = useWide();
  useEffect(() => void notices().catch(() => {}), []); // comes while the rest is read, so that less moves later
  return (
    <AtPlace state={state} place="frame">
      <MachineSwitch {...props} />
      {stops.length > 0 && <StopNotice {...props} stops={stops} />}
      {copyDue({ ...state, joined: state.link.joined, machines: ctx.machines }, now) && (
        <Notice text={text.onlyHere(state.copies, state.copiedAt > 0)}>
          <button type="button" class="small-act" onClick={() => send({ type: 'save-copy' })}>
            {text.saveCopy}
          </button>
        </Notice>
      )}
      <Wrote {...props} />
      {!state.partly && <Started {...props} />}
      <Columns left={<Now {...props} />} right={wide && <Beside {...props} />} />
    </AtPlace>
  );
}

/** On a desk: what a sheet of paper is printed from, and the ledger. */
const Beside = (props: ScreenProps) => (
  <>
    <div class="acts">
      <a class="button" href="/paper">
        {text.print}
      </a>
    </div>
    {!props.state.partly && <Ledger {...props} />}
  </>
);

/** What one comes for: the open task, the doors, what a tap writes down, and what is set up. */
function Now(props: ScreenProps) {
  const { state, send } = props;
  const { ctx } = state;
  return (
    <>
      {state.open.slice(0, 2).map((t) => (
        <button key={t.id} type="button" class="main-act" onClick={() => send({ type: 'resume', id: t.id })}>
          {text.carryOn(taskTitle[rootTask(t)], t.machine === state.machine ? '' : machineOf(ctx, t.machine))}
        </button>
      ))}
      <div class="doors">
        <button type="button" class="main-act" onClick={() => send({ type: 'begin', task: 'drop-test' })}>
          {text.drop}
        </button>
        <button type="button" class="main-act" onClick={() => send({ type: 'begin', task: 'see' })}>
          {text.see}
        </button>
      </div>
      <button type="button" class="paired wide" onClick={() => send({ type: 'begin', task: 'balance' })}>
        {text.balance}
      </button>
      <Card title={text.facts}>
        <div class="facts">
          {facts.map((f: Fact) => (
            <button key={f} type="button" class="paired" onClick={() => send({ type: 'fact', fact: f })}>
              {text.fact[f]}
            </button>
          ))}
          <button
            type="button"
            class="paired"
            onClick={() => send({ type: 'begin', task: 'change-screw', with: { door: 'turned' } })}
          >
            {text.turned}
          </button>
        </div>
        <p class="small-text">{text.factNote}</p>
        <Lately {...props} />
        {!state.partly && <Wound {...props} />}
      </Card>
      {!state.partly && <Due {...props} />}
      <Card
        title={text.setUp}
        act={
          <a class="button small-act" href="/bench">
            {text.change}
          </a>
        }
      >
        <SetUp {...props} />
      </Card>
      {!state.partly && <HandedOver {...props} />}
      <div class="acts">
        <button type="button" onClick={() => send({ type: 'begin', task: 'first-five' })}>
          {text.firstFive}
        </button>
        <button type="button" onClick={() => send({ type: 'begin', task: 'sew' })}>
          {text.sew}
        </button>
        <button type="button" onClick={() => send({ type: 'begin', task: 'top-feel' })}>
          {text.topFeel}
        </button>
        <a class="button" href="/hand-over">
          {text.handOver}
        </a>
        <a class="button" href="/ruler">
          {text.ruler}
        </a>
        <LightDoor />
      </div>
      <Offers {...props} />
    </>
  );
}

/** What comes by itself while one looks on stands last: nothing above it may move from under a thumb. */
function Offers(props: ScreenProps) {
  const { state } = props;
  return (
    <div class="offers">
      <UpdateRow state={state} />
      {homeDue(homeOf(state), Date.now()) && <HomeCard {...props} />}
    </div>
  );
}

const machineOf = (ctx: Ctx, id: string) => ctx.machines.find((m) => m.id === id)?.name ?? '';

const homeOf = (s: ScreenProps['state']) => ({
  copies: s.copies,
  way: s.home,
  installed: s.storage.installed,
  notNowAt: s.settings.homeNotNowAt,
});

export function rootTask(t: NonNullable<ScreenProps['state']['task']>) {
  let root = t;
  while (root.back) root = root.back;
  return root.task;
}

function MachineSwitch({ state, send }: ScreenProps) {
  const { machines } = state.ctx;
  const here = machines.find((m) => m.id === state.machine);
  if (machines.length < 2) return <h1>{here?.name || text.noMachine}</h1>;
  return (
    <>
      <h1 class="unseen">{here?.name || text.noName}</h1>
      <fieldset class="machines">
        <legend class="unseen">{text.chooseMachine}</legend>
        {machines.map((m) => (
          <button
            key={m.id}
            type="button"
            aria-pressed={m.id === state.machine}
            onClick={() => send({ type: 'pick-machine', machine: m.id })}
          >
            {m.name || text.noName}
          </button>
        ))}
      </fieldset>
    </>
  );
}

/** What the last tap wrote, so that one sees it was taken; a wrong tap goes back until the next act. */
function Lately({ state, send }: ScreenProps) {
  const last = state.ctx.events.findLast((e) => e.type in text.fact);
  if (!last) return null;
  const said = `${text.fact[last.type as Fact]}: ${ago(last.at, Date.now())}`;
  if (state.undo?.of === 'fact') return <UndoRow done={said} undo={text.undo} onUndo={() => send({ type: 'undo' })} />;
  return <p role="status">{said}</p>;
}

function SetUp({ state }: ScreenProps) {
  const { ctx } = state;
  const { bench } = ctx;
  const now = Date.now();
  const row = find(state.rows, 'bench', state.machine);
  const both = row ? bothKept(row).filter((f) => Object.hasOwn(text.bench, f)) : [];
  const thread = (id: string | undefined) => {
    const t = ctx.threads.find((x) => x.id === id);
    return t ? text.threadName(t.number, t.fibre) : text.notSaid;
  };
  const bobbinCase = caseOf(ctx);
  const reading = lastReading(ctx);
  const good = ctx.events.findLast((e) => e.type === 'good');
  return (
    <>
      {both.length > 0 && <Row href="/bench" title={text.both} detail={both.map((f) => text.bench[f]).join(', ')} />}
      <Row
        href="/bench"
        title={text.quilt}
        detail={ctx.quilts.find((q) => q.id === bench.quilt)?.name ?? text.noQuilt}
      />
      <Row
        href="/bench"
        title={text.top}
        detail={thread(bench.topThread)}
        end={`${text.topStands}: ${standsWords(ctx, topScrew(state.machine))}`}
      />
      <Row
        href="/bench"
        title={text.bobbin}
        detail={`${thread(bench.bobbinThread)}${bobbinCase ? `, ${bobbinCase.label}` : ''}`}
        end={bobbinCase ? `${text.caseStands}: ${standsWords(ctx, bobbinScrew(bobbinCase.id))}` : undefined}
      />
      <Row href="/bench" title={text.needle} detail={bench.needle ?? text.notSaid} />
      <Row
        href="/bench"
        title={`${text.batting}, ${text.backing}`}
        detail={[bench.batting, bench.backing].filter(Boolean).join(', ') || text.notSaid}
      />
      <Row
        href="/changes"
        title={text.lastReading}
        detail={
          reading ? text.reading(reading.type, reading.drops, reading.answer, reading.fill, ctx.units) : text.noReading
        }
        end={reading && ago(reading.at, now)}
      />
      <Row href="/changes" title={text.lastGood} detail={good ? ago(good.at, now) : text.noGood} />
    </>
  );
}
