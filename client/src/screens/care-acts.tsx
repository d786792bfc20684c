/** One tap for care that was done: a fact where there is one, the task that is the care, else a line in the log. */

import type { CareState } from '../domain/care';
import type { Draft } from '../read';
import { newId } from '../read';
import { text } from '../text/care';
import type { ScreenProps } from './shell';

export function CareAct({
  state,
  send,
  of,
  note,
}: ScreenProps & { of: CareState; note?: { text: string; key: string } }) {
  const { item } = of;
  if (item.id === 'day-start' || item.id === 'path') {
    const task = item.id === 'path' ? 'top-feel' : 'drop-test';
    return (
      <button type="button" class="small-act" onClick={() => send({ type: 'begin', task })}>
        {item.id === 'path' ? text.topFeel : text.dropTest}
      </button>
    );
  }
  const done = () => {
    const fact = item.doneBy?.event;
    if (fact === 'cleaned' || fact === 'new-needle') send({ type: 'fact', fact }); // hours and Frame go by it
    if (!note?.text && (fact === 'cleaned' || fact === 'new-needle')) return;
    const set: Draft['set'] = {
      machine: state.machine,
      item: item.id,
      who: item.by,
      zone: state.ctx.zone,
      ...(item.of === 'case' ? { bobbinCase: of.of } : {}),
      ...(note?.text ? { text: note.text } : {}),
    };
    send({ type: 'write', drafts: [{ kind: 'careDone', id: newId(), set }], ...(note ? { used: [note.key] } : {}) });
  };
  return (
    <button type="button" class="small-act" onClick={done}>
      {text.done}
    </button>
  );
}
