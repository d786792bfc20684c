/** A class on the teacher's phone: the board of its stations, and the book of each. */
import { useEffect, useState } from 'preact/hooks';
import {
  backTo,
  boardOf,
  givenHow,
  type StationRow,
  type StationState,
  type StepGiven,
  stationStates,
  stepsGiven,
  tellAll,
  usualStations,
} from '../domain/class-board';
import { classOf, type Draft, find, list, newId, shown } from '../read';
import { text } from '../text/class';
import { when } from '../text/shell';
import { Card, Notice, Row } from '../ui/card';
import { AtPlace } from './place';
import { Removed } from './removed';
import type { ScreenProps } from './shell';
import { Words } from './typed';
import './class.css';

export function Class(props: ScreenProps) {
  const { state, send } = props;
  useEffect(() => send({ type: 'load', kinds: ['class', 'station', 'visit'] }), [send, state.machine]);
  const [, , id = '', station = ''] = state.path.split('/');
  if (id === '') return <Classes {...props} />;
  if (!find(state.rows, 'class', id))
    return (
      <AtPlace state={state} place="book">
        <h1>{text.title}</h1>
        <p>{text.gone}</p>
        <a class="button" href="/class">
          {text.running}
        </a>
      </AtPlace>
    );
  return station === '' ? <Board {...props} id={id} /> : <StationBook {...props} id={id} station={station} />;
}

function Classes({ state, send }: ScreenProps) {
  const classes = list(state.rows, 'class').toReversed();
  const { zone } = state.ctx;
  const start = () => {
    const id = newId();
    const stations = Array.from({ length: usualStations }, (_, i) => station(id, i + 1, zone));
    const set = { name: text.usualName(Date.now()), zone };
    send({ type: 'write', drafts: [{ kind: 'class', id, set }, ...stations], goTo: `/class/${id}` });
  };
  return (
    <AtPlace state={state} place="book">
      <h1>{text.title}</h1>
      <p>{text.none}</p>
      <button type="button" class="paired wide" onClick={start}>
        {text.start(usualStations)}
      </button>
      {classes.length > 0 && (
        <Card title={text.running}>
          {classes.map((c) => (
            <Row key={c.id} title={String(shown(c, 'name') ?? '')} end={when(c.t)} href={`/class/${c.id}`} />
          ))}
        </Card>
      )}
      <a class="button" href="/book">
        {text.toBook}
      </a>
    </AtPlace>
  );
}

const station = (of: string, number: number, zone: number): Draft => ({
  kind: 'station',
  id: newId(),
  set: { class: of, number, zone },
});

/** The time, anew every half minute: "back to you" comes by itself. */
function useNow(): number {
  const [now, setNow] = useState(Date.now());
  useEffect(() => {
    const timer = setInterval(() => setNow(Date.now()), 30_000);
    return () => clearInterval(timer);
  }, []);
  return now;
}

