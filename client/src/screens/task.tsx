/** The task layer: one step of the open task, full screen, drawn from what the engine offers and from nothing else. */
import { Fragment } from 'preact';
import { useEffect, useRef, useState } from 'preact/hooks';
import type { Phase } from '../cues/phase';
import {
  type Action,
  act,
  type Ctx,
  cautionsOf,
  type DropData,
  fitGaps,
  kindOf,
  offers,
  type TaskState,
} from '../domain/task';
import { text as cueText } from '../text/cues';
import { cautionLine, heading, saying } from '../text/task';
import { doneLine } from '../text/task-done';
import { offerWords } from '../text/task-offers';
import { placeWords, text } from '../text/task-screen';
import { TaskFrame } from '../ui/task-frame';
import { later } from './later';
import type { ScreenProps } from './shell';
import { Acts } from './task/controls';
import { TurnedScreen } from './task/cue-sheet';
import * as drop from './task/drop';
import { arrange, type Layout } from './task/layout';
import type { Parts, StepProps } from './task/parts';
import { plain } from './task/plain';
import * as screw from './task/screw';
import { usePacer, useScreenOn, useTouches, useTyping } from './task/use-steady';
import './task.css';

const TaskHelp = later(() => import('./help/task-help').then((m) => m.TaskHelp), null);
const See = later(() => import('./task/see').then((m) => m.See), null);
const Rate = later(() => import('./task/rate').then((m) => m.Rate), null);
const Next = later(() => import('./task/next').then((m) => m.NextOrWhy), null);
const see = (p: StepProps): Parts => ({ controls: <See {...p} />, within: String(p.task.data.open ?? '') });

/** Steps that need more than their offers in a row. */
const steps: { readonly [step: string]: (p: StepProps) => Parts } = {
  'drop-test.setup': drop.setup,
  'drop-test.run': drop.run,
  'drop-test.answer': drop.answer,
  'drop-test.gauge': screw.gauge,
  'drop-test.result': drop.result,
  'change-screw.amount': screw.amount,
  'change-screw.dial': screw.dial,
  'change-screw.mark': screw.mark,
  'sew.rate': (p) => ({ controls: <Rate {...p} /> }),
  'balance.next': (p) => ({ controls: <Next {...p} /> }),
  'balance.why': (p) => ({ controls: <Next {...p} /> }),
  'see.start': see,
  'see.features': see,
  'see.result': see,
  'see.compare': see,
  'see.check': (p) => ({ ...plain(p), within: String(p.task.data.check ?? '') }),
};

export function TaskScreen(props: ScreenProps) {
  const { task } = props.state;
  return task ? <Open {...props} task={task} /> : <Nothing {...props} />;
}

function Nothing({ send }: ScreenProps) {
  return (
    <TaskFrame
      step="nothing"
      heading={text.nothing}
      main={{ label: text.toFrame, onPress: () => send({ type: 'go', path: '/' }) }}
    />
  );
}

/** A tap is not taken twice: until the first has been written, or this long after one that changed nothing. */
const settleMs = 600;

