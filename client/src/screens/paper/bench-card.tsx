/** What is set up on one machine, to tape beside it. */
import { caseOf, lastReading } from '../../domain/bench';
import { needleHours } from '../../domain/care';
import { machineOf } from '../../domain/machine';
import type { Paper as Size } from '../../domain/sheet';
import { bobbinScrew, topScrew } from '../../domain/task/ledger';
import { lengthIn } from '../../text/amount';
import { text as frameText } from '../../text/frame';
import { hoursWords } from '../../text/needle';
import { text } from '../../text/paper';
import { whenOnPaper } from '../../text/shell';
import { Facts, Paper } from '../../ui/paper';
import type { ScreenProps } from '../shell';
import { standsWords } from '../stands';
import { bandHere, threadWords } from './case-band';

export function BenchCard({ state, size }: Pick<ScreenProps, 'state'> & { size: Size }) {
  const machine = machineOf(state.ctx);
  return (
    <Paper size={size} title={text.bench(machine?.name ?? '')} bar={text.bar}>
      {machine ? <Facts rows={benchRows(state)} /> : <p>{text.noMachine}</p>}
      <p>{text.caution}</p>
      <p>{text.printed(whenOnPaper(state.ctx.now))}</p>
    </Paper>
  );
}

/** What is set up, line by line. */
export function benchRows(state: ScreenProps['state']): readonly (readonly [string, string])[] {
  const { ctx } = state;
  const { bench } = ctx;
  const bobbinCase = caseOf(ctx);
  const band = bobbinCase && bandHere(ctx, bobbinCase);
  const hours = needleHours(ctx);
  const reading = lastReading(ctx);
  const good = ctx.events.findLast((e) => e.type === 'good');
  const words = frameText;
  return [
    [words.quilt, ctx.quilts.find((q) => q.id === bench.quilt)?.name || words.noQuilt],
    [words.top, text.stands(threadWords(ctx, bench.topThread), standsWords(ctx, topScrew(ctx.machine)))],
    [words.bobbin, threadWords(ctx, bench.bobbinThread)],
    [
      words.bobbinCase,
      bobbinCase ? text.caseStands(bobbinCase.label, standsWords(ctx, bobbinScrew(bobbinCase.id))) : words.notSaid,
    ],
    ...(band ? [[text.band, text.bandOf(lengthIn(band.from, ctx.units), lengthIn(band.to, ctx.units))] as const] : []),
    [
      words.needle,
      hours ? text.needleIn(bench.needle || words.notSaid, hoursWords(hours.hours)) : bench.needle || words.notSaid,
    ],
    [`${words.batting}, ${words.backing}`, [bench.batting, bench.backing].filter(Boolean).join(', ') || words.notSaid],
    [
      words.lastReading,
      reading
        ? text.readOn(
            words.reading(reading.type, reading.drops, reading.answer, reading.fill, ctx.units),
            whenOnPaper(reading.at),
          )
        : words.noReading,
    ],
    [words.lastGood, good ? whenOnPaper(good.at) : words.noGood],
  ];
}
