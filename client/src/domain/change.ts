/**
 * The ledger of one screw: records that are never edited, each naming those its writer had seen (`after`). What the
 * screw stands at is worked out anew from all of them, so records may arrive in any order, from any phone.
 *
 * Rules of reading: a move counts when its writer had seen the newest neutral. A move or a lost count written beside a
 * neutral on another phone leaves the position lost until a neutral is written by somebody who has seen both: nobody can
 * know which came first. Moves written beside one another all count, and a person is asked whether they are one. A
 * number read off a dial replaces the one before and is never lost.
 */
import { type ClockMinutes, clockMinutes, type DialTenths, dialTenths } from './units';

export type ChangeType = 'move' | 'back' | 'neutral' | 'lost' | 'strike' | 'dial' | 'same';

/** A ledger record as read. `at` is ms since 1970 UTC and only orders what is shown. */
export type ChangeRecord = {
  readonly id: string;
  readonly at: number;
  readonly screw: string;
  readonly type: ChangeType;
  readonly minutes?: number; // move, back: + is tighter
  readonly dialTenths?: number; // dial: the number after the move
  readonly strikes?: string; // strike: the record that was written wrong
  readonly backOf?: string; // of a move, or of a number set back: the record that it takes back
  /** same: the moves that are one, the one that counts first; none: those it has seen side by side are two. */
  readonly sameAs?: readonly string[];
  readonly after?: readonly string[];
  readonly balancing?: string;
  readonly round?: number;
};

export type Position =
  | { readonly state: 'known'; readonly minutes: ClockMinutes } // since the last neutral
  | { readonly state: 'lost'; readonly why: 'no-neutral' | 'lost-count' | 'two-phones' }
  | { readonly state: 'dial'; readonly tenths: DialTenths; readonly ask?: LookAtDial };

/** Why somebody should look at the dial: two phones wrote different numbers, or it was moved since it was read. */
export type LookAtDial = { readonly why: 'two-numbers' | 'moved-since'; readonly numbers: readonly DialTenths[] };

/** Two moves written on two phones without either having seen the other: one change or two? */
export type SameOrTwo = { readonly first: string; readonly second: string };

/** A line of the ledger as shown, oldest first. */
export type Line = {
  readonly record: ChangeRecord;
  readonly struck: boolean;
  /** Joined to another line: that one counts, this one does not. */
  readonly joinedTo?: string;
  /** Turned back by a later line: it can't be turned back again, but that line can. */
  readonly turnedBack: boolean;
};

export type Ledger = {
  readonly screw: string;
  readonly lines: readonly Line[];
  /** What a new record names in `after`. */
  readonly heads: readonly string[];
  readonly position: Position;
  readonly questions: readonly SameOrTwo[];
};

/** Normal and small steps in clock-minutes; common practice, no published source. */
export const stepMinutes = { bobbin: { normal: 5, small: 2 }, top: { normal: 30, small: 15 } } as const;

export function ledger(records: readonly ChangeRecord[], screw: string): Ledger {
  const book = open(records, screw);
  const turned = turnedBack(book);
  return {
    screw,
    lines: book.nodes.map((n) => {
      const joinedTo = book.joined.get(n.record.id);
      return {
        record: n.record,
        struck: book.struck.has(n.record.id),
        turnedBack: turned.has(countsAs(book, n)),
        ...(joinedTo !== undefined && joinedTo !== n.record.id ? { joinedTo } : {}),
      };
    }),
    heads: heads(book.nodes),
    position: positionOf(book, () => true),
    questions: questions(book),
  };
}

/** Where the screw stood at a moment, by what is known now: a change struck since is left out. */
export function positionAt(records: readonly ChangeRecord[], screw: string, at: number): Position {
  return positionOf(open(records, screw), (n) => n.record.at <= at);
}

