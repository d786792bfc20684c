/** What was tried, the last of it: when, and by whom. */
import type { HandOver } from '../../domain/hand-over';
import { text, triedWords } from '../../text/hand-over';
import { whenAfter } from '../../text/shell';
import type { ScreenProps } from '../shell';
import { signedName } from '../who';

export function Tried({ state, page, most }: Pick<ScreenProps, 'state'> & { page: HandOver; most: number }) {
  const { tried } = page;
  const last = tried.slice(-most);
  return (
    <section>
      <h3>{text.rows.tried}</h3>
      {last.length === 0 && <p>{text.nothingTried}</p>}
      {last.length < tried.length && <p>{text.earlier(tried.length - last.length)}</p>}
      <ol>
        {last.map((t, i) => (
          <li key={t.record.id}>
            {text.at(
              triedWords(t, state.ctx),
              whenAfter(t.record.at, last[i - 1]?.record.at),
              signedName(state, t.record.by),
            )}
          </li>
        ))}
      </ol>
    </section>
  );
}
