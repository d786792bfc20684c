/** A station's card that was read: what it says and from when. It goes on the board of the class, or into a note, or nowhere. */
import { useEffect } from 'preact/hooks';
import { boardOf, cardFits, type StationRow } from '../../domain/class-board';
import type { StationCard } from '../../domain/station-card';
import { classOf, list, newId, shown } from '../../read';
import { text as classText } from '../../text/class';
import { text } from '../../text/station';
import { Card, Notice, Row } from '../../ui/card';
import { stationRows } from '../hand-over/station-rows';
import type { ScreenProps } from '../shell';

export function StationFound({ state, send, card, onLeave }: ScreenProps & { card: StationCard; onLeave: () => void }) {
  useEffect(() => send({ type: 'load', kinds: ['class', 'station', 'visit'] }), [send, state.machine]);
  const rows = stationRows(card, state.ctx.units);
  const { zone } = state.ctx;
  const title = text.titleOf(card.station, card.machine?.name ?? '');
  const last = list(state.rows, 'class').at(-1);
  const { stations, visits } = classOf(state.rows, last?.id ?? '');
  const name = String(shown(last, 'name') ?? '');
  const visit = (station: string) =>
    last &&
    send({
      type: 'write',
      drafts: [{ kind: 'visit', id: newId(), set: { class: last.id, station, state: card.state, zone } }],
      goTo: `/class/${last.id}`,
    });
  const keep = () => {
    const id = newId();
    const words = [title, ...rows.map((r) => r.join(': '))].join('\n');
    send({ type: 'write', drafts: [{ kind: 'note', id, set: { text: words, zone } }], goTo: `/book/note/${id}` });
  };
  return (
    <Card title={title}>
      {card.state === 'stop' && <Notice kind="stop" text={classText.stopNote} />}
      {rows.map(([of, words]) => (
        <Row key={of} title={of} detail={words} />
      ))}
      {last && <OnBoard board={boardOf(stations, visits)} at={last.id} {...{ card, name }} onPut={visit} />}
      <div class="acts">
        <button type="button" onClick={keep}>
          {text.note}
        </button>
        <button type="button" onClick={onLeave}>
          {text.leave}
        </button>
      </div>
    </Card>
  );
}

/** Where it can go: its own station, or one that is chosen. What stands at stop is left to the board itself. */
export function OnBoard(props: {
  card: StationCard;
  board: readonly StationRow[];
  at: string; // the class
  name: string; // and its name
  onPut: (station: string) => void;
}) {
  const { card, board, at, name, onPut } = props;
  const own = board.filter((s) => s.number === card.station);
  const some = own.length > 0 ? own : board;
  const named = (fits: string) =>
    some.filter((s) => cardFits(card, s) === fits).map((s) => classText.station(s.number));
  const [stop, older] = [named('stop'), named('older')];
  const free = some.filter((s) => cardFits(card, s) !== 'stop');
  return (
    <>
      {stop.length > 0 && (
        <Notice kind="stop" text={text.stands(stop)}>
          <a class="button" href={`/class/${at}`}>
            {text.board}
          </a>
        </Notice>
      )}
      {older.length > 0 && <Notice text={text.older(older)} />}
      {own.length > 0 &&
        free.map((s) => (
          <button key={s.id} type="button" class="paired wide" onClick={() => onPut(s.id)}>
            {text.put(classText.station(s.number), name)}
          </button>
        ))}
      {own.length === 0 && free.length > 0 && (
        <fieldset>
          <legend>{text.which(name)}</legend>
          <div class="acts">
            {free.map((s) => (
              <button key={s.id} type="button" class="small-act" onClick={() => onPut(s.id)}>
                {classText.named(s.number, s.name)}
              </button>
            ))}
          </div>
        </fieldset>
      )}
    </>
  );
}