/** The counted moves written after a moment, or lost where the count was lost or set anew since. */
export function movedSince(records: readonly ChangeRecord[], screw: string, at: number): ClockMinutes | 'lost' {
  const book = open(records, screw);
  const since = book.live.filter((n) => n.record.at > at);
  if (since.some((n) => n.record.type === 'lost' || n.record.type === 'neutral' || n.record.type === 'dial'))
    return 'lost';
  return total(
    book,
    since,
    book.live.filter((n) => n.record.at <= at),
  );
}

export type WayBack =
  /** `counted`: by moves alone; else across a neutral, which is a marker to a hair and no more. */
  | { readonly way: 'turn'; readonly minutes: ClockMinutes; readonly counted: boolean }
  | { readonly way: 'dial'; readonly tenths: DialTenths }
  | { readonly way: 'none' };

/** The moves that lead back to where the screw stood just after a record was written. */
export function wayBack(records: readonly ChangeRecord[], screw: string, to: string): WayBack {
  const book = open(records, screw);
  const point = book.nodes.find((n) => n.record.id === to);
  if (!point || book.struck.has(to)) return { way: 'none' };
  const upTo = (n: Node) => n === point || seen(n, point);
  const then = positionOf(book, upTo);
  if (then.state === 'dial') return { way: 'dial', tenths: then.tenths };
  const since = book.live.filter((n) => !upTo(n));
  if (since.some((n) => n.record.type === 'lost' || n.record.type === 'dial')) return { way: 'none' };
  if (since.some((n) => n.record.type === 'neutral')) {
    const now = positionOf(book, () => true);
    return then.state === 'known' && now.state === 'known'
      ? { way: 'turn', minutes: clockMinutes(then.minutes - now.minutes), counted: false }
      : { way: 'none' };
  }
  return { way: 'turn', minutes: clockMinutes(-total(book, since, book.live.filter(upTo))), counted: true };
}

/** Each sample with where the screw stood when it was sewn: worked out again, so a struck change is out of every round after it. */
export function positionsOfRounds<S extends { readonly at: number }>(
  records: readonly ChangeRecord[],
  screw: string,
  samples: readonly S[],
): readonly { readonly sample: S; readonly position: Position }[] {
  const book = open(records, screw);
  return samples.map((sample) => ({ sample, position: positionOf(book, (n) => n.record.at <= sample.at) }));
}

/** The records to strike when a line was written wrong: with it, those joined to it, as they tell of the same turn. */
export function toStrike(records: readonly ChangeRecord[], id: string): readonly string[] {
  const screw = records.find((r) => r.id === id)?.screw;
  if (screw === undefined) return [];
  const book = open(records, screw);
  const group = book.joined.get(id);
  if (group === undefined)
    return book.nodes.some((n) => n.record.id === id && n.record.type !== 'strike' && !book.struck.has(id)) ? [id] : [];
  return book.live.filter((n) => book.joined.get(n.record.id) === group).map((n) => n.record.id);
}

/** Why a record can't be taken back. */
export type NoWayBack = 'turned-already' | 'nothing-to-turn';
export type TurnBack = { readonly minutes: ClockMinutes } | { readonly dialTenths: DialTenths } | NoWayBack;

/** What "I turned it back" of a record writes: the move the other way, or the number that the dial had before. Each is turned back once. */
export function turnBack(records: readonly ChangeRecord[], id: string): TurnBack {
  const screw = records.find((r) => r.id === id)?.screw;
  const book = screw === undefined ? undefined : open(records, screw);
  const point = book?.nodes.find((n) => n.record.id === id);
  return book && point ? turning(book, point, turnedBack(book)) : 'nothing-to-turn';
}

/** The two acts, never one, that each line of a ledger still takes: "I turned it back" and "I wrote it wrong". */
export type TakeBack = 'turned-back' | 'wrote-wrong';
export function takeBacks(records: readonly ChangeRecord[], screw: string): ReadonlyMap<string, readonly TakeBack[]> {
  const book = open(records, screw);
  const turned = turnedBack(book);
  return new Map(
    book.nodes.map((n) => {
      const stands = n.record.type !== 'strike' && !book.struck.has(n.record.id);
      const turns = typeof turning(book, n, turned) !== 'string';
      return [
        n.record.id,
        [...(turns ? (['turned-back'] as const) : []), ...(stands ? (['wrote-wrong'] as const) : [])],
      ];
    }),
  );
}

