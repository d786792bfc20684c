/** Rating what was sewn: two lines with one row open at a time, or the star, where only odd rays are tapped. */
import { useState } from 'preact/hooks';
import { stitchOfSymptom } from '../../domain/stitch-symptoms';
import type { SewData } from '../../domain/task';
import { rowName, text } from '../../text/task-screen';
import { type Ray, type RayId, StarPicker } from '../../ui/star-picker';
import { StitchView } from '../../ui/stitch-view';
import { Choices } from './controls';
import { chosenIn, pickOf, rowOf } from './layout';
import { type StepProps, threadColours } from './parts';

/** Each score by the piece of sewing that shows it. */
const symptomOfScore: { readonly [score: string]: number } = { '-2': 3, '-1': 2, '0': 1, '1': 5, '2': 6 };
const isScore = (value: string) => Object.hasOwn(symptomOfScore, value);

export function Rate(p: StepProps) {
  const { form } = p.task.data as SewData;
  return form === 'star' ? <Star {...p} /> : <Lines {...p} />;
}

function Lines(p: StepProps) {
  const rows = p.layout.rows.filter((r) => r.of !== '');
  const [open, setOpen] = useState(rows[0]?.of ?? '');
  return (
    <div class="inner">
      <div class="row-tabs">
        {rows.map((r) => {
          const said = chosenIn(r).map((v) => r.tiles.find((o) => pickOf(o) === v));
          return (
            <button key={r.of} type="button" class="choice" aria-pressed={r.of === open} onClick={() => setOpen(r.of)}>
              <span>
                {rowName(r.of)}
                {said.length > 0 && <small>{said.map((o) => o && p.words(o)).join(', ')}</small>}
              </span>
            </button>
          );
        })}
      </div>
      <RateRow {...p} of={open} pictures />
      <Choices {...p} offers={rowOf(p.layout).tiles} legend={text.other} />
    </div>
  );
}

/** Five scores as pictures of both faces, and what may be seen beside them. */
function RateRow(p: StepProps & { of: string; pictures?: boolean }) {
  const { tiles } = rowOf(p.layout, p.of);
  const colours = threadColours(p.ctx);
  const draw = (score: string) => {
    const params = stitchOfSymptom.get(symptomOfScore[score] ?? 1);
    return (
      p.pictures && params && <StitchView params={params} label="" size={112} views={['top', 'back']} {...colours} />
    );
  };
  return (
    <>
      <Choices
        {...p}
        offers={tiles.filter((o) => isScore(pickOf(o)))}
        legend={rowName(p.of)}
        size={p.pictures ? 'face' : 'chip'}
        state
        picture={draw}
      />
      <Choices {...p} offers={tiles.filter((o) => !isScore(pickOf(o)))} legend={text.marks} size="chip" state />
    </>
  );
}

/** A tap moves a ray on: one dot of top, two, one of bobbin, two, and like the rest again. */
const order = ['', '1', '2', '-1', '-2'] as const;
const signs: { readonly [score: string]: string } = { '-2': 'BB', '-1': 'B', '0': '0', '1': 'T', '2': 'TT' };

function Star(p: StepProps) {
  const rows = p.layout.rows.filter((r) => r.of !== '' && r.of !== 'all');
  const [last, setLast] = useState('all');
  const rays: readonly Ray[] = rows.map((r) => {
    const chosen = chosenIn(r);
    const said = r.tiles.filter((o) => o.on).map(p.words);
    const score = chosen.find(isScore);
    const id = (r.of.startsWith('circle') ? r.of : Number(r.of)) as RayId;
    return {
      id,
      name: `${rowName(r.of)}: ${said.join(', ') || text.same}`,
      mark: `${score === undefined ? '' : (signs[score] ?? '')}${chosen.some((v) => !isScore(v)) ? '!' : ''}`,
    };
  });
  const cycle = (id: RayId) => {
    const row = rowOf(p.layout, String(id));
    const now = chosenIn(row).find(isScore) ?? '';
    const next = order[(order.indexOf(now as (typeof order)[number]) + 1) % order.length] || now; // picked again, it is taken back
    const offer = row.tiles.find((o) => pickOf(o) === next);
    setLast(String(id));
    if (offer) p.press(offer.action);
  };
  return (
    <div class="inner">
      <StarPicker label={text.star} rays={rays} onCycle={cycle} />
      <p class="small-text">{text.starSigns}</p>
      <h2>{rowName(last)}</h2>
      <RateRow {...p} of={last} />
      {last !== 'all' && (
        <button type="button" class="small-act" onClick={() => setLast('all')}>
          {rowName('all')}
        </button>
      )}
      <Choices {...p} offers={rowOf(p.layout).tiles} legend={text.other} />
    </div>
  );
}
