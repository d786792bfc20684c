import fc from 'fast-check';
import { expect, test } from 'vitest';
import {
  type ChangeRecord,
  ledger,
  movedSince,
  type Position,
  positionAt,
  takeBacks,
  turnBack,
  wayBack,
} from './change';

/**
 * A plain model of the ledger: every record carries all that its writer had, in full. The reader has only `after`.
 * Two phones write, now and then one hears all of the other, and both come to hold everything.
 */
const screw = 'top:m';
type Full = { readonly record: ChangeRecord; readonly had: ReadonlySet<string> };
type Act = {
  phone: 0 | 1;
  what: 'move' | 'back' | 'wrong' | 'neutral' | 'lost' | 'dial' | 'same' | 'two' | 'hear';
  n: number;
  early: boolean;
};

/** What is done, by the kind of knob: one that turns and now and then loses its count, or one that is read off as well. */
const usual = ['move', 'move', 'move', 'back', 'same', 'same', 'hear', 'hear', 'hear'] as const;
const kindsOf = {
  turned: usual,
  unsure: [...usual, 'wrong', 'two', 'neutral', 'lost'],
  read: [...usual, 'wrong', 'two', 'dial', 'dial', 'dial', 'back', 'neutral', 'lost'],
} as const;
const acts = fc.constantFrom<keyof typeof kindsOf>('turned', 'unsure', 'read').chain((knob) =>
  fc
    .array(
      fc.record<Act>({
        phone: fc.constantFrom(0, 1),
        what: fc.constantFrom<Act['what'][]>(...kindsOf[knob]),
        n: fc.nat(1000),
        early: fc.boolean(), // the phone's clock may be off
      }),
      { minLength: 4, maxLength: 34 },
    )
    .map((list): readonly Act[] => [
      { phone: 0, what: 'neutral', n: 0, early: false },
      { phone: 1, what: 'hear', n: 0, early: false },
      ...list,
    ]),
);

/** Plays the acts; what is turned back is asked of the ledger, as the screen does, and held to the model. */
function play(list: readonly Act[]): Full[] {
  const phones: [Map<string, Full>, Map<string, Full>] = [new Map(), new Map()];
  for (const [i, act] of list.entries()) {
    const mine = phones[act.phone];
    if (act.what === 'hear') {
      for (const [id, full] of phones[(1 - act.phone) as 0 | 1]) mine.set(id, full);
      continue;
    }
    const records = [...mine.values()].map((f) => f.record);
    const moves = records.filter((r) => r.minutes !== undefined);
    const any = records.filter((r) => r.type !== 'strike');
    const pick = <T>(from: readonly T[], k = act.n) => from[k % from.length];
    const asked = pick(ledger(records, screw).questions); // what the screen would ask, else any two
    const [first, second] = act.early ? [asked?.second, asked?.first] : [asked?.first, asked?.second];
    const target = moves.find((r) => r.id === first) ?? pick(moves);
    const other = moves.find((r) => r.id === second) ?? pick(moves, act.n * 7 + 3);
    const record: ChangeRecord | undefined = ((): ChangeRecord | undefined => {
      const base = { id: `r${i}`, at: act.early ? 0 : i, screw, after: ledger(records, screw).heads };
      if (act.what === 'move') return { ...base, type: 'move', minutes: (act.n % 7) - 3 || 5 };
      if (act.what === 'dial') return { ...base, type: 'dial', dialTenths: 30 + (act.n % 4) * 5 };
      if (act.what === 'neutral' || act.what === 'lost') return { ...base, type: act.what };
      if (act.what === 'wrong') return any.length ? { ...base, type: 'strike', strikes: pick(any)?.id } : undefined;
      if (act.what === 'back') {
        const of = pick(any)?.id ?? '';
        const back = turnBack(records, of);
        expect(back).toEqual(model([...mine.values()]).turnBack(of));
        if (typeof back === 'string') return undefined;
        return { ...base, type: 'minutes' in back ? 'back' : 'dial', backOf: of, ...back };
      }
      if (!target) return undefined;
      if (act.what === 'two') return { ...base, type: 'same', sameAs: [] };
      return { ...base, type: 'same', sameAs: [target.id, other?.id ?? ''] };
    })();
    if (record) mine.set(record.id, { record, had: new Set(mine.keys()) });
  }
  return [...new Map([...phones[0], ...phones[1]]).values()];
}

