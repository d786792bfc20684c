/** The page for a technician: what happened, what was seen, what was tried, with the photos. */
import type { HandOver } from '../../domain/hand-over';
import { machineOf } from '../../domain/machine';
import { list, plain, shown, writerOf } from '../../read';
import { text as bookText } from '../../text/book';
import { happenedWords, text } from '../../text/hand-over';
import { text as paperText } from '../../text/paper';
import { when } from '../../text/shell';
import { answersWords, symptomName } from '../../text/symptoms';
import { Facts, Paper } from '../../ui/paper';
import { benchRows } from '../paper/bench-card';
import { Photo } from '../photo';
import type { ScreenProps } from '../shell';
import { signedName } from '../who';
import { FirstLine } from './first-line';
import { Tried } from './tried';

/** As much as a technician reads before the first screw (our choice); all of it is in the app. */
const most = { happened: 20, seen: 6, tried: 40 } as const;

export function TechnicianPage({ state, page }: Pick<ScreenProps, 'state'> & { page: HandOver }) {
  const { ctx } = state;
  const happened = page.happened.slice(-most.happened);
  const seen = list(state.rows, 'symptom')
    .filter((r) => shown(r, 'machine') === ctx.machine)
    .slice(-most.seen);
  const corrected = new Set(seen.map((r) => shown(r, 'corrects')));
  const photos = list(state.rows, 'photo');
  return (
    <Paper
      size={state.settings.paper}
      dense
      title={text.technicianPage(machineOf(ctx)?.name ?? '')}
      bar={paperText.bar}
    >
      <FirstLine state={state} page={page} />
      <section>
        <h3>{text.rows.happened}</h3>
        {happened.length === 0 && <p>{text.nothingHappened}</p>}
        <ol>
          {happened.map((e) => (
            <li key={e.id}>{text.at(happenedWords(e), when(e.at), signedName(state, e.by))}</li>
          ))}
        </ol>
      </section>
      <section>
        <h3>{text.rows.seen}</h3>
        {seen.length === 0 && <p>{text.nothingSeen}</p>}
        {seen.map((r) => {
          const { named, answers } = plain(r);
          const other = corrected.has(r.id) ? `, ${bookText.corrected}` : '';
          const name = `${symptomName[String(named)] ?? bookText.noName}${other}`;
          const words = [name, answersWords(answers)].filter(Boolean).join('. ');
          return (
            <div key={r.id}>
              <p>{text.at(words, when(r.t), signedName(state, writerOf(r)))}</p>
              {photos
                .filter((p) => shown(p, 'parent') === r.id)
                .map((p) => (
                  <Photo key={p.id} row={p} photoOf={state.photoOf} alt={words} />
                ))}
            </div>
          );
        })}
      </section>
      <Tried state={state} page={page} most={most.tried} />
      <Facts rows={benchRows(state)} />
    </Paper>
  );
}
