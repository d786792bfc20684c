import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type MemoryPhone, newMemoryPhone, request, sorted, spell, take, write } from './memory';
import { fieldOf, liveDots, trim } from './merge';
import { keyOf } from './phone';
import { newStub, type StubServer, serve } from './stub-server';
import { readAnswer, recordText, requestBody } from './wire';

/** Three phones, clones of them, and one server that forgets; what each step does is in its numbers. */
type Step = readonly [what: number, who: number, a: number, b: number];
type Hazard = 'clone' | 'restore';
type Seat = MemoryPhone & { late?: () => void };
type World = {
  phones: Seat[];
  server: StubServer;
  backup?: StubServer;
  nowMs: number;
  ids: number;
  saw: Map<string, string[]>; // value → the values its writer saw and replaced
  purged: Set<string>;
};

const id = (n: number, lead = 'a') => lead + n.toString(16).padStart(31, '0');
const newId = (w: World) => () => id(++w.ids, 'f');

function play(steps: readonly Step[], hazards: readonly Hazard[]): World {
  const phones = [1, 2, 3].map((n) => newMemoryPhone(id(0), id(n)));
  const w: World = {
    phones,
    server: { ...newStub(id(9, 'e')), pageRecords: 1 },
    nowMs: 1_000_000,
    ids: 0,
    saw: new Map(),
    purged: new Set(),
  };
  for (const step of steps) {
    w.nowMs += step[2];
    act(w, step, hazards);
  }
  heal(w);
  return w;
}

function act(w: World, [what, who, a, b]: Step, hazards: readonly Hazard[]): void {
  const phone = w.phones[who % w.phones.length] as Seat;
  const record = id(a % 3, 'b');
  const shown = phone.rows.get(keyOf('note', record));
  const value = `v${w.saw.size}`;
  if (what < 40) {
    const field = b % 2 === 0 ? 'text' : 'why';
    const live = shown ? fieldOf(shown, field).live : [];
    w.saw.set(
      value,
      live.map((e) => String(e.value)),
    );
    write(phone, { kind: 'note', id: record, set: { [field]: value } }, w.nowMs + (b - 50) * 60_000);
  } else if (what < 75) {
    exchange(w, phone, 1 + (a % 5), b);
  } else if (what < 78) {
    w.saw.set(value, []);
    write(phone, { kind: 'person', id: record, set: { name: value } }, w.nowMs);
  } else if (what < 81 && shown) {
    write(phone, { kind: 'note', id: record, set: { removed: { seen: liveDots(shown) } } }, w.nowMs);
  } else if (what < 84 && shown && !shown.base) {
    const entry = fieldOf(shown, 'text').live[0];
    if (entry?.value === undefined) return;
    w.purged.add(String(entry.value));
    write(phone, { kind: 'purge', id: newId(w)(), set: { dots: [entry.dot] } }, w.nowMs);
  } else if (what < 87) {
    w.server.mayWrite = !w.server.mayWrite;
  } else if (what < 90) {
    phone.late?.();
  } else if (what < 93 && hazards.includes('clone') && w.phones.length < 5) {
    w.phones.push(structuredClone({ ...phone, late: undefined }));
  } else if (what < 96) {
    w.backup = structuredClone(w.server);
  } else if (what < 98 && hazards.includes('restore') && w.backup) {
    w.server = structuredClone(w.backup);
    if (b % 2 === 0) w.server.epoch = `epoch ${w.nowMs}`; // else nobody says so
  }
}

/** One call over a network that loses requests and answers, and brings answers again. */
function exchange(w: World, phone: Seat, ops: number, luck: number): boolean {
  const asked = request(phone, w.server.id, { most: { ops, bytes: 1e6 }, records: 2, newId: newId(w) });
  if (luck % 10 === 1) return false;
  const answer = readAnswer(JSON.parse(serve(w.server, requestBody(asked))));
  if (luck % 10 === 2) return false;
  const world = { nowMs: w.nowMs, newId: newId(w) };
  if (luck % 10 === 3) phone.late = () => void take(phone, asked, structuredClone(answer), world);
  return take(phone, asked, structuredClone(answer), world).taken && !answer.more;
}

function heal(w: World): void {
  w.server.mayWrite = true;
  let last = '';
  for (let quiet = 0, round = 0; quiet < 3; round++) {
    if (round > 200) throw new Error('no rest after 200 rounds');
    for (const phone of w.phones) for (let i = 0; i < 4; i++) exchange(w, phone, 5000, 0);
    const now = w.phones.map((p) => spell(p) + p.outbox.length).join() + spellServer(w.server);
    quiet = now === last ? quiet + 1 : 0;
    last = now;
  }
}

function spellServer(s: StubServer): string {
  const has = (dot: string) => Number(dot.slice(33)) <= (s.c[dot.slice(0, 32)]?.[0] ?? 0);
  const recs = Object.keys(s.records)
    .sort()
    .map((key) => trim(s.records[key] as never, { has }))
    .filter((rec) => Object.keys(rec.fields).length > 0)
    .map((rec) => `${recordText(rec)}\n`);
  return `${recs.join('')}${JSON.stringify(Object.fromEntries(Object.entries(s.c).sort(([a], [b]) => (a < b ? -1 : 1))))}`;
}

function check(w: World): void {
  const want = spellServer(w.server);
  const kept = new Set<string>([...w.saw.values()].flat());
  for (const [i, phone] of w.phones.entries()) {
    expect(phone.outbox, `outbox of phone ${i}`).toEqual([]);
    expect(spell(phone), `phone ${i}`).toBe(want);
    for (const need of phone.needs) for (const value of Object.values(need.op.set)) kept.add(String(value));
  }
  for (const row of sorted(w.phones[0] as Seat)) {
    expect(row.base, 'nothing waits on this record').toBeUndefined();
    for (const field of Object.values(row.fields)) for (const e of field.live) kept.add(String(e.value));
  }
  for (const value of w.saw.keys()) expect(kept.has(value) || w.purged.has(value), `${value} is gone`).toBe(true);
  for (const value of w.purged) expect(want.includes(`"${value}"`), `purged ${value} came back`).toBe(false);
}

const steps = fc.array(fc.tuple(fc.nat(99), fc.nat(20), fc.nat(99), fc.nat(99)), { minLength: 20, maxLength: 120 });

describe('phones and a server on a bad network end alike, and no word is lost', () => {
  test.each<[string, Hazard[], number]>([
    ['with refusals, rights that come and go, removals and purges', [], 11],
    ['with phones that were cloned', ['clone'], 12],
    ['with a server that went back in time, said or not', ['restore'], 13],
  ])(
    '%s',
    (_, hazards, seed) => {
      fc.assert(
        fc.property(steps, (s) => check(play(s, hazards))),
        { seed, numRuns: 60 },
      );
    },
    60_000,
  );
});