function Board(props: ScreenProps & { id: string }) {
  const { state, send, id } = props;
  const now = Math.max(useNow(), Date.now());
  const [giving, setGiving] = useState('');
  const { stations, visits } = classOf(state.rows, id);
  const rows = boardOf(stations, visits);
  const due = backTo(rows, now);
  const seen = rows.filter((r) => r.state).length;
  const given = givenHow(visits);
  const { zone } = state.ctx;
  const visit = (of: string, to: StationState, step?: StepGiven) => {
    setGiving('');
    const set = { class: id, station: of, state: to, zone, ...(step && { step }) };
    send({ type: 'write', drafts: [{ kind: 'visit', id: newId(), set }] });
  };
  const last = Math.max(0, ...rows.map((r) => r.number));
  return (
    <AtPlace state={state} place="book">
      <h1>{String(shown(find(state.rows, 'class', id), 'name') ?? text.title)}</h1>
      <p class="small-text">{text.counts(seen, rows.filter((r) => r.state === 'good').length, rows.length)}</p>
      {due.length > 0 && <Notice text={text.backTo(due.map((r) => text.named(r.number, r.name)))} />}
      {tellAll(visits).map((step) => (
        <Notice key={step} text={text.tellAll(text.step(step))} />
      ))}
      <div class="stations">
        {rows.map((row) => (
          <StationCard
            key={row.id}
            href={`/class/${id}/${row.id}`}
            row={row}
            giving={giving === row.id}
            onState={(to) => (to === 'step' ? setGiving(giving === row.id ? '' : row.id) : visit(row.id, to))}
            onStep={(step) => visit(row.id, 'step', step)}
          />
        ))}
      </div>
      <button
        type="button"
        class="small-act"
        onClick={() => send({ type: 'write', drafts: [station(id, last + 1, zone)] })}
      >
        {text.one}
      </button>
      <a class="button" href="/book/code">
        {text.scan}
      </a>
      <details class="card">
        <summary>{text.wait}</summary>
        <ol>
          {text.first.map((line) => (
            <li key={line}>{line}</li>
          ))}
        </ol>
      </details>
      {given.length > 0 && (
        <Card title={text.given}>
          {given.map(([step, n]) => (
            <Row key={step} title={text.step(step)} end={text.atStations(n)} />
          ))}
        </Card>
      )}
      <Words {...props} kind="class" field="name" label={text.name} />
      <a class="button" href="/class">
        {text.running}
      </a>
    </AtPlace>
  );
}

function StationCard(props: {
  row: StationRow;
  href: string;
  giving: boolean;
  onState: (to: StationState) => void;
  onStep: (step: StepGiven) => void;
}) {
  const { row, href, giving, onState, onStep } = props;
  const name = text.station(row.number);
  const detail =
    row.state === 'step' &&
    [row.step && text.step(row.step), row.backAt && text.back(row.backAt)].filter(Boolean).join(', ');
  const end = [text.state(row.state), row.at && text.at(row.at)].filter(Boolean).join(', ');
  return (
    <section class={`station ${row.state ?? 'unseen-yet'}`} aria-label={name}>
      <Row title={text.named(row.number, row.name)} detail={detail} end={end} href={href} />
      {row.state === 'stop' && <p>{text.stopNote}</p>}
      <div class="states">
        {stationStates.map((s) => (
          <button
            key={s}
            type="button"
            aria-label={`${text.act(s)}, ${name}`}
            aria-pressed={s === 'step' ? undefined : row.state === s}
            aria-expanded={s === 'step' ? giving : undefined}
            onClick={() => onState(s)}
          >
            {text.act(s)}
          </button>
        ))}
      </div>
      {giving && (
        <fieldset class="steps">
          <legend class="unseen">{`${text.which}, ${name}`}</legend>
          {stepsGiven.map((s) => (
            <button key={s} type="button" onClick={() => onStep(s)}>
              {text.step(s)}
            </button>
          ))}
        </fieldset>
      )}
    </section>
  );
}

function StationBook(props: ScreenProps & { id: string; station: string }) {
  const { state, send, id, station: of } = props;
  const number = Number(shown(find(state.rows, 'station', of), 'number') ?? 0);
  const visits = classOf(state.rows, id).visits.filter((v) => v.station === of);
  return (
    <AtPlace state={state} place="book">
      <h1>{text.station(number)}</h1>
      <Removed {...props} />
      <Words {...props} id={of} kind="station" field="name" label={text.who} />
      <Words {...props} id={of} kind="station" field="text" label={text.note} long />
      <Card title={text.visits}>
        {visits.length === 0 && <p>{text.noVisits}</p>}
        {visits.toReversed().map((v) => (
          <div key={v.id}>
            <Row title={text.state(v.state)} detail={v.step && text.step(v.step)} end={when(v.at)} />
            <button
              type="button"
              class="small-act quiet"
              onClick={() => send({ type: 'remove', kind: 'visit', id: v.id })}
            >
              {text.wrong}
            </button>
          </div>
        ))}
      </Card>
      <a class="button" href={`/class/${id}`}>
        {text.toBoard}
      </a>
    </AtPlace>
  );
}
