/** The drop test: set-up, what is paced, and the answers afterwards. */
import type { DropData, Row } from '../../domain/task';
import { bandOf } from '../../domain/task';
import { cueLine, text as cues } from '../../text/cues';
import { lengthWords, short, text } from '../../text/task-screen';
import { Digits } from '../../ui/card';
import { DropStrip } from '../../ui/drop-strip';
import { Acts, Choices, Steps } from './controls';
import { CueSheet } from './cue-sheet';
import { rowOf } from './layout';
import type { Parts, StepProps } from './parts';
import { pictureOf } from './pictures';
import { moreWords, plain } from './plain';

const dataOf = (p: StepProps) => p.task.data as DropData;
const unitOf = (p: StepProps) => text.stripUnit[p.settings.units];

export function setup(p: StepProps): Parts {
  const { settings, layout, awake } = p;
  return {
    picture: layout.takeBack.length > 0 ? undefined : pictureOf(p.task), // what was just written wants its room
    controls: (
      <div class="inner">
        <p class="small-text">{moreWords(p)}</p>
        <Choices {...p} offers={rowOf(layout, 'fill').tiles} legend={text.fill} size="chip" state />
        <div class="equal-acts">
          {rowOf(layout).small.map((o) => (
            <button key={p.words(o)} type="button" class="equal-act" onClick={(e) => p.press(o.action, e)}>
              {p.words(o)}
            </button>
          ))}
        </div>
        <CueSheet {...p} line={cueLine({ sound: settings.sound, buzz: settings.buzz, awake })} />
      </div>
    ),
  };
}

/** One word and one count; the strip stands beside it with the band it is to be read against. */
export function run(p: StepProps): Parts {
  const { phase, ctx, task } = p;
  if (task.asking) return asked(p);
  const { run = [0, 1, 2] } = dataOf(p);
  const band = bandOf(ctx, ctx.bench.bobbinCase, ctx.bench.bobbinThread, dataOf(p).fill);
  const drop = phase?.drop ?? 0;
  const word = phase ? cues.phases[phase.name] : cues.ready;
  return {
    picture: (
      <div class={`pace ${phase?.name ?? 'ready'}`}>
        <p class="which">{cues.drop(drop + 1, run.length)}</p>
        <p class="word">{word}</p>
        <Digits value={phase && phase.left > 0 ? String(phase.left) : ' '} places={2} label={cues.seconds} />
        <div class="strip">
          <DropStrip
            label={text.strip}
            note={text.stripNote}
            unit={unitOf(p)}
            metric={p.settings.units === 'mm'}
            band={band}
          />
        </div>
      </div>
    ),
    controls: <p>{moreWords(p)}</p>,
  };
}

function asked(p: StepProps): Parts {
  const { passed = 0, run = [] } = dataOf(p);
  const { controls } = plain(p);
  return {
    controls: (
      <>
        <p>{text.dropsDone(passed, run.length)}</p>
        {controls}
      </>
    ),
  };
}

export function answer(p: StepProps): Parts {
  const { layout } = p;
  const rows = dataOf(p).rows ?? [];
  return {
    controls: (
      <div class="inner">
        {rows.map((row, i) => (
          <DropRow key={String(i)} {...p} row={row} i={i} />
        ))}
        <Acts {...p} offers={rowOf(layout).small} />
      </div>
    ),
  };
}

function DropRow(p: StepProps & { row: Row; i: number }) {
  const { row, i, layout } = p;
  const { tiles, adjust, small } = rowOf(layout, String(i));
  return (
    <section class="drop-row" aria-label={text.drop(i)}>
      <h2>{text.drop(i)}</h2>
      {row.hidden && <p>{text.left}</p>}
      <Choices {...p} offers={tiles} legend={text.drop(i)} size="chip" state />
      <div class="length">
        <Steps
          {...p}
          offers={adjust}
          label={lengthWords(row, p.settings.units)}
          short={short.length}
          value={adjust.length > 0 ? lengthWords(row, p.settings.units) : undefined}
        />
      </div>
      <Acts {...p} offers={small} />
    </section>
  );
}

export function result(p: StepProps): Parts {
  const { rows = [] } = dataOf(p);
  const { ctx } = p;
  const lengths = rows.flatMap((r) => (r.out || r.hidden || r.tenthsIn === undefined ? [] : [r.tenthsIn]));
  const middle = lengths.length > 0 ? Math.round(lengths.reduce((a, b) => a + b, 0) / lengths.length) : undefined;
  const picture =
    rows.length > 0 ? (
      <DropStrip
        label={text.strip}
        note={text.stripNote}
        unit={unitOf(p)}
        metric={p.settings.units === 'mm'}
        band={bandOf(ctx, ctx.bench.bobbinCase, ctx.bench.bobbinThread, dataOf(p).fill)}
        dropTenths={middle}
      />
    ) : undefined;
  return { ...plain(p), picture };
}
