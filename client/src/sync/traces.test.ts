import { describe, expect, test } from 'vitest';
import { type MemoryPhone, newMemoryPhone, nextPart, spell, take, turn, write } from './memory';
import type { Json } from './ops';
import { buildRequest } from './replication';
import { loadVectors } from './vectors';
import { type BackPart, type Request, readAnswer, requestBody } from './wire';

type Event = {
  do: 'write' | 'request' | 'take';
  nowMs?: number;
  ids?: string[];
  kind?: string;
  id?: string;
  set?: Record<string, Json>;
  op?: string;
  server?: string;
  most?: number;
  request?: Json;
  of?: number;
  answer?: { server: string };
  base?: Json[];
  last?: { replica: string; waiting: number; chain: string; needs: number };
};
type Trace = { name: string; replica: string; events: Event[] };

const traces = loadVectors<Trace>('traces', ['name', 'replica', 'events']);
const studio = '0'.repeat(32);

/** Does what the phone of the trace did, and holds each message, op and base against it. */
function replay({ replica, events }: Trace): void {
  const phone = newMemoryPhone(studio, replica);
  const asked = new Map<number, Request>();
  const parts = new Map<string, BackPart | undefined>(); // of hand-backs, by server: gathered when they begin
  for (const [i, e] of events.entries()) {
    const ids = [...(e.ids ?? [])];
    const newId = () => ids.shift() ?? `no id at event ${i}`;
    const where = `event ${i}, ${e.do}`;
    if (e.do === 'write') {
      const draft = { kind: e.kind ?? '', id: e.id ?? '', set: e.set ?? {} };
      expect(write(phone, draft, e.nowMs ?? 0), where).toBe(e.op);
    } else if (e.do === 'request') {
      asked.set(i, ask(phone, e, parts, newId));
      expect(JSON.parse(requestBody(asked.get(i) as Request)), where).toEqual(e.request);
    } else {
      const server = e.answer?.server ?? '';
      const before = phone.meta.cursors[server]?.back?.have;
      take(phone, asked.get(e.of ?? -1) as Request, readAnswer(e.answer), { nowMs: e.nowMs ?? 0, newId });
      const back = phone.meta.cursors[server]?.back;
      if (back && back.have !== before) parts.set(server, nextPart(phone, server));
      checkBase(phone, e, where);
    }
    expect(ids, `${where}: ids`).toEqual([]);
  }
}

function ask(phone: MemoryPhone, e: Event, parts: Map<string, BackPart | undefined>, newId: () => string): Request {
  const server = e.server ?? '';
  turn(phone, server, newId);
  const part = phone.meta.cursors[server]?.back ? parts.get(server) : undefined;
  return buildRequest(phone.meta, phone.outbox, server, part, { ops: e.most ?? 0, bytes: 1e6 });
}

function checkBase(phone: MemoryPhone, { base, last }: Event, where: string): void {
  const { replica, lastChain: chain } = phone.meta;
  expect({ replica, waiting: phone.outbox.length, chain, needs: phone.needs.length }, where).toEqual(last);
  if (!base) return;
  const lines = spell(phone).split('\n');
  expect(
    lines.map((line) => JSON.parse(line)),
    where,
  ).toEqual(base);
}

describe('a phone here does what a phone in Go did', () => {
  test.each(traces)('$name', replay);

  test('in traces that hold what matters', () => {
    const events = traces.flatMap((t) => t.events);
    const text = JSON.stringify(events);
    for (const sign of [
      '"back":',
      '"wrong":"epoch"',
      '"more":true',
      '"forGood":true',
      '"reason":"no-right"',
      '"reason":"fork"',
      '"kind":"purge"',
      '"removed":',
      '"ids":',
    ]) {
      expect(text.includes(sign), sign).toBe(true);
    }
  });
});
