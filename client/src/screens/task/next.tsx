/** The next step of a balancing: what else comes into question, and why and why not. */
import { foundNow, sewnNow } from '../../domain/task';
import { adviceWhy, othersOf } from '../../text/advice';
import { directionsSay, modeName, raySign, starSays } from '../../text/directions';
import {
  memory,
  type Reason,
  soFar,
  suspectFits,
  suspectName,
  suspectsOf,
  suspectWhy,
  text,
} from '../../text/suspects';
import { saying } from '../../text/task';
import { StarView } from '../../ui/star-view';
import { later } from '../later';
import { Acts, Choices, More } from './controls';
import { rowOf } from './layout';
import type { StepProps } from './parts';

const Rounds = later(() => import('../plots').then((m) => m.Rounds), null);

/** More small acts than this go on a card of their own where the step is to be seen whole. */
const actsShown = 4;

export function NextOrWhy(p: StepProps) {
  return p.task.step === 'why' ? <Why {...p} /> : <Next {...p} />;
}

function Next(p: StepProps) {
  const { tiles } = rowOf(p.layout, 'or');
  const { small } = rowOf(p.layout);
  const others = othersOf(p.task);
  const often = memory(p.ctx);
  const why = (value: string) => {
    const other = others[Number(value)];
    return other && adviceWhy(other);
  };
  return (
    <div class="inner">
      <p>{saying(p.task, p.ctx).more}</p>
      <Sewn {...p} />
      {often && <p class="small-text">{often}</p>}
      <Choices {...p} offers={tiles} legend={text.or} showLegend note={(v) => why(v)} />
      <Acts {...p} offers={small.slice(0, actsShown)} />
      {small.length > actsShown && <More {...p} offers={small.slice(actsShown)} />}
    </div>
  );
}

/** The lines of this round as a star, and what they say together. */
function Sewn({ task, ctx }: StepProps) {
  const now = sewnNow(ctx, { balancing: task.balancing, round: task.round });
  if (!now) return null;
  const both = now.stars.length > 1;
  return (
    <section class="sewn-now">
      {now.stars.map(({ mode, rays }) => (
        <StarView
          key={mode}
          label={starSays(rays)}
          caption={both && mode ? modeName[mode] : undefined}
          rays={rays.map((r) => ({ direction: r.direction, sign: raySign(r.score) }))}
        />
      ))}
      <p>{directionsSay(now.said)}</p>
    </section>
  );
}

function Why(p: StepProps) {
  const { task, ctx } = p;
  const suspects = suspectsOf(task);
  const found = foundNow(ctx, { balancing: task.balancing ?? '', round: task.round });
  const done = soFar(ctx, task.balancing);
  return (
    <div class="inner">
      <Rounds ctx={ctx} balancing={task.balancing ?? ''} round={task.round} />
      {suspects.every((x) => x.of === 0) && <p>{text.nothing}</p>}
      {suspects.map((x) => {
        const { why, whyNot } = suspectWhy(x, found);
        return (
          <section key={x.cause} class="suspect">
            <h2>{suspectName(x)}</h2>
            <p>{suspectFits(x)}</p>
            <Reasons label={text.fits} lines={why} />
            <Reasons label={text.fitsNot} lines={whyNot} />
          </section>
        );
      })}
      {done.length > 0 && <Reasons label={text.soFar} lines={done.map((asked) => ({ asked }))} />}
    </div>
  );
}

function Reasons({ label, lines }: { readonly label: string; readonly lines: readonly Reason[] }) {
  if (lines.length === 0) return null;
  return (
    <>
      <h3>{label}</h3>
      <ul class="reasons">
        {lines.map((line) => (
          <li key={line.asked}>
            {line.asked} {line.said && <b>{line.said}</b>}
          </li>
        ))}
      </ul>
    </>
  );
}
