/**
 * Handing back what a server lost or never had: whole records with dots beyond its vector, whoever wrote them, in key
 * order, a part with each request.
 */
import { beyond, compareDots, covers, knownOf, trim, type Vector } from './merge';
import { baseOf, type Cursor, contextOf, keyOf, type PhoneMeta, type Row } from './phone';
import { type Answer, type BackPart, recordText } from './wire';

/** About how much JSON one part holds. */
export const partBytes = 384 << 10;

/** A part that is being gathered. `full`: it can be sent. */
export type Part = BackPart & { full: boolean; bytes: number };

const beyondVector = (mine: Vector, theirs: Vector) =>
  Object.keys(mine).some((r) => knownOf(mine, r) > knownOf(theirs, r));

/**
 * Ends a reading that began with our vector, `asked`: notes what the server may be owed. A copy that held nothing before,
 * and read of no other server, owes nothing; any other may hold records with more than its vector says.
 */
export function beginBack(meta: PhoneMeta, cursor: Cursor, asked: Vector, theirs: Vector): void {
  const { doubt, ahead } = cursor;
  Object.assign(cursor, { ask: false, doubt: {} });
  delete cursor.ahead;
  const held = Object.keys(asked).length > 0 || beyondVector(meta.c, theirs); // a file may have come since it was asked
  if (ahead || held || Object.keys(doubt).length > 0 || Object.keys(meta.cursors).length > 1) {
    cursor.back = { have: { ...meta.c }, theirs, doubt, from: '' };
  }
}

/**
 * Goes on behind the part that was taken, unless it is an earlier one or was refused for now. Refused with 'again': what
 * others handed back meanwhile is read first, and then all is handed back once more.
 */
export function endBack(cursor: Cursor, part: BackPart, answer: Answer): void {
  if (cursor.back?.from !== part.from) return;
  const refusal = answer.refused.find((r) => /^0+$/.test(r.replica));
  if (refusal?.reason === 'again')
    Object.assign(cursor, { ask: true, doubt: { ...cursor.doubt, ...cursor.back.doubt } });
  else if (refusal) return;
  if (refusal || part.last) delete cursor.back;
  else cursor.back = { ...cursor.back, from: part.upTo };
}

/** Begins the next part that a server is owed; undefined when it is owed nothing. */
export function startPart(meta: PhoneMeta, server: string): Part | undefined {
  const back = meta.cursors[server]?.back;
  if (!back) return undefined;
  const beyondTheirs = Object.values(meta.voids).filter((v) => !covers(back.theirs, v.dot));
  const voids = back.from === '' ? beyondTheirs.sort((a, b) => compareDots(a.dot, b.dot)) : [];
  return { have: back.have, records: [], voids, last: false, from: back.from, upTo: back.from, full: false, bytes: 0 };
}

/** Adds rows that follow `part.upTo` in key order; none means that there are no more. Go on until it is full. */
export function addToPart(
  meta: PhoneMeta,
  server: string,
  part: Part,
  rows: readonly Row[],
  mostRecords = Infinity,
): Part {
  const back = meta.cursors[server]?.back;
  const ctx = contextOf(meta);
  const next = { ...part, records: [...part.records] };
  if (!back || rows.length === 0) return { ...next, last: true, full: true };
  for (const row of rows) {
    if (next.bytes >= partBytes || next.records.length >= mostRecords) return { ...next, full: true };
    next.upTo = keyOf(row.kind, row.id);
    const rec = trim(baseOf(row), ctx);
    // A purge always: a server may know of it as seen, and have it of nobody who may purge.
    if (!beyond(rec, back.theirs) && !back.doubt[next.upTo] && row.kind !== 'purge') continue;
    next.records.push(rec);
    next.bytes += recordText(rec).length;
  }
  return next;
}

/** What to do with a part that is full: send it, or, where the server turns out to lack nothing, end the hand-back. */
export function settlePart(meta: PhoneMeta, server: string, part: Part): { meta: PhoneMeta; part?: BackPart } {
  const cursor = meta.cursors[server];
  const { back, ...rest } = cursor ?? {};
  const first = part.from === '' && part.last;
  if (!cursor || !back || !first || part.records.length > 0 || beyondVector(back.have, back.theirs))
    return { meta, part };
  return { meta: { ...meta, cursors: { ...meta.cursors, [server]: rest as Cursor } } };
}
