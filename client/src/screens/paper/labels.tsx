/** A label for every bobbin case of the studio: its name, its code, and the same code to type. */
import { caseCode } from '../../domain/paper-code';
import type { Paper as Size } from '../../domain/sheet';
import { shortCode } from '../../domain/short-code';
import { lengthIn } from '../../text/amount';
import { text } from '../../text/paper';
import { Paper } from '../../ui/paper';
import { Qr } from '../../ui/qr';
import type { ScreenProps } from '../shell';
import { bandHere, threadOf, threadWords } from './case-band';

/** A label's code has few squares: they can be large (our choice). */
const squareMm = 0.7;

export function Labels({ state, size }: Pick<ScreenProps, 'state'> & { size: Size }) {
  const { ctx } = state;
  return (
    <Paper size={size} title={text.labels} bar={text.bar}>
      <p>{ctx.bobbinCases.length === 0 ? text.noCases : text.labelsHow}</p>
      <div class="labels">
        {ctx.bobbinCases.map((c) => {
          const band = bandHere(ctx, c);
          const code = shortCode(c.id);
          return (
            <section key={c.id} class="label">
              <Qr text={caseCode(c.id)} label={text.codeOf(c.label)} instead={code} squareMm={squareMm} />
              <div>
                <h3>{c.label}</h3>
                {threadOf(ctx, c) && <p>{text.setFor(threadWords(ctx, threadOf(ctx, c)))}</p>}
                <p>{`${lengthIn(band.from, ctx.units)} – ${lengthIn(band.to, ctx.units)}`}</p>
                <p class="typed">{`${code.slice(0, 3)} ${code.slice(3)}`}</p>
              </div>
            </section>
          );
        })}
      </div>
    </Paper>
  );
}
