/** Changing a screw: the clock face shows, the buttons set. Also the pen mark, and a number that is read off. */
import { bobbinScrew, type ChangeData, stepsOf, topScrew } from '../../domain/task';
import { dialNumber, move, way } from '../../text/amount';
import { text } from '../../text/task-screen';
import { Digits } from '../../ui/card';
import { ClockFace, ClockMarks } from '../../ui/clock-face';
import { Acts, More, Steps, TypedNumber } from './controls';
import { pickOf, rowOf } from './layout';
import type { Parts, StepProps } from './parts';
import { moreWords, plain } from './plain';

const dataOf = (p: StepProps) => p.task.data as ChangeData;

/** Which way the hand goes for "tighter", as tried on this screw; to the right while untried. */
function tightens({ task, ctx }: StepProps): 'clockwise' | 'counter' | undefined {
  const screw = (task.data as ChangeData).screw ?? topScrew(task.machine);
  if (screw === topScrew(task.machine)) return ctx.machines.find((m) => m.id === task.machine)?.topTightens;
  return ctx.bobbinCases.find((c) => bobbinScrew(c.id) === screw)?.tightens;
}

/** Small acts that stand on the step itself; the others are doors to something else. */
const near = new Set(['home', 'not-turned', 'no-mark']);

export function amount(p: StepProps): Parts {
  if (p.task.asking) return plain(p);
  const { screw = topScrew(p.task.machine), minutes = 0 } = dataOf(p);
  const row = rowOf(p.layout);
  const right = tightens(p);
  const sign = right === 'counter' ? -1 : 1;
  const { normal } = stepsOf(screw);
  const home = row.small.find((o) => pickOf(o) === 'home');
  return {
    picture: (
      <ClockFace
        label={text.facing}
        name={text.clockName(minutes, way(minutes, right))}
        facing={moreWords(p) ?? text.facing}
        was={0}
        now={sign * minutes}
        step={normal}
        onStep={(by) => p.press({ do: 'add', by: sign * by })}
        onHome={() => p.press(home ? home.action : { do: 'set', to: 0 })}
      />
    ),
    controls: (
      <>
        <Steps {...p} offers={row.adjust} label={text.set} value={minutes === 0 ? text.facing : move(minutes)} hidden />
        <div class="acts">
          <Acts {...p} offers={row.small.filter((o) => near.has(pickOf(o)))} />
          <More {...p} offers={row.small.filter((o) => !near.has(pickOf(o)))} />
        </div>
      </>
    ),
  };
}

export function dial(p: StepProps): Parts {
  if (p.task.asking) return plain(p);
  const { dial } = dataOf(p);
  return numbered(p, text.number, dial);
}

export function gauge(p: StepProps): Parts {
  if (p.task.asking) return plain(p);
  const { gauge } = p.task.data;
  return numbered(p, text.gauge, typeof gauge === 'number' ? gauge : undefined);
}

/** A number read off: typed, or set by buttons. */
function numbered(p: StepProps, label: string, tenths: number | undefined): Parts {
  const row = rowOf(p.layout);
  const shown = tenths === undefined ? '' : dialNumber(tenths);
  return {
    controls: (
      <>
        {p.task.step === 'gauge' && <p>{moreWords(p)}</p>}
        <Digits value={shown || '–'} places={5} label={label} />
        <TypedNumber label={label} tenths={tenths} shown={shown} onSet={(to) => p.press({ do: 'set', to })} />
        <Steps {...p} offers={row.adjust} label={text.set} value={shown} hidden />
        <Acts {...p} offers={row.small} />
      </>
    ),
  };
}

export function mark(p: StepProps): Parts {
  if (p.task.asking) return plain(p);
  const { mark } = dataOf(p);
  const row = rowOf(p.layout);
  return {
    controls: (
      <>
        <p>{moreWords(p)}</p>
        <ClockMarks legend={text.mark} minute={mark} nameOf={text.minute} onPick={(to) => p.press({ do: 'set', to })} />
        <Steps {...p} offers={row.adjust} label={text.set} value={text.stands(mark)} />
        <Acts {...p} offers={row.small} />
      </>
    ),
  };
}
