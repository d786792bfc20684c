/** What was seen on this machine, newest first: how it was named, by what, and with which photos. A name can be put right. */
import { useEffect } from 'preact/hooks';
import { list, plain, shown } from '../../read';
import { text } from '../../text/book';
import { when } from '../../text/shell';
import { answersWords, symptomName } from '../../text/symptoms';
import { text as taskText } from '../../text/task-screen';
import { Card, Row } from '../../ui/card';
import { Photo } from '../photo';
import { AtPlace } from '../place';
import type { ScreenProps } from '../shell';

export function Seen({ state, send }: ScreenProps) {
  useEffect(() => send({ type: 'load', kinds: ['symptom', 'photo'] }), [send, state.machine]);
  const all = list(state.rows, 'symptom').filter((r) => shown(r, 'machine') === state.machine);
  const corrected = new Set(all.map((r) => shown(r, 'corrects')));
  const photos = list(state.rows, 'photo');
  return (
    <AtPlace state={state} place="book">
      <h1>{text.seen}</h1>
      {all.length === 0 && <p>{text.nothingSeen}</p>}
      {all.toReversed().map((r) => {
        const { named, answers } = plain(r);
        const wrong = corrected.has(r.id);
        return (
          <Card key={r.id}>
            <Row
              title={symptomName[String(named)] ?? text.noName}
              detail={[wrong ? text.corrected : '', answersWords(answers)].filter(Boolean).join('. ')}
              end={when(r.t)}
            />
            {photos
              .filter((p) => shown(p, 'parent') === r.id)
              .map((p) => (
                <Photo key={p.id} row={p} photoOf={state.photoOf} alt={taskText.ownStitch} />
              ))}
            {!wrong && (
              <button
                type="button"
                class="small-act"
                onClick={() => send({ type: 'begin', task: 'see', with: { corrects: r.id, answers: answers ?? {} } })}
              >
                {text.wasElse}
              </button>
            )}
          </Card>
        );
      })}
      <a class="button" href="/book">
        {text.done}
      </a>
    </AtPlace>
  );
}
