/** The needle that is in: its size both ways, room for the threads, its hours. */
import { needleHours } from '../domain/care';
import { needleFit, needleSize } from '../domain/needle';
import { thicknessOf } from '../domain/thread';
import { find, shown } from '../read';
import { hoursWords, text } from '../text/needle';
import { when } from '../text/shell';
import { Card, Row } from '../ui/card';
import type { ScreenProps } from './shell';
import { threadOption } from './thread-form';
import { Words } from './typed';

export function NeedleCard(props: ScreenProps) {
  const { state } = props;
  const { ctx, machine } = state;
  const label = state.drafts.get(`bench/${machine}/needle`) ?? shown(find(state.rows, 'bench', machine), 'needle');
  const printed = typeof label === 'string' ? label.trim() : '';
  const size = needleSize(printed);
  const hours = needleHours(ctx);
  const ids = new Set([ctx.bench.topThread, ctx.bench.bobbinThread]);
  const threads = ctx.threads.filter((t) => ids.has(t.id));
  const fits = size
    ? threads.flatMap((t) => {
        const mm = thicknessOf(t);
        return mm === undefined ? [] : [text.fit(threadOption(t).label, needleFit(mm, size.metric))];
      })
    : [];
  return (
    <Card title={text.title}>
      <Words {...props} kind="bench" id={machine} field="needle" label={text.asPrinted} hint={text.asPrintedHint} />
      {printed !== '' && <p>{size ? text.size(size) : text.notConverted}</p>}
      {fits.map((words) => (
        <p key={words}>{words}</p>
      ))}
      {fits.length > 0 && <p class="small-text">{text.rule}</p>}
      {size && threads.length > 0 && fits.length === 0 && <p class="small-text">{text.noSize}</p>}
      <Row title={text.in} detail={hours ? text.since(when(hours.since), hoursWords(hours.hours)) : text.notIn} />
    </Card>
  );
}
