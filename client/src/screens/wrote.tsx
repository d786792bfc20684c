/** The line of a ledger just written, with the ways back that it has, until the next act. */
import { waysBack } from '../domain/task/ledger';
import { move, screwName } from '../text/amount';
import { changeWords, text, ways } from '../text/changes';
import { Notice } from '../ui/card';
import type { ScreenProps } from './shell';
import { standsWords } from './stands';

/** With `only`, no buttons: the line itself stands below with its own. */
export function Wrote({ state, send, only }: ScreenProps & { only?: boolean }) {
  const { change, screw } = state.wrote ?? { change: '', screw: '' };
  const c = state.ctx.changes.find((x) => x.id === change);
  if (!c) return null;
  const said = c.type === 'move' ? move(c.minutes ?? 0) : changeWords(c, state.ctx.changes);
  return (
    <Notice text={text.wrote(screwName(screw, state.ctx), said, standsWords(state.ctx, screw))}>
      {(only ? [] : waysBack(state.ctx, change)).map((how) => (
        <button key={how} type="button" class="small-act" onClick={() => send({ type: 'take-back', how, change })}>
          {ways[how]}
        </button>
      ))}
    </Notice>
  );
}
