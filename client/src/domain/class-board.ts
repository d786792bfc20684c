/**
 * A class on one phone: numbered stations, what each was seen as last, and when the teacher said that she would be back.
 * A visit is written once; the board is what the visits say.
 */
export const stationStates = ['waiting', 'step', 'good', 'stop'] as const;
export type StationState = (typeof stationStates)[number];

/** Steps that a teacher gives in one visit: one thing to do until she is back. Common practice, no published source. */
export const stepsGiven = [
  ...(['rethread', 'needle', 'card', 'seat', 'floss', 'other-bobbin', 'drops', 'two-lines'] as const),
  ...(['bobbin-tighter', 'bobbin-looser', 'top-tighter', 'top-looser', 'neutral', 'slack-cloth', 'slower'] as const),
] as const;
export type StepGiven = (typeof stepsGiven)[number];

export type Station = { readonly id: string; readonly number: number; readonly name?: string };
export type Visit = {
  readonly id: string;
  readonly at: number; // ms UTC
  readonly station: string;
  readonly state: StationState;
  readonly step?: StepGiven;
};
export type StationRow = Station & {
  readonly state?: StationState; // none: not seen yet
  readonly step?: StepGiven; // given last, whatever came after it
  readonly at?: number; // of the last visit
  readonly backAt?: number; // a step was given: when to look again
};

/** Stations of a new class, and how long a step is given before the teacher looks again (our choices). */
export const usualStations = 15;
export const mostStations = 60;
export const backAfterMs = 10 * 60_000;
/** The same step at so many stations is said to all of them at once. */
const many = 3;

/** Oldest first; of visits in one moment the one with the greater id is the later, on every phone. */
const inOrder = (visits: readonly Visit[]): readonly Visit[] =>
  [...visits].sort((a, b) => a.at - b.at || (a.id < b.id ? -1 : 1));

/** The stations as they stand now: what must stop first, then by number. */
export function boardOf(stations: readonly Station[], visits: readonly Visit[]): readonly StationRow[] {
  const all = inOrder(visits);
  const row = (s: Station): StationRow => {
    const own = all.filter((v) => v.station === s.id);
    const last = own.at(-1);
    const { id, number, name } = s;
    const known = { id, number, ...(name && { name }) };
    if (!last) return known;
    const step = own.findLast((v) => v.step)?.step;
    const back = last.state === 'step' ? { backAt: last.at + backAfterMs } : {};
    return { ...known, state: last.state, at: last.at, ...(step && { step }), ...back };
  };
  const stops = (r: StationRow) => (r.state === 'stop' ? 0 : 1);
  return stations.map(row).sort((a, b) => stops(a) - stops(b) || a.number - b.number || (a.id < b.id ? -1 : 1));
}

/** What a card that was read may do at a station: a stop stands until it is changed on the board itself. */
export type CardFits = 'put' | 'older' | 'stop';
export function cardFits(card: { readonly state: StationState; readonly at: number }, row: StationRow): CardFits {
  if (row.state === 'stop' && card.state !== 'stop') return 'stop';
  return card.at < (row.at ?? 0) ? 'older' : 'put';
}

/** Stations whose time has come, the longest waited for first. */
export const backTo = (rows: readonly StationRow[], now: number): readonly StationRow[] =>
  rows
    .filter((r) => r.backAt !== undefined && r.backAt <= now)
    .sort((a, b) => (a.backAt ?? 0) - (b.backAt ?? 0) || a.number - b.number);

/** How many stations each step was given at, the most first. */
export function givenHow(visits: readonly Visit[]): readonly (readonly [step: StepGiven, stations: number])[] {
  const at = new Map<StepGiven, Set<string>>();
  for (const v of visits) if (v.step) at.set(v.step, new Set(at.get(v.step)).add(v.station));
  return [...at].map(([step, s]) => [step, s.size] as const).sort((a, b) => b[1] - a[1]);
}

/** Steps that so many needed that all had better hear of them. */
export const tellAll = (visits: readonly Visit[]): readonly StepGiven[] =>
  givenHow(visits).flatMap(([step, stations]) => (stations >= many ? [step] : []));
