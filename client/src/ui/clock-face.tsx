import './clock-face.css';

const full = 60;
const at = (minute: number, r: number) => {
  const a = (minute / full) * 2 * Math.PI;
  return { x: Math.round(100 * r * Math.sin(a)) / 100, y: Math.round(-100 * r * Math.cos(a)) / 100 };
};

/** The way from one minute to another: whole turns as rings of their own, the rest as a wedge with an arrow on its arc. */
function wayOf(was: number, now: number): { turns: number; wedge: string; arc: string } {
  const by = now - was;
  const turns = Math.floor(Math.abs(by) / full);
  const rest = by - Math.sign(by) * turns * full;
  if (rest === 0) return { turns, wedge: '', arc: '' };
  const r = 46;
  const [a, b] = [at(was, r), at(was + rest, r)];
  const arc = `${a.x} ${a.y}A${r} ${r} 0 ${Math.abs(rest) > 30 ? 1 : 0} ${by > 0 ? 1 : 0} ${b.x} ${b.y}`;
  const back = now - Math.sign(by) * 1.6;
  const [c, d] = [at(back, r - 6), at(back, r + 6)];
  const head = Math.abs(rest) > 1 ? `M${c.x} ${c.y}L${b.x} ${b.y}L${d.x} ${d.y}` : '';
  return { turns, wedge: `M0 0L${arc}Z`, arc: `M${arc}${head}` };
}

/**
 * The screw as a clock: a dashed hand where it was, a solid one where it is now, and the way between. It shows; buttons
 * set. `was` and `now` are clock-minutes clockwise from 12 as the screw faces you, and may pass 60; the caller turns
 * "tighter" into a direction. `name` says the same in words, `facing` stands under it. Arrow keys move it by `step`,
 * Home takes it back to `was`.
 */
export function ClockFace(props: {
  label: string;
  name: string;
  facing: string;
  was: number;
  now: number;
  step: number;
  onStep: (minutes: number) => void;
  onHome: () => void;
}) {
  const { was, now, step } = props;
  const key = (e: KeyboardEvent) => {
    if (e.key === 'ArrowRight' || e.key === 'ArrowUp') props.onStep(step);
    else if (e.key === 'ArrowLeft' || e.key === 'ArrowDown') props.onStep(-step);
    else if (e.key === 'Home') props.onHome();
    else return;
    e.preventDefault();
    e.stopPropagation();
  };
  return (
    <figure class="clock">
      <div
        role="slider"
        tabIndex={0}
        aria-label={props.label}
        aria-valuenow={now - was}
        aria-valuemin={-600}
        aria-valuemax={600}
        aria-valuetext={props.name}
        onKeyDown={key}
      >
        <ClockStill was={was} now={now} />
      </div>
      <figcaption>{props.facing}</figcaption>
    </figure>
  );
}

/** The clock alone. Without a `label` the words stand beside it. */
export function ClockStill({ was, now, label }: { was: number; now: number; label?: string }) {
  const { turns, wedge, arc } = wayOf(was, now);
  const [from, to] = [at(was, 60), at(now, 60)];
  return (
    <svg
      viewBox="-100 -100 200 200"
      role={label ? 'img' : undefined}
      aria-label={label}
      aria-hidden={label ? undefined : true}
    >
      <Dial />
      <path class="wedge" d={wedge} />
      {Array.from({ length: Math.min(turns, 4) }, (_, i) => (
        <circle key={String(i)} class="way" r={46 - 7 * (i + 1)} />
      ))}
      <path class="way" d={arc} />
      <path class="hand was" d={`M0 0L${from.x} ${from.y}`} />
      <path class="hand" d={`M0 0L${to.x} ${to.y}`} />
      <circle class="pin" r="7" />
    </svg>
  );
}

/** Twelve hour marks, the quarters long, and the four numbers that place them. */
function Dial() {
  const marks = Array.from({ length: 12 }, (_, h) => {
    const [a, b] = [at(h * 5, h % 3 === 0 ? 84 : 87), at(h * 5, 94)];
    return `M${a.x} ${a.y}L${b.x} ${b.y}`;
  });
  return (
    <>
      <circle class="rim" r="96" />
      <path class="marks" d={marks.join('')} />
      {[12, 3, 6, 9].map((h) => {
        const p = at((h % 12) * 5, 73);
        return (
          <text key={h} x={p.x} y={p.y + 7}>
            {h}
          </text>
        );
      })}
    </>
  );
}

/**
 * A clock to be tapped: where does the mark on the screw stand? Twelve answers in a ring; `nameOf` gives the words for
 * a minute. A finer reading is set with a `Stepper` beside it. `minute` may lie between two marks.
 */
export function ClockMarks(props: {
  legend: string;
  minute?: number;
  nameOf: (minute: number) => string;
  onPick: (minute: number) => void;
}) {
  const { minute } = props;
  const to = minute === undefined ? undefined : at(minute, 60);
  return (
    <fieldset class="clock marks-to-tap">
      <legend class="unseen">{props.legend}</legend>
      <svg viewBox="-100 -100 200 200" aria-hidden="true">
        <Dial />
        {to && <path class="hand" d={`M0 0L${to.x} ${to.y}`} />}
        <circle class="pin" r="7" />
      </svg>
      {Array.from({ length: 12 }, (_, h) => {
        const p = at(h * 5, 42);
        return (
          <button
            key={String(h)}
            type="button"
            style={{ left: `${50 + p.x}%`, top: `${50 + p.y}%` }}
            aria-pressed={minute === h * 5}
            aria-label={props.nameOf(h * 5)}
            onClick={() => props.onPick(h * 5)}
          />
        );
      })}
    </fieldset>
  );
}