function turning(book: Book, point: Node, turned: ReadonlySet<string>): TurnBack {
  if (book.struck.has(point.record.id) || turned.has(countsAs(book, point))) return 'turned-already';
  if (moves(point)) return { minutes: clockMinutes(0 - (point.record.minutes ?? 0)) };
  if (point.record.type !== 'dial') return 'nothing-to-turn';
  const before = positionOf(book, (n) => seen(n, point));
  return before.state === 'dial' ? { dialTenths: before.tenths } : 'nothing-to-turn';
}

// --- The records as a graph -------------------------------------------------------------------------------------

type Node = { readonly record: ChangeRecord; readonly index: number; readonly past: Uint32Array };

type Book = {
  readonly nodes: readonly Node[]; // each after all it has seen
  readonly live: readonly Node[]; // neither struck nor a strike nor an answer
  readonly struck: ReadonlySet<string>;
  /** For each move of a joined group, the id of the one that counts. */
  readonly joined: ReadonlyMap<string, string>;
  readonly toldTwo: ReadonlySet<string>; // pair keys
};

/** b's writer had seen a. */
const seen = (a: Node, b: Node) => a !== b && ((b.past[a.index >>> 5] ?? 0) & (1 << (a.index & 31))) !== 0;
const beside = (a: Node, b: Node) => a !== b && !seen(a, b) && !seen(b, a);
const moves = (n: Node) => n.record.minutes !== undefined && (n.record.type === 'move' || n.record.type === 'back');
/** The record that counts for a move: itself, or the one it was joined to. */
const countsAs = (book: Book, n: Node) => book.joined.get(n.record.id) ?? n.record.id;
/** What was turned back: the moves and numbers that a line which stands names, each joined group as the one that counts. */
function turnedBack(book: Book): ReadonlySet<string> {
  const named = new Set(book.live.map((n) => n.record.backOf));
  return new Set(book.live.filter((n) => named.has(n.record.id)).map((n) => countsAs(book, n)));
}
const pairKey = (a: string, b: string) => (a < b ? `${a} ${b}` : `${b} ${a}`);

/** The moves among nodes, each joined group once, but not what was in `before` already. */
function total(book: Book, nodes: readonly Node[], before: readonly Node[] = []): ClockMinutes {
  const counted = new Set(before.filter(moves).map((n) => countsAs(book, n)));
  const fresh = new Set(nodes.filter(moves).map((n) => countsAs(book, n)));
  const minutes = new Map(book.live.map((n) => [n.record.id, n.record.minutes ?? 0]));
  return clockMinutes([...fresh].reduce((sum, id) => sum + (counted.has(id) ? 0 : (minutes.get(id) ?? 0)), 0));
}

function open(records: readonly ChangeRecord[], screw: string): Book {
  const nodes = graph(inOrder(records.filter((r) => r.screw === screw)));
  const byId = new Map(nodes.map((n) => [n.record.id, n]));
  const struck = new Set<string>();
  for (const { record } of nodes) {
    const target = record.type === 'strike' ? byId.get(record.strikes ?? '') : undefined;
    if (target && target.record.type !== 'strike') struck.add(target.record.id);
  }
  const standing = nodes.filter((n) => n.record.type !== 'strike' && !struck.has(n.record.id));
  const live = standing.filter((n) => n.record.type !== 'same');
  return { nodes, live, struck, ...answers(standing, live, byId) };
}