function Open({ state, send, task }: ScreenProps & { task: TaskState }) {
  const { ctx, settings } = state;
  const paced = kindOf(task) === 'paced' && !task.asking;
  const give = (action: Action) => send({ type: 'act', action });
  const { pacer, phase, turned } = usePacer((n) => give({ do: 'passed', drop: n }), settings.flash);
  const typing = useTyping(task, (words, of) =>
    give(of === undefined ? { do: 'type', text: words } : { do: 'type', text: words, of }),
  );
  const awake = useScreenOn();
  const layout = arrange(offers(task, ctx));
  const refused = useTouches(paced || starts(layout), (target) => !paced || target.closest('.stop-act') !== null);
  // the step that was come back to: after a kill, a hide or a while on Frame one line tells what was done before it
  const [helped, setHelped] = useState(false);
  const now = useRef(`${task.id} ${task.step}`);
  const [cameTo, setCameTo] = useState(now.current);
  const taken = useRef<{ of: TaskState; at: number } | undefined>(undefined);

  const press = (action: Action, event?: Event) => {
    typing.flush();
    const at = performance.now();
    const again = action.do !== 'add' && action.do !== 'set';
    if (again && taken.current?.of === task && at - taken.current.at < settleMs) return;
    if (again) taken.current = { of: task, at };
    const next = act(task, action, ctx).state;
    const runs = next !== undefined && kindOf(next) === 'paced' && !next.asking;
    if (runs && !paced) {
      const { gaps, run = [] } = next.data as DropData;
      pacer.start(event?.timeStamp || at, fitGaps(gaps ?? ctx.gaps), run.length, {
        ...settings,
        numbers: cueText.numbers,
      });
    } else if (!runs) pacer.stop();
    give(action);
  };

  useEffect(() => {
    const seen = () => {
      if (!document.hidden) {
        setCameTo(now.current);
        return give({ do: 'opened' });
      }
      const since = pacer.sinceStart(performance.now());
      pacer.stop();
      if (since !== undefined) give({ do: 'hidden', atMs: Math.round(since) });
    };
    document.addEventListener('visibilitychange', seen);
    return () => document.removeEventListener('visibilitychange', seen);
  }, []);
  useEffect(() => {
    if (state.trouble) pacer.stop(); // what could not be written is not paced on
  }, [state.trouble]);
  useEffect(() => {
    if (starts(layout) && settings.sound && navigator.userActivation?.hasBeenActive) pacer.wake();
  }, [task.step]);

  const words: StepProps['words'] = (o) => offerWords(o, task, ctx);
  const tryCue: StepProps['tryCue'] = (how) => pacer.tryCue('shake', how, cueText.numbers[0] ?? '');
  const { rows, photoOf } = state;
  const p: StepProps = {
    task,
    ctx,
    layout,
    settings,
    rows,
    photoOf,
    send,
    words,
    press,
    type: typing.type,
    phase,
    awake,
    tryCue,
  };
  const parts = (steps[`${task.task}.${task.step}`] ?? plain)(p);
  const { main, leave, stop, back, takeBack } = layout;
  const waits = layout.writes.length > 0; // the button keeps its place while nothing fit is typed
  const step = `${task.id} ${task.step} ${task.asking ?? ''} ${parts.within ?? ''}`;
  now.current = `${task.id} ${task.step}`;
  return (
    <div class="task-screen" data-task={task.task} data-step={task.step}>
      {paced && <Spoken phase={phase} drops={(task.data as DropData).run?.length ?? 1} />}
      <TaskFrame
        step={step}
        heading={saying(task, ctx).say}
        done={now.current === cameTo && !task.asking ? doneLine(task) : undefined}
        title={placeWords(task, (s) => heading(s, ctx))}
        help={paced ? undefined : { label: text.help, onOpen: () => setHelped(true) }}
        back={back && { label: words(back), onBack: () => press(back.action) }}
        caution={cautionWords(task, ctx)}
        main={
          main
            ? { label: words(main), onPress: (e) => press(main.action, e) }
            : waits
              ? {
                  label: offerWords({ action: { do: 'next' }, as: 'main' }, task, ctx),
                  onPress: () => undefined,
                  disabled: true,
                }
              : undefined
        }
        lowerHalf={parts.lowerHalf}
        leave={leave && { label: words(leave), onLeave: () => press(leave.action) }}
        stop={stop && { label: words(stop), onStop: () => press(stop.action) }}
        picture={parts.picture}
      >
        {task.undo && !task.asking && (
          <section class="take-back" role="status">
            <p>{text.wrote(task.undo?.minutes)}</p>
            <Acts offers={takeBack} words={words} press={press} />
          </section>
        )}
        {parts.controls && <Fragment key={step}>{parts.controls}</Fragment>}
      </TaskFrame>
      <p class="not-counted" role="status">
        {refused && cueText.notCounted}
      </p>
      {turned && <TurnedScreen />}
      {helped && <TaskHelp task={task.task} ctx={ctx} onClose={() => setHelped(false)} />}
    </div>
  );
}

const starts = (layout: Layout) => layout.main?.action.do === 'start';

/** The lines that stay on the step; the full caution lists them itself. */
function cautionWords(task: TaskState, ctx: Ctx): string | undefined {
  if (task.step === 'caution' || task.asking) return undefined;
  return (
    cautionsOf(task, ctx)
      .map((c) => cautionLine[c])
      .join(' ') || undefined
  );
}

/** For readers of the screen: start, half way and the end, and nothing in between. */
function Spoken({ phase, drops }: { phase: Phase | undefined; drops: number }) {
  const half = phase !== undefined && phase.drop * 2 >= drops;
  return (
    <p class="unseen" role="status">
      {phase === undefined || phase.name === 'over' ? '' : half ? cueText.halfway : cueText.started}
    </p>
  );
}
