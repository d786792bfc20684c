/** What two phones wrote of one screw without having seen each other: shown for a person to say which it is. */
import { ledger } from '../change';
import type { Ctx } from './context';

export type Pair = readonly [string, string];

/** Moves to be asked about ("the same change or two?") and dial numbers that differ ("look at the dial"). */
export function concurrent(ctx: Ctx, screw: string): readonly Pair[] {
  const { questions, position, lines } = ledger(ctx.changes, screw);
  const moves = questions.map((q): Pair => [q.first, q.second]);
  if (position.state !== 'dial' || position.ask?.why !== 'two-numbers') return moves;
  const [one, other] = position.ask.numbers.map(
    (n) => lines.findLast((l) => !l.struck && l.record.type === 'dial' && l.record.dialTenths === n)?.record.id,
  );
  return one !== undefined && other !== undefined ? [...moves, [one, other]] : moves;
}
