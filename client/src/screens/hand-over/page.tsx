/** The page for the next operator. */
import { caseOf, lastReading } from '../../domain/bench';
import { careNow, dueNow, needleHours } from '../../domain/care';
import type { HandOver } from '../../domain/hand-over';
import { machineOf } from '../../domain/machine';
import { bobbinScrew, topScrew } from '../../domain/task/ledger';
import { careInput } from '../../read';
import { text as careText } from '../../text/care';
import { starSays } from '../../text/directions';
import { text as frameText } from '../../text/frame';
import { text } from '../../text/hand-over';
import { hoursWords } from '../../text/needle';
import { text as paperText } from '../../text/paper';
import { when } from '../../text/shell';
import { Facts, Paper } from '../../ui/paper';
import type { ScreenProps } from '../shell';
import { standsWords } from '../stands';
import { signedName } from '../who';
import { FirstLine } from './first-line';
import { Tried } from './tried';

/** As much as leaves the page one page (our choice). */
const most = { tried: 8, due: 5 } as const;

export function HandOverPage({ state, page }: Pick<ScreenProps, 'state'> & { page: HandOver }) {
  const { ctx } = state;
  const due = dueNow(careNow(careInput(state.rows, ctx)));
  return (
    <Paper size={state.settings.paper} dense title={text.page(machineOf(ctx)?.name ?? '')} bar={paperText.bar}>
      <FirstLine state={state} page={page} />
      <Facts rows={rows(state, page)} />
      <Tried state={state} page={page} most={most.tried} />
      <section>
        <h3>{text.rows.due}</h3>
        {due.length === 0 && <p>{text.nothingDue}</p>}
        <ul>
          {due.slice(0, most.due).map((s) => (
            <li key={s.item.id}>
              {careText.name(s.item.id)}. {careText.stateBy(s)}
            </li>
          ))}
        </ul>
        {due.length > most.due && <p>{careText.more(due.length - most.due)}</p>}
      </section>
    </Paper>
  );
}

function rows(state: ScreenProps['state'], page: HandOver): readonly (readonly [string, string])[] {
  const { ctx } = state;
  const { bench } = ctx;
  const bobbinCase = caseOf(ctx);
  const hours = needleHours(ctx);
  const reading = lastReading(ctx);
  const pull = ctx.readings.findLast((r) => r.type === 'pull');
  const { quilt, row, tight, good, sample, open } = page;
  const words = text.rows;
  return [
    [words.quilt, [quilt?.name || frameText.noQuilt, row && text.rowIs(row)].filter(Boolean).join(', ')],
    [words.tight, tight ? `${text.tightStates[tight.state] ?? tight.state} (${when(tight.at)})` : frameText.notSaid],
    [words.needle, [bench.needle || frameText.notSaid, hours && hoursWords(hours.hours)].filter(Boolean).join(', ')],
    [words.good, good ? `${when(good.at)}, ${signedName(state, good.by)}` : frameText.noGood],
    [frameText.topStands, standsWords(ctx, topScrew(ctx.machine))],
    [
      frameText.caseStands,
      bobbinCase ? `${bobbinCase.label}, ${standsWords(ctx, bobbinScrew(bobbinCase.id))}` : frameText.notSaid,
    ],
    [
      frameText.lastReading,
      reading
        ? `${frameText.reading(reading.type, reading.drops, reading.answer, reading.fill, ctx.units)} (${when(reading.at)})`
        : frameText.noReading,
    ],
    ...(pull
      ? [[words.pull, `${text.pullStates[pull.answer ?? ''] ?? frameText.notSaid} (${when(pull.at)})`] as const]
      : []),
    [
      words.sample,
      sample
        ? `${sample.rays.length > 0 ? starSays(sample.rays) : sample.allAlike ? text.allAlike : frameText.notSaid} (${when(sample.at)})`
        : text.none,
    ],
    [words.open, open ? text.openIs(open.round, signedName(state, open.by), when(open.at)) : text.none],
  ];
}
