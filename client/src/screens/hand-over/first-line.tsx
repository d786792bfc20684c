/** The first line: good to stitch, watch it, do not run; by whom and when, and who has it now. Beside it the photo of the last good stitch. */
import type { HandOver } from '../../domain/hand-over';
import { list, shown } from '../../read';
import { text } from '../../text/hand-over';
import { when } from '../../text/shell';
import { sinceWords } from '../../text/task-screen';
import { Verdict } from '../../ui/signs';
import { Photo } from '../photo';
import type { ScreenProps } from '../shell';
import { signedName } from '../who';

const signs = { good: 'good', watch: 'caution', stop: 'stop' } as const;

type Props = Pick<ScreenProps, 'state'> & { page: HandOver };

export function FirstLine({ state, page }: Props) {
  const photo = page.good && list(state.rows, 'photo').findLast((p) => shown(p, 'parent') === page.good?.id);
  return (
    <div class="side">
      <div>
        <Said state={state} page={page} />
      </div>
      {photo && <Photo row={photo} photoOf={state.photoOf} alt={text.goodPhoto} caption={text.rows.good} />}
    </div>
  );
}

function Said({ state, page }: Props) {
  const { said, taken, since } = page;
  if (!said) return <p class="first">{text.nothing}</p>;
  const by = said.given ? text.saidBy : text.markedBy;
  return (
    <>
      <div class="first">
        <Verdict kind={signs[said.verdict]}>{text.said(said.verdict)}</Verdict>
      </div>
      {said.reason && (
        <p>
          <b>{text.reasonIs(said.reason)}</b>
        </p>
      )}
      <p>
        {by(signedName(state, said.by), when(said.at))}{' '}
        {taken ? text.taken(signedName(state, taken.by), when(taken.at)) : said.given ? text.notTaken : ''}
      </p>
      {since && <p>{text.since(sinceWords(since, state.ctx.now))}</p>}
    </>
  );
}
