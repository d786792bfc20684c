/** A step as it is offered: answers, fields, small acts, a result with its sign. Most steps need no more. */
import { cautionsOf, type DropVerdict, kindOf } from '../../domain/task';
import { happened } from '../../text/reasons';
import { cautionLine, saying } from '../../text/task';
import { short, text } from '../../text/task-screen';
import { CautionSign, Verdict } from '../../ui/signs';
import { LightDoor } from '../light';
import { Acts, Choices, More, Steps, Typed } from './controls';
import { rowOf } from './layout';
import type { Parts, StepProps } from './parts';
import { pictureOf } from './pictures';

/** More small acts than this go on a card of their own where the step is to be seen whole. */
const actsShown = 6;

/** Looks into a head whose power is off, and whose lamp with it. */
const lit = new Set(['cut-free', 'seat', 'look', 'cotton', 'turn']);

export function plain(p: StepProps): Parts {
  const { task, layout } = p;
  const row = rowOf(layout);
  const picture = pictureOf(task);
  const small = row.small;
  const controls = [
    ...(sign(p) ? [sign(p)] : []),
    ...(moreWords(p) ? [<p key="more">{moreWords(p)}</p>] : []),
    ...(task.step === 'caution' ? [<Cautions key="cautions" {...p} />] : []),
    ...layout.writes.map((o) => (
      <Typed key={`${task.id} ${task.step}`} offer={o} words={p.words} type={p.type} long={task.task === 'lift'} />
    )),
    ...(row.tiles.length > 0
      ? [<Choices key="tiles" {...p} offers={row.tiles} legend={saying(task, p.ctx).say} />]
      : []),
    ...(row.adjust.length > 0
      ? [<Steps key="steps" {...p} offers={row.adjust} label={text.set} short={short.tenths} />]
      : []),
    ...(small.length > 0 ? [<Acts key="acts" {...p} offers={small.slice(0, actsShown)} />] : []),
    ...(task.task === 'stop' && lit.has(task.step) && !task.asking ? [<LightDoor key="light" />] : []),
    ...(small.length > actsShown ? [<More key="rest" {...p} offers={small.slice(actsShown)} />] : []),
  ];
  return {
    picture,
    controls: controls.length === 0 ? undefined : row.tiles.length > 0 ? <div class="inner">{controls}</div> : controls,
    lowerHalf: kindOf(task) === 'tick' && row.tiles.length === 0 && small.length === 0 && layout.takeBack.length === 0,
  };
}

/** The second line of what the step says. A full caution says it among its points. */
export function moreWords({ task, ctx }: StepProps): string | undefined {
  return task.step === 'caution' ? undefined : saying(task, ctx).more;
}

/** The full caution: each point with its sign, and what goes for the phone. */
function Cautions({ task, ctx }: StepProps) {
  const more = saying(task, ctx).more;
  return (
    <ul class="cautions">
      {cautionsOf(task, ctx).map((c) => (
        <li key={c}>
          <CautionSign />
          <span>{cautionLine[c]}</span>
        </li>
      ))}
      {more && (
        <li>
          <CautionSign />
          <span>{more}</span>
        </li>
      )}
    </ul>
  );
}

/** Result steps carry a sign, and a stop path says on every step what it is about. */
function sign({ task }: StepProps) {
  if (task.asking) return undefined;
  const step = `${task.task}.${task.step}`;
  if (step === 'stop.clear')
    return (
      <Verdict key="sign" kind="good">
        {text.sign.good}
      </Verdict>
    );
  if (step === 'stop.technician' || task.step === 'blocked')
    return (
      <Verdict key="sign" kind="stop">
        {text.sign.stop}
      </Verdict>
    );
  if (task.task === 'stop' && task.step !== 'what' && task.step !== 'power-off') {
    const what = happened[String(task.data.happened) as keyof typeof happened];
    const fall = task.data.happened === 'dropped';
    const scrap = task.step === 'sew-scrap' || task.step === 'scrap';
    return (
      what && (
        <Verdict key="sign" kind={fall || scrap ? 'caution' : 'stop'}>
          {fall ? what : scrap ? text.sign.scrapOnly(what) : text.sign.after(what)}
        </Verdict>
      )
    );
  }
  if (step === 'drop-test.result') {
    const { state } = (task.data.verdict ?? {}) as Partial<DropVerdict>;
    const on = state === 'neutral' || state === undefined;
    return (
      <Verdict key="sign" kind={on ? 'good' : 'caution'}>
        {on ? text.sign.inBand : text.sign[state]}
      </Verdict>
    );
  }
  return undefined;
}