const byTime = (x: Full, y: Full) => x.record.at - y.record.at || (x.record.id < y.record.id ? -1 : 1);
const before = (a: Full, b: Full) => b.had.has(a.record.id);
const is = (f: Full, ...types: string[]) => types.includes(f.record.type);
const isMove = (f: Full) => is(f, 'move', 'back');

function model(all: readonly Full[]) {
  const struck = new Set(all.map((f) => f.record.strikes));
  const live = all.filter((f) => f.record.type !== 'strike' && !struck.has(f.record.id));
  const newest = (list: readonly Full[]) => list.filter((f) => !list.some((g) => before(f, g)));

  // Colour joined moves alike; each colour counts once, as the one that somebody said counts.
  const moved = live.filter(isMove);
  const colour = new Map<string, string>(live.map((f) => [f.record.id, f.record.id]));
  const keeps: Full[] = [];
  for (const a of moved)
    for (const b of moved) {
      if (a === b || before(a, b) || before(b, a)) continue;
      const about = live.filter((s) => {
        const named = s.record.sameAs ?? [];
        const both = named.includes(a.record.id) && named.includes(b.record.id);
        return is(s, 'same') && before(a, s) && before(b, s) && (named.length === 0 || both);
      });
      const last = newest(about);
      if (last.length === 0 || last.some((x) => x.record.sameAs?.length === 0)) continue;
      keeps.push(...moved.filter((m) => last.some((x) => x.record.sameAs?.[0] === m.record.id)));
      const [from, to] = [colour.get(b.record.id), colour.get(a.record.id)];
      for (const [id, c] of colour) if (c === from && to) colour.set(id, to);
    }
  const groupOf = (id: string) => live.filter((f) => colour.get(f.record.id) === colour.get(id));
  const weight = (c: string | undefined) => {
    const group = moved.filter((f) => colour.get(f.record.id) === c);
    const kept = keeps.filter((k) => group.includes(k)).sort(byTime);
    return (kept[0] ?? group.toSorted(byTime)[0])?.record.minutes ?? 0;
  };
  const sum = (some: readonly Full[], not: readonly Full[] = []) => {
    const counted = new Set(not.filter(isMove).map((f) => colour.get(f.record.id)));
    const fresh = new Set(some.filter(isMove).map((f) => colour.get(f.record.id)));
    return [...fresh].reduce((n, c) => n + (counted.has(c) ? 0 : weight(c)), 0);
  };

  /** Where the screw stands by some of the records; what was struck or joined since is known all the same. */
  function position(within: (f: Full) => boolean = () => true): Told {
    const some = live.filter(within);
    const neutrals = newest(some.filter((f) => is(f, 'neutral')));
    const dials = newest(some.filter((f) => is(f, 'dial'))).sort(byTime);
    if (dials.length > 0 && !neutrals.some((n) => dials.every((d) => before(d, n)))) {
      const turned = some.some((f) => (isMove(f) || is(f, 'lost')) && dials.some((d) => !before(f, d)));
      const numbers = new Set(dials.map((d) => d.record.dialTenths));
      const ask = numbers.size > 1 ? 'two-numbers' : turned ? 'moved-since' : undefined;
      return { tenths: dials.at(-1)?.record.dialTenths ?? 0, ...(ask && { ask }) };
    }
    const unsure = (n: Full, f: Full) =>
      (is(f, 'lost') && !before(f, n)) || (isMove(f) && !before(f, n) && !before(n, f));
    if (neutrals.length === 0 || neutrals.some((n) => some.some((f) => unsure(n, f)))) return { lost: true };
    return { minutes: sum(some.filter((f) => neutrals.every((n) => before(n, f)))) };
  }

  function turnBackOf(id: string): ReturnType<typeof turnBack> {
    const f = all.find((x) => x.record.id === id);
    if (!f) return 'nothing-to-turn';
    if (!live.includes(f) && is(f, 'strike')) return 'nothing-to-turn';
    const mates = new Set(groupOf(id).map((g) => g.record.id));
    if (!live.includes(f) || live.some((g) => mates.has(g.record.backOf ?? ''))) return 'turned-already';
    if (isMove(f)) return { minutes: 0 - (f.record.minutes ?? 0) } as ReturnType<typeof turnBack>;
    const then = is(f, 'dial') ? position((g) => before(g, f)) : { lost: true };
    return 'tenths' in then ? ({ dialTenths: then.tenths } as ReturnType<typeof turnBack>) : 'nothing-to-turn';
  }

  function movedSinceAt(at: number): number | 'lost' {
    const since = live.filter((f) => f.record.at > at);
    if (since.some((f) => is(f, 'lost', 'neutral', 'dial'))) return 'lost';
    return sum(
      since,
      live.filter((f) => f.record.at <= at),
    );
  }
  return { live, position, turnBack: turnBackOf, movedSince: movedSinceAt };
}

