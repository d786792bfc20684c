/** "What do you see?": the first question by face, features by picture, the list of what fits, and two side by side. */
import { useEffect } from 'preact/hooks';
import { stitchOfSymptom } from '../../domain/stitch-symptoms';
import { matches, questions, type SeeData } from '../../domain/task';
import { ownPhoto } from '../../domain/task/see';
import { list, shown } from '../../read';
import { matchWords, symptomName } from '../../text/symptoms';
import { saying } from '../../text/task';
import { differences, sinceGood, text } from '../../text/task-screen';
import { type StitchSide, StitchView } from '../../ui/stitch-view';
import { Chips } from '../../ui/tiles';
import { FileDoor } from '../file-door';
import { Photo } from '../photo';
import { Acts, Choices } from './controls';
import { featurePicture } from './feature-pictures';
import { pickOf, rowOf } from './layout';
import { type StepProps, threadColours } from './parts';

const dataOf = (p: StepProps) => p.task.data as SeeData;

function Stitch(p: StepProps & { symptom: number; size: number; views?: readonly StitchSide[]; label?: string }) {
  const params = stitchOfSymptom.get(p.symptom);
  return params ? (
    <StitchView params={params} label={p.label ?? ''} size={p.size} views={p.views} {...threadColours(p.ctx)} />
  ) : null;
}

export function See(p: StepProps) {
  switch (p.task.step) {
    case 'start':
      return <Start {...p} />;
    case 'features':
      return <Features {...p} />;
    case 'result':
      return <Result {...p} />;
    default:
      return <Compare {...p} />;
  }
}

/** First the two ways round the questions, then which face. */
function Start(p: StepProps) {
  const { tiles, small } = rowOf(p.layout);
  const first = tiles.filter((o) => ['happened', 'looks-wrong'].includes(pickOf(o)));
  const since = sinceGood(p.ctx);
  const face = (value: string) =>
    value === 'top' || value === 'back' ? <Stitch {...p} symptom={1} size={120} views={[value]} /> : undefined;
  return (
    <div class="inner">
      {since && <p>{since}</p>}
      <Choices {...p} offers={first} legend={text.first} />
      <Choices
        {...p}
        offers={tiles.filter((o) => !first.includes(o))}
        legend={text.looks}
        showLegend
        size="face"
        picture={face}
      />
      <Acts {...p} offers={small} />
    </div>
  );
}

/** Answers so far on top, the open question as pictures, the other questions below it. */
function Features(p: StepProps) {
  const { open } = dataOf(p);
  const others = rowOf(p.layout, 'open').small;
  const said = others.filter((o) => o.on);
  const tell = (id: string) => {
    const offer = others.find((o) => pickOf(o) === id);
    if (offer) p.press(offer.action);
  };
  const draw = (value: string) => {
    const picture = open ? featurePicture(open, value) : undefined;
    return picture && <Stitch {...p} symptom={picture.symptom} size={112} views={picture.views} />;
  };
  return (
    <div class="inner">
      {said.length > 0 && (
        <Chips label={text.answered} chips={said.map((o) => ({ id: pickOf(o), label: p.words(o) }))} onOpen={tell} />
      )}
      {open && (
        <Choices
          {...p}
          offers={rowOf(p.layout, open).tiles}
          legend={saying(p.task, p.ctx).say}
          size="face"
          state
          picture={draw}
        />
      )}
      <p class="small-text">{text.optional}</p>
      <h2>{text.ask}</h2>
      <Acts {...p} offers={others.filter((o) => !o.on)} />
      <Acts {...p} offers={rowOf(p.layout).small} />
    </div>
  );
}

function Result(p: StepProps) {
  const { tiles, small } = rowOf(p.layout);
  const best = matches(dataOf(p).answers ?? {});
  const compare = rowOf(p.layout, 'compare').small;
  const why = rowOf(p.layout, 'why-not').small;
  const for_ = (offers: typeof compare, symptom: string) => offers.filter((o) => pickOf(o) === symptom);
  return (
    <div class="inner">
      {best.map((m) => (
        <section key={m.symptom} class="match" aria-label={symptomName[m.symptom]}>
          {tiles
            .filter((o) => pickOf(o) === m.symptom)
            .map((o) => (
              <button key={m.symptom} type="button" class="tile choice" onClick={(e) => p.press(o.action, e)}>
                <Stitch {...p} symptom={Number(m.symptom)} size={112} />
                <span>
                  <b>{p.words(o)}</b>
                  <small>{matchWords(m)}</small>
                </span>
              </button>
            ))}
          <Acts {...p} offers={[...for_(compare, m.symptom), ...for_(why, m.symptom)]} words={shortWords(p)} />
        </section>
      ))}
      <Choices {...p} offers={tiles.filter((o) => !best.some((m) => m.symptom === pickOf(o)))} legend={text.answers} />
      <Acts {...p} offers={[...for_(compare, ownPhoto), ...small]} />
      <p class="small-text">{saying(p.task, p.ctx).more}</p>
    </div>
  );
}

/** The name stands above them already. */
const shortWords =
  (p: StepProps): StepProps['words'] =>
  (o) =>
    o.action.do === 'pick' && o.action.of === 'compare' ? text.compare : p.words(o);

/** Two up, same crop and scale, and what tells them apart in words; or one of them beside the person's own stitch. */
function Compare(p: StepProps) {
  const { tiles, small } = rowOf(p.layout);
  const [a, b] = tiles.map(pickOf);
  const asked = questions(dataOf(p).look).map((f) => f.id);
  const rows = a && b ? differences(a, b, asked) : [];
  return (
    <div class="inner">
      <div class="two-up">
        {dataOf(p).compare?.includes(ownPhoto) && <Own {...p} />}
        {tiles.map((o, side) => (
          <figure key={pickOf(o)}>
            <Stitch {...p} symptom={Number(pickOf(o))} size={280} label={p.words(o)} />
            <figcaption class="tells">
              {rows.map((r) => (
                <span key={r.chip}>
                  {r.chip}: {r.sides[side]}
                </span>
              ))}
            </figcaption>
            <button type="button" class="paired" onClick={(e) => p.press(o.action, e)}>
              {p.words(o)}
            </button>
          </figure>
        ))}
      </div>
      <Acts {...p} offers={small} />
    </div>
  );
}

/** The person's own stitch, the newest photo of it first. It is kept with the path, whatever it is named. */
function Own({ task, rows, photoOf, send }: StepProps) {
  useEffect(() => send({ type: 'load', kinds: ['photo'] }), [send]);
  const parent = String(task.data.path ?? '');
  const row = list(rows, 'photo').findLast((r) => shown(r, 'parent') === parent);
  return (
    <figure>
      {row ? <Photo key={row.id} row={row} photoOf={photoOf} alt={text.ownStitch} /> : <p>{text.noOwn}</p>}
      <FileDoor
        label={row ? text.otherPhoto : text.takePhoto}
        accept="image/*"
        look="paired"
        onFile={(file) => send({ type: 'photo', parentKind: 'symptom', parent, file })}
      />
    </figure>
  );
}
