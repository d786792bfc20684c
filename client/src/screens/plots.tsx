/** The two plots where they belong: the drops of a case in its ledger, the rounds of a balancing beside its reasons. */
import type { Ctx } from '../domain/task';
import { dropCourse, roundCourse } from '../domain/task/history';
import { lengthIn } from '../text/amount';
import { dropsSay, pastWords, roundsSay, roundWords, text } from '../text/plots';
import { DropPlot, RoundPlot } from '../ui/plots';

export function Drops({ ctx, bobbinCase }: { ctx: Ctx; bobbinCase: string }) {
  const course = dropCourse(ctx, bobbinCase);
  if (!course) return null;
  const { past, band } = course;
  const said = dropsSay(past, band, ctx.units);
  return (
    <section>
      <h3>{text.dropsTitle}</h3>
      <DropPlot past={past} band={band} label={said} scale={(tenths) => lengthIn(tenths, ctx.units)} />
      <InWords said={said} signs={text.dropSigns} lines={past.map((p) => pastWords(p, ctx.units))} />
    </section>
  );
}

export function Rounds({ ctx, balancing, round }: { ctx: Ctx; balancing: string; round: number }) {
  const course = roundCourse(ctx, { balancing, round });
  if (!course) return null;
  const said = roundsSay(course);
  return (
    <section>
      <h3>{text.roundsTitle}</h3>
      <RoundPlot course={course} label={said} words={text} />
      <InWords said={said} signs={text.roundSigns} lines={course.rounds.map(roundWords)} />
    </section>
  );
}

/** All that the picture tells, for who does not see it or wants the figures. */
function InWords({ said, signs, lines }: { said: string; signs: string; lines: readonly string[] }) {
  return (
    <>
      <p>{said}</p>
      <details class="in-words">
        <summary>{text.inWords}</summary>
        <ol>
          {lines.map((line) => (
            <li key={line}>{line}</li>
          ))}
        </ol>
        <p class="small-text">{signs}</p>
      </details>
    </>
  );
}
