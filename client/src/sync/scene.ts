/** For tests only: a phone at a server, and short words for what they say to each other. */
import { type MemoryPhone, newMemoryPhone, request, take, write } from './memory';
import { fieldOf } from './merge';
import { keyOf } from './phone';
import { newStub, type StubServer, serve } from './stub-server';
import { type Answer, type Request, readAnswer, requestBody } from './wire';

export const id = (n: number) => n.toString(16).padStart(32, '0');
export const studio = id(1);
export const note = (n: number) => ({ kind: 'note', id: id(n) });
export const short = '0'.repeat(16);

/** Phone id(2) at server id(9), at ten seconds past 1970; new ids count from 1001. */
export function newScene() {
  const server = newStub(id(9));
  const phone = newMemoryPhone(studio, id(2), server);
  let fresh = 1000;
  const world = { nowMs: 10_000, newId: () => id(++fresh) };
  const ask = (asked: Request, s = server): Answer => readAnswer(JSON.parse(serve(s, requestBody(asked))));
  return {
    server,
    phone,
    world,
    say: (text: string, n = 0, p = phone) => write(p, { ...note(n), set: { text } }, 5000),
    ask,
    sync(p = phone, s = server, rounds = 4): void {
      for (let i = 0; i < rounds; i++) {
        const asked = request(p, s.id, world);
        take(p, asked, ask(asked, s), world);
      }
    },
  };
}

/** The texts of a note as a phone shows them, newest first. */
export const texts = (p: MemoryPhone, n = 0) =>
  fieldOf(p.rows.get(keyOf('note', id(n))) ?? { ...note(n), fields: {} }, 'text').live.map((e) => e.value);

/** The same at a server, undefined where it has no such note. */
export const textsAt = (s: StubServer, n = 0) => s.records[keyOf('note', id(n))]?.fields.text?.live.map((e) => e.value);
