/** What stood in a field before, asked of the studio's server; any of it can be put back. */
import { text } from '../../text/book';
import { when } from '../../text/shell';
import { Card } from '../../ui/card';
import type { ScreenProps } from '../shell';
import { personName } from './versions';

type Said = { history?: string; more?: boolean; before?: readonly { text: string; by: string; at: number }[] };

export function Earlier({ state, send, kind, id, field }: ScreenProps & { kind: string; id: string; field: string }) {
  if (!state.link.joined) return null;
  const said = (state.said ?? {}) as Said;
  if (said.history !== id)
    return (
      <>
        <button
          type="button"
          class="small-act"
          onClick={() => send({ type: 'link', do: { do: 'history', kind, id, field } })}
        >
          {text.earlier}
        </button>
        {state.link.trouble && <p role="alert">{state.link.trouble}</p>}
      </>
    );
  const before = said.before ?? [];
  return (
    <Card title={text.earlier}>
      {before.length === 0 && <p>{text.noEarlier}</p>}
      {before.map((v) => (
        <div key={`${v.at} ${v.text}`}>
          <p class="small-text">{[personName(state, v.by), when(v.at)].join(', ')}</p>
          <p class="as-written">{v.text}</p>
          <button
            type="button"
            class="small-act quiet"
            onClick={() => send({ type: 'write', drafts: [{ kind, id, set: { [field]: v.text } }] })}
          >
            {text.putBack}
          </button>
        </div>
      ))}
      {said.more && <p>{text.olderStill}</p>}
    </Card>
  );
}
