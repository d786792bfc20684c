/** The first line: good to stitch, watch it, do not run; by whom and when, and who has it now. */
import type { HandOver } from '../../domain/hand-over';
import { text } from '../../text/hand-over';
import { when } from '../../text/shell';
import { sinceWords } from '../../text/task-screen';
import { Verdict } from '../../ui/signs';
import type { ScreenProps } from '../shell';
import { signedName } from '../who';

const signs = { good: 'good', watch: 'caution', stop: 'stop' } as const;

export function FirstLine({ state, page }: Pick<ScreenProps, 'state'> & { page: HandOver }) {
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
