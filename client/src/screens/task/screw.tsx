/** Changing a screw: the clock face shows, the buttons set. Also the pen mark, and a number that is read off. */
import type { ComponentChildren } from 'preact';
import { useState } from 'preact/hooks';
import { bobbinScrew, type ChangeData, stepsOf, topScrew } from '../../domain/task';
import { dialNumber, move, way } from '../../text/amount';
import { short, text } from '../../text/task-screen';
import { ClockFace, ClockMarks } from '../../ui/clock-face';
import { Acts, More, Steps, TypedNumber } from './controls';
import { pairs, pickOf, rowOf } from './layout';
import type { Parts, StepProps } from './parts';
import { moreWords, plain } from './plain';

const dataOf = (p: StepProps) => p.task.data as ChangeData;

/** Which way the hand goes for "tighter", as tried on this screw; to the right while untried. */
function tightens({ task, ctx }: StepProps): 'clockwise' | 'counter' | undefined {
  const screw = (task.data as ChangeData).screw ?? topScrew(task.machine);
  if (screw === topScrew(task.machine)) return ctx.machines.find((m) => m.id === task.machine)?.topTightens;
  return ctx.bobbinCases.find((c) => bobbinScrew(c.id) === screw)?.tightens;
}

export function amount(p: StepProps): Parts {
  if (p.task.asking) return plain(p);
  const { screw = topScrew(p.task.machine), minutes = 0, wanted = 0 } = dataOf(p);
  const row = rowOf(p.layout);
  const right = tightens(p);
  const sign = right === 'counter' ? -1 : 1;
  const { normal } = stepsOf(screw);
  const home = row.small.find((o) => pickOf(o) === 'home');
  const notTurned = row.small.filter((o) => pickOf(o) === 'not-turned'); // the others are doors to something else
  const steps = pairs(row.adjust);
  const [near, far] = [steps.slice(0, 2), steps.slice(2)];
  return {
    controls: (
      <div class="set-grid">
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
        <Otherwise key={p.task.id} asked={wanted !== 0 && minutes === wanted}>
          <Steps
            {...p}
            offers={near.flatMap((s) => [s.less, s.more])}
            label={text.set}
            short={short.turn}
            value={minutes === 0 ? text.facing : move(minutes)}
            hidden
          />
        </Otherwise>
        <Acts {...p} offers={notTurned}>
          <More
            {...p}
            offers={[...far.flatMap((s) => [s.less, s.more]), ...row.small.filter((o) => !notTurned.includes(o))]}
          />
        </Acts>
      </div>
    ),
  };
}

/** Where a turn was asked for, buttons that turn would look like the answer and double it: they come when it was not that turn. */
function Otherwise({ asked, children }: { asked: boolean; children: ComponentChildren }) {
  const [open, setOpen] = useState(false);
  if (open || !asked) return children;
  return (
    <button type="button" class="small-act" onClick={() => setOpen(true)}>
      {text.otherAmount}
    </button>
  );
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
        <TypedNumber label={label} tenths={tenths} shown={shown} onSet={(to) => p.press({ do: 'set', to })} />
        <Steps {...p} offers={row.adjust} label={text.set} short={short.tenths} value={shown} hidden />
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
      <div class="inner">
        <p class="small-text">{moreWords(p)}</p>
        <ClockMarks legend={text.mark} minute={mark} nameOf={text.minute} onPick={(to) => p.press({ do: 'set', to })} />
        <Steps {...p} offers={row.adjust} label={text.set} short={short.minute} alike value={text.stands(mark)} />
        <Acts {...p} offers={row.small} />
      </div>
    ),
  };
}