/** Records by time, but never before one that they have seen. A circle, which only a broken writer makes, is cut. */
function inOrder(records: readonly ChangeRecord[]): readonly ChangeRecord[] {
  const byTime = [...new Map(records.map((r) => [r.id, r])).values()].sort(
    (a, b) => a.at - b.at || (a.id < b.id ? -1 : 1),
  );
  const byId = new Map(byTime.map((r) => [r.id, r]));
  const state = new Map<string, 'open' | 'done'>();
  const out: ChangeRecord[] = [];
  for (const root of byTime) {
    const stack = [root];
    for (let r = stack.at(-1); r; r = stack.at(-1)) {
      const first = !state.has(r.id);
      if (first) state.set(r.id, 'open');
      const unseen = first ? (r.after ?? []).flatMap((id) => (state.has(id) ? [] : (byId.get(id) ?? []))) : [];
      if (unseen.length > 0) stack.push(...unseen);
      else {
        stack.pop();
        if (state.get(r.id) === 'open') out.push(r);
        state.set(r.id, 'done');
      }
    }
  }
  return out;
}

function graph(ordered: readonly ChangeRecord[]): readonly Node[] {
  const nodes: Node[] = [];
  const byId = new Map<string, Node>();
  for (const [index, record] of ordered.entries()) {
    const past = new Uint32Array((ordered.length + 31) >>> 5);
    for (const id of record.after ?? []) {
      const parent = byId.get(id);
      parent?.past.forEach((word, i) => {
        past[i] = (past[i] ?? 0) | word;
      });
    }
    past[index >>> 5] = (past[index >>> 5] ?? 0) | (1 << (index & 31));
    const node = { record, index, past };
    nodes.push(node);
    byId.set(record.id, node);
  }
  return nodes;
}

function heads(nodes: readonly Node[]): readonly string[] {
  const named = new Set(nodes.flatMap((n) => n.record.after ?? []));
  return nodes.filter((n) => !named.has(n.record.id)).map((n) => n.record.id);
}

/** What people answered to "the same change or two?". The last word counts; two last words that differ ask again. */
function answers(
  standing: readonly Node[],
  live: readonly Node[],
  byId: ReadonlyMap<string, Node>,
): Pick<Book, 'joined' | 'toldTwo'> {
  const said = standing.filter((n) => n.record.type === 'same');
  const toldTwo = new Set<string>();
  const links: Link[] = [];
  if (said.length === 0) return { joined: new Map(), toldTwo };
  for (const [a, b] of pairsBeside(live.filter(moves))) {
    const about = said.filter((n) => seen(a, n) && seen(b, n) && (isTwo(n) || (names(n, a) && names(n, b))));
    const last = newest(about);
    if (last.length === 0) continue;
    if (last.every(isTwo)) toldTwo.add(pairKey(a.record.id, b.record.id));
    else if (!last.some(isTwo))
      links.push(...last.map((n) => ({ kept: byId.get(n.record.sameAs?.[0] ?? '') ?? a, a, b })));
  }
  return { joined: groups(links), toldTwo };
}
const isTwo = (n: Node) => (n.record.sameAs ?? []).length === 0;
const names = (n: Node, m: Node) => n.record.sameAs?.includes(m.record.id) ?? false;

/** Chains of joined moves; of each, the earliest one that somebody said counts. */
type Link = { readonly kept: Node; readonly a: Node; readonly b: Node };
function groups(links: readonly Link[]): ReadonlyMap<string, string> {
  const chosen = new Set(links.map((l) => l.kept));
  const group = new Map<Node, Set<Node>>();
  for (const { a, b } of links) {
    const all = new Set([...(group.get(a) ?? [a]), ...(group.get(b) ?? [b])]);
    for (const n of all) group.set(n, all);
  }
  const joined = new Map<string, string>();
  for (const [node, all] of group) {
    const byTime = [...all].sort(order);
    const first = byTime.find((n) => chosen.has(n)) ?? byTime[0] ?? node; // the one that counted may have been struck since
    joined.set(node.record.id, first.record.id);
  }
  return joined;
}
const order = (a: Node, b: Node) => a.record.at - b.record.at || (a.record.id < b.record.id ? -1 : 1);