type Told = { lost: true } | { minutes: number } | { tenths: number; ask?: string };
const told = (p: Position): Told =>
  p.state === 'known'
    ? { minutes: p.minutes }
    : p.state === 'lost'
      ? { lost: true }
      : { tenths: p.tenths, ...(p.ask && { ask: p.ask.why }) };

test('any mix of acts on two phones reads as the plain model does, in whatever order it arrives', () => {
  const seen = { lost: 0, known: 0, dial: 0, joined: 0, beside: 0, turnedBack: 0, led: 0, ledAcross: 0 };
  fc.assert(
    fc.property(acts, fc.infiniteStream(fc.nat()), (list, shuffle) => {
      const all = play(list);
      const mixed = all
        .map((f) => [shuffle.next().value as number, f.record] as const)
        .sort((a, b) => a[0] - b[0])
        .map((x) => x[1]);
      const plain = model(all);
      const got = ledger(mixed, screw);
      const now = plain.position();
      expect(told(got.position)).toEqual(now);
      expect(new Set(got.heads)).toEqual(
        new Set(all.filter((f) => !all.some((g) => g.had.has(f.record.id))).map((f) => f.record.id)),
      );
      const offered = takeBacks(mixed, screw);
      for (const f of all) {
        const { id } = f.record;
        const may = plain.turnBack(id);
        expect(turnBack(mixed, id)).toEqual(may);
        expect(offered.get(id)).toEqual([
          ...(typeof may === 'string' ? [] : ['turned-back']),
          ...(plain.live.includes(f) ? ['wrote-wrong'] : []),
        ]);
      }
      const at = (shuffle.next().value as number) % 36;
      expect(told(positionAt(mixed, screw, at))).toEqual(plain.position((f) => f.record.at <= at));
      expect(movedSince(mixed, screw, at)).toBe(plain.movedSince(at));
      const led = leadsBack(mixed, got.heads, plain);
      seen.led += led;
      if (got.lines.some((l) => l.joinedTo)) seen.ledAcross += led; // over moves that were told twice
      for (const l of got.lines) {
        if (l.joinedTo) seen.joined++;
        if (l.turnedBack && !l.struck) seen.turnedBack++;
      }
      seen.beside += got.questions.length;
      seen[got.position.state]++;
    }),
    { numRuns: 2000, seed: 20260401 },
  );
  for (const [what, n] of Object.entries(seen)) expect(n, `runs with ${what}`).toBeGreaterThan(25);
}, 60_000);

/** Going the way back to a point, and writing it down, leads to where the screw stood there. How many ways led somewhere. */
function leadsBack(
  records: readonly ChangeRecord[],
  heads: readonly string[],
  plain: ReturnType<typeof model>,
): number {
  let led = 0;
  const now = plain.position();
  for (const point of plain.live) {
    const way = wayBack(records, screw, point.record.id);
    const then = plain.position((f) => f === point || before(f, point));
    if (way.way === 'dial') expect(then).toMatchObject({ tenths: way.tenths });
    if (way.way !== 'turn' || !('minutes' in then) || !('minutes' in now)) continue;
    const move = { id: 'w', at: 99, screw, type: 'move', minutes: way.minutes, after: heads } as const;
    expect(told(ledger([...records, move], screw).position)).toEqual(then);
    led++;
  }
  return led;
}
