import fc from 'fast-check';
import { expect, test } from 'vitest';
import { type ChangeRecord, ledger, type Position } from './change';

/**
 * A plain model of the ledger: every record carries all that its writer had, in full. The reader has only `after`.
 * Two phones write, now and then one hears all of the other, and both come to hold everything.
 */
const screw = 'top:m';
type Full = { readonly record: ChangeRecord; readonly had: ReadonlySet<string> };
type Act = {
  phone: 0 | 1;
  what: 'move' | 'back' | 'wrong' | 'neutral' | 'lost' | 'same' | 'two' | 'hear';
  n: number;
  early: boolean;
};

const acts = fc.array(
  fc.record<Act>({
    phone: fc.constantFrom(0, 1),
    what: fc.constantFrom(
      'move',
      'move',
      'move',
      'back',
      'wrong',
      'neutral',
      'lost',
      'same',
      'same',
      'same',
      'two',
      'hear',
      'hear',
      'hear',
    ),
    n: fc.nat(1000),
    early: fc.boolean(), // the phone's clock may be off
  }),
  { minLength: 6, maxLength: 36 },
);

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
      if (act.what === 'neutral' || act.what === 'lost') return { ...base, type: act.what };
      if (act.what === 'wrong') return any.length ? { ...base, type: 'strike', strikes: pick(any)?.id } : undefined;
      if (!target) return undefined;
      if (act.what === 'back') return { ...base, type: 'back', backOf: target.id, minutes: -(target.minutes ?? 0) };
      if (act.what === 'two') return { ...base, type: 'same', sameAs: [] };
      return { ...base, type: 'same', sameAs: [target.id, other?.id ?? ''] };
    })();
    if (record) mine.set(record.id, { record, had: new Set(mine.keys()) });
  }
  return [...new Map([...phones[0], ...phones[1]]).values()];
}

function modelPosition(
  all: readonly Full[],
): Position['state'] extends string ? { lost: true } | { minutes: number } : never {
  const struck = new Set(all.map((f) => f.record.strikes));
  const live = all.filter((f) => f.record.type !== 'strike' && !struck.has(f.record.id));
  const before = (a: Full, b: Full) => b.had.has(a.record.id);
  const is = (f: Full, ...types: string[]) => types.includes(f.record.type);
  const neutrals = live.filter((f) => is(f, 'neutral') && !live.some((g) => is(g, 'neutral') && before(f, g)));
  if (neutrals.length === 0) return { lost: true };
  for (const f of live)
    for (const n of neutrals) {
      if (is(f, 'lost') && !before(f, n)) return { lost: true };
      if (is(f, 'move', 'back') && !before(f, n) && !before(n, f)) return { lost: true };
    }
  // Colour joined moves alike, then count each colour once.
  const said = live.filter((f) => is(f, 'same'));
  const moved = live.filter((f) => is(f, 'move', 'back'));
  const colour = new Map<string, string>(live.map((f) => [f.record.id, f.record.id]));
  const keeps: Full[] = [];
  for (const a of moved)
    for (const b of moved) {
      if (a === b || before(a, b) || before(b, a)) continue;
      const about = said.filter((s) => {
        const named = s.record.sameAs ?? [];
        return (
          before(a, s) &&
          before(b, s) &&
          (named.length === 0 || (named.includes(a.record.id) && named.includes(b.record.id)))
        );
      });
      const last = about.filter((x) => !about.some((y) => before(x, y)));
      if (last.length === 0 || last.some((x) => x.record.sameAs?.length === 0)) continue;
      keeps.push(...moved.filter((m) => last.some((x) => x.record.sameAs?.[0] === m.record.id)));
      const [from, to] = [colour.get(b.record.id), colour.get(a.record.id)];
      for (const [id, c] of colour) if (c === from && to) colour.set(id, to);
    }
  let minutes = 0;
  const counted = live.filter((f) => is(f, 'move', 'back') && neutrals.every((n) => before(n, f)));
  for (const c of new Set(counted.map((f) => colour.get(f.record.id)))) {
    const group = live.filter((f) => colour.get(f.record.id) === c);
    const kept = keeps
      .filter((k) => group.includes(k))
      .sort((x, y) => x.record.at - y.record.at || (x.record.id < y.record.id ? -1 : 1));
    minutes += (kept[0] ?? group[0])?.record.minutes ?? 0;
  }
  return { minutes };
}

test('any mix of acts on two phones reads as the plain model does, in whatever order it arrives', () => {
  const seen = { lost: 0, known: 0, joined: 0, beside: 0 };
  fc.assert(
    fc.property(acts, fc.infiniteStream(fc.nat()), (list, shuffle) => {
      const all = play(list);
      const mixed = all
        .map((f) => [shuffle.next().value as number, f.record] as const)
        .sort((a, b) => a[0] - b[0])
        .map((x) => x[1]);
      const got = ledger(mixed, screw);
      const want = modelPosition(all);
      expect(got.position.state === 'known' ? { minutes: got.position.minutes } : { lost: true }).toEqual(want);
      expect(new Set(got.heads)).toEqual(
        new Set(all.filter((f) => !all.some((g) => g.had.has(f.record.id))).map((f) => f.record.id)),
      );
      for (const l of got.lines) if (l.joinedTo) seen.joined++;
      seen.beside += got.questions.length;
      seen[got.position.state === 'known' ? 'known' : 'lost']++;
    }),
    { numRuns: 1500, seed: 20260401 },
  );
  for (const [what, n] of Object.entries(seen)) expect(n, `runs with ${what}`).toBeGreaterThan(25);
}, 60_000);