function positionOf(book: Book, within: (n: Node) => boolean): Position {
  const live = book.live.filter(within);
  const of = (type: ChangeType) => live.filter((n) => n.record.type === type);
  const neutrals = newest(of('neutral'));
  const dials = newest(of('dial').filter((n) => n.record.dialTenths !== undefined));
  if (dials.length > 0 && !neutrals.some((n) => dials.every((d) => seen(d, n)))) return dial(dials, live);

  const losts = of('lost');
  if (neutrals.length === 0) return { state: 'lost', why: losts.length > 0 ? 'lost-count' : 'no-neutral' };
  if (losts.some((l) => neutrals.some((n) => seen(n, l)))) return { state: 'lost', why: 'lost-count' };
  const unsure = [...losts, ...live.filter(moves)].some((m) => neutrals.some((n) => beside(m, n)));
  if (unsure) return { state: 'lost', why: 'two-phones' };
  const since = live.filter((m) => moves(m) && neutrals.every((n) => seen(n, m)));
  return { state: 'known', minutes: total(book, since) };
}

/** Those that none of the others has seen. */
const newest = (nodes: readonly Node[]) => nodes.filter((n) => !nodes.some((m) => seen(n, m)));

function dial(last: readonly Node[], live: readonly Node[]): Position {
  const numbers = [...new Set([...last].sort(order).map((n) => n.record.dialTenths ?? 0))].map(dialTenths);
  const tenths = numbers.at(-1) ?? dialTenths(0);
  const movedSinceRead = live.some((n) => (moves(n) || n.record.type === 'lost') && last.some((d) => !seen(n, d)));
  if (numbers.length > 1) return { state: 'dial', tenths, ask: { why: 'two-numbers', numbers } };
  return movedSinceRead ? { state: 'dial', tenths, ask: { why: 'moved-since', numbers } } : { state: 'dial', tenths };
}

/** Pairs to ask about, each move in one at most, moves of the same amount first; nothing that a neutral or a lost count put behind. */
function questions(book: Book): readonly SameOrTwo[] {
  const marks = newest(book.live.filter((n) => n.record.type === 'neutral' || n.record.type === 'lost'));
  const moved = book.live.filter(
    (m) => moves(m) && countsAs(book, m) === m.record.id && !marks.some((n) => seen(m, n)),
  );
  const pairs = pairsBeside(moved).filter(([a, b]) => !book.toldTwo.has(pairKey(a.record.id, b.record.id)));
  const alike = pairs.filter(([a, b]) => a.record.minutes === b.record.minutes);
  const asked = new Set<Node>();
  const out: SameOrTwo[] = [];
  for (const [a, b] of [...alike, ...pairs]) {
    if (asked.has(a) || asked.has(b)) continue;
    asked.add(a).add(b);
    out.push({ first: a.record.id, second: b.record.id });
  }
  return out;
}

/** Pairs of which neither has seen the other, by the order of the earlier one. Whole words at once: most ledgers are one long row. */
function pairsBeside(nodes: readonly Node[]): readonly (readonly [Node, Node])[] {
  const byIndex = new Map(nodes.map((n) => [n.index, n]));
  const mask: number[] = [];
  const pairs: (readonly [Node, Node])[] = [];
  for (const b of nodes) {
    for (const [i, word] of mask.entries()) {
      let unseen = (word ?? 0) & ~(b.past[i] ?? 0);
      for (; unseen !== 0; unseen &= unseen - 1) {
        const a = byIndex.get(i * 32 + 31 - Math.clz32(unseen & -unseen));
        if (a) pairs.push([a, b]);
      }
    }
    mask[b.index >>> 5] = (mask[b.index >>> 5] ?? 0) | (1 << (b.index & 31));
  }
  return pairs.sort(([a, b], [c, d]) => a.index - c.index || b.index - d.index);
}
