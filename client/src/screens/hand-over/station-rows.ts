/** What a station's card says, line by line, and from when. */
import type { StationCard } from '../../domain/station-card';
import type { Ctx } from '../../domain/task';
import { text as classText } from '../../text/class';
import { text as frameText } from '../../text/frame';
import { whenOnPaper } from '../../text/shell';
import { text } from '../../text/station';
import { placeWords } from '../stands';

export function stationRows(
  card: StationCard,
  units: Ctx['units'],
): readonly (readonly [name: string, words: string])[] {
  const { reading, rows } = { ...card, rows: text.rows };
  const none = frameText.notSaid;
  return [
    [rows.state, `${classText.state(card.state)}. ${text.asOf(whenOnPaper(card.at))}`],
    [rows.machine, card.machine?.name ?? none],
    [rows.bobbinCase, card.bobbinCase?.name ?? none],
    [rows.needle, card.needle ?? none],
    [
      rows.reading,
      reading
        ? `${frameText.reading(reading.type, reading.drops, reading.answer, reading.fill, units)} (${whenOnPaper(reading.at)})`
        : frameText.noReading,
    ],
    [rows.top, card.top === undefined ? none : placeWords(card.top)],
    [rows.seen, card.seen.map(text.seen).join(' ') || text.nothingSeen],
  ];
}
