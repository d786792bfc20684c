/** How this machine stands, as one code: for a teacher's phone to read at a visit, on the screen or on paper. */
import { useState } from 'preact/hooks';
import { mostStations } from '../../domain/class-board';
import { machineOf } from '../../domain/machine';
import { codeSquareMm } from '../../domain/sheet';
import { stationCard, stationCode } from '../../domain/station-card';
import { text as paperText } from '../../text/paper';
import { text } from '../../text/station';
import { Facts, Paper } from '../../ui/paper';
import { Qr } from '../../ui/qr';
import type { ScreenProps } from '../shell';
import { stationRows } from './station-rows';

export function StationPage({ state, number }: Pick<ScreenProps, 'state'> & { number: string }) {
  const [now] = useState(Date.now());
  const { ctx } = state;
  const card = stationCard({ ...ctx, now: Math.max(now, ctx.now) }, stationNumber(number));
  const code = stationCode(card);
  return (
    <Paper size={state.settings.paper} title={text.title(machineOf(ctx)?.name ?? '')} bar={paperText.bar}>
      {code ? (
        <div class="to-scan">
          <Qr text={code} label={text.code} instead={text.tooLong} squareMm={codeSquareMm} />
        </div>
      ) : (
        <p>{text.tooLong}</p>
      )}
      <Facts rows={stationRows(card, ctx.units)} />
      <p>{text.how}</p>
    </Paper>
  );
}

/** The number that was typed; undefined where it is none that a class can have. */
export function stationNumber(typed: string): number | undefined {
  const n = /^\d{1,2}$/.test(typed.trim()) ? Number(typed) : 0;
  return n >= 1 && n <= mostStations ? n : undefined;
}
