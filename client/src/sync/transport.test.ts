import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, concatBytes, utf8ToBytes } from '@noble/hashes/utils.js';
import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import type { FailureKind } from './http';
import { newMemoryPhone, request, write } from './memory';
import { limits } from './ops';
import { newKeyPair, publicKeyText } from './sign';
import { newStub, serve } from './stub-server';
import { Failed, transport } from './transport';

const id = (n: number) => n.toString(16).padStart(32, '0');
const server = id(5);
const studio = id(6);
const photo = Uint8Array.from({ length: 300_000 }, (_, i) => i % 251);
const sum = bytesToHex(sha256(photo));

type Handler = (r: { url: string; init: RequestInit; headers: Record<string, string> }) => Response | Promise<Response>;

let pair: CryptoKeyPair;
let routes: Record<string, Handler>;
let calls: string[];

const json = (body: unknown, status = 200) => new Response(JSON.stringify(body), { status });
const refusal = (kind: string, status: number, more: object = {}) => json({ kind, text: 'words', ...more }, status);

async function fakeFetch(url: string, init: RequestInit): Promise<Response> {
  const name = `${init.method} ${url.replace(`/v1/studios/${studio}`, '')}`;
  calls.push(name);
  if (init.signal?.aborted) throw new DOMException('aborted', 'AbortError');
  const handler = routes[name];
  if (!handler) throw new TypeError(`failed to fetch ${name}`);
  const stopped = new Promise<never>((_, no) => {
    init.signal?.addEventListener('abort', () => no(new DOMException('aborted', 'AbortError')));
  });
  return Promise.race([handler({ url, init, headers: init.headers as Record<string, string> }), stopped]);
}

const make = (known = true) =>
  transport(async (s) => (known && s === server ? { phone: id(7), key: pair.privateKey } : undefined), '', fakeFetch);

const failure = async (act: Promise<unknown>): Promise<FailureKind | 'none'> => {
  try {
    await act;
    return 'none';
  } catch (e) {
    if (e instanceof Failed) return e.kind;
    throw e;
  }
};

beforeEach(async () => {
  pair = await newKeyPair();
  calls = [];
  routes = {
    'POST /v1/challenge': () => json({ server, challenge: 'c'.repeat(40) }),
    'POST /v1/token': () => json({ token: 'one.two.three', seconds: 600 }),
  };
});
afterEach(() => vi.useRealTimers());

const phone = () => {
  const p = newMemoryPhone(studio, id(2), { id: server, epoch: 'first' });
  for (let i = 0; i < 40; i++)
    write(p, { kind: 'note', id: id(i), set: { text: `loose on <both> faces ${i}`, zone: 60 } }, 1000);
  return p;
};

describe('signing in', () => {
  test('signs the challenge and the server’s id with a key that can not be taken out', async () => {
    const posted: { phone: string; challenge: string; signature: string }[] = [];
    routes['POST /v1/token'] = ({ init }) => {
      posted.push(JSON.parse(String(init.body)));
      return json({ token: 'one.two.three', seconds: 600 });
    };
    expect(await make().signIn()).toBe(server);
    const [sent] = posted;
    expect(sent?.phone).toBe(id(7));
    expect(sent?.signature).toMatch(/^[A-Za-z0-9_-]{86}$/);
    const raw = Uint8Array.from(atob((sent?.signature ?? '').replaceAll('-', '+').replaceAll('_', '/')), (c) =>
      c.charCodeAt(0),
    );
    const text = utf8ToBytes(`evenpull sign in\n${server}\n${sent?.challenge}`) as BufferSource;
    expect(await crypto.subtle.verify({ name: 'ECDSA', hash: 'SHA-256' }, pair.publicKey, raw, text)).toBe(true);
    await expect(crypto.subtle.exportKey('pkcs8', pair.privateKey)).rejects.toThrow();
    expect(await publicKeyText(pair.publicKey)).toMatch(/^[A-Za-z0-9_-]{87}$/);
  });
  test('keeps the token, and signs in again when it is not good any more', async () => {
    let given = 0;
    routes['POST /v1/token'] = () => json({ token: `token${++given}`, seconds: 600 });
    routes['POST /invites'] = ({ headers }) =>
      headers.Authorization === 'Bearer token2'
        ? json({ code: '4FHN-9CXP', kind: 'class', role: 'guest', ends: 5 })
        : refusal('unauthenticated', 401);
    const t = make();
    expect((await t.invite(studio, { kind: 'class', role: 'guest' })).code).toBe('4FHN-9CXP');
    await t.invite(studio, { kind: 'class', role: 'guest' });
    expect(given).toBe(2);
  });
  test('tries once only', async () => {
    routes['POST /invites'] = () => refusal('unauthenticated', 401);
    expect(await failure(make().invite(studio, { kind: 'my-phone' }))).toBe('unauthenticated');
    expect(calls.filter((c) => c === 'POST /invites')).toHaveLength(2);
  });
  test('sends nothing to a server at which this phone has not joined', async () => {
    expect(await failure(make(false).signIn())).toBe('unknown-server');
    expect(calls).toEqual(['POST /v1/challenge']);
  });
});

const inNow = { server, studio: { id: studio, name: 'Barn' }, person: id(8), phone: id(7), role: 'keeper' };

describe('failures have the kind that the program acts on', () => {
  test.each<[string, Handler | undefined, FailureKind | 'none']>([
    ['no network', undefined, 'offline'],
    ['a refusal of ours', () => refusal('denied', 403, { field: 'code' }), 'denied'],
    ['too many', () => refusal('too-many', 429, { seconds: 9 }), 'too-many'],
    ['too old', () => refusal('too-old', 426), 'too-old'],
    ['a kind that we do not know', () => refusal('no such', 400), 'strange'],
    ['a portal’s page', () => new Response('<html>', { status: 200 }), 'strange'],
    ['a portal’s refusal', () => new Response('<html>', { status: 511 }), 'strange'],
    ['a proxy that finds it too large', () => new Response('<html>', { status: 413 }), 'too-large'],
    ['a proxy that finds no server', () => new Response('', { status: 502 }), 'unavailable'],
    ['an answer of the wrong shape', () => json({ server: 'x' }), 'strange'],
    ['an answer without end', () => new Response(JSON.stringify(inNow).padEnd(70_000)), 'strange'],
    ['an answer of ours', () => json(inNow), 'none'],
    ['no UTF-8', () => new Response(new Uint8Array([0x22, 0xff, 0x22])), 'strange'],
  ])('%s', async (_, handler, kind) => {
    if (handler) routes['POST /v1/join'] = handler;
    const body = { code: '4FHN9CXP', phone: { key: 'k', label: 'l' } };
    expect(await failure(make().join(body))).toBe(kind);
  });
  test('with the words, the field and the wait that the server sent', async () => {
    routes['POST /v1/join'] = () => refusal('too-many', 429, { field: 'code', seconds: 9 });
    const act = make().join({ code: 'x', phone: { key: 'k', label: 'l' } });
    await expect(act).rejects.toMatchObject({ kind: 'too-many', text: 'words', field: 'code', seconds: 9 });
  });
  test.each<[number, number, FailureKind | 'none']>([
    [1, 1, 'none'],
    [1, 3, 'none'],
    [2, 3, 'too-old'],
    [0, 0, 'server-too-old'],
  ])('formats %i to %i: %s', async (first, last, kind) => {
    routes['GET /v1/server'] = () => json({ server, formats: [first, last], version: '1', claimed: true });
    expect(await failure(make().server())).toBe(kind);
  });
  test('a server that says nothing for 8 seconds is offline; one that trickles is not', async () => {
    vi.useFakeTimers();
    routes['GET /v1/server'] = () => new Promise(() => {});
    const silent = failure(make().server());
    await vi.advanceTimersByTimeAsync(7999);
    expect(vi.getTimerCount()).toBe(1);
    await vi.advanceTimersByTimeAsync(2);
    expect(await silent).toBe('offline');
    routes['GET /v1/server'] = ({ init }) =>
      trickle(JSON.stringify({ server, formats: [1, 1], version: '1', claimed: true }), 7000, init.signal);
    const slow = failure(make().server());
    await vi.advanceTimersByTimeAsync(7000 * 120);
    expect(await slow).toBe('none');
    routes['GET /v1/server'] = ({ init }) => trickle('{"server":', 9000, init.signal);
    const dead = failure(make().server());
    await vi.advanceTimersByTimeAsync(60_000);
    expect(await dead).toBe('offline');
  });
});

/** A body that comes letter by letter, and fails when the call is given up. */
function trickle(text: string, everyMs: number, signal: AbortSignal | null | undefined): Response {
  let i = 0;
  const stream = new ReadableStream<Uint8Array>({
    start(controller) {
      signal?.addEventListener('abort', () => controller.error(new DOMException('aborted', 'AbortError')));
    },
    async pull(controller) {
      await new Promise((go) => setTimeout(go, everyMs));
      if (signal?.aborted) return;
      if (i < text.length) controller.enqueue(utf8ToBytes(text[i++] ?? ''));
      else controller.close();
    },
  });
  return new Response(stream);
}

describe('exchange', () => {
  test('sends the ops’ own bytes as gzip, and reads the answer', async () => {
    const stub = newStub(server);
    const asked = request(phone(), server);
    let size = 0;
    routes['POST /exchange'] = async ({ init, headers }) => {
      expect(headers).toMatchObject({ 'Content-Encoding': 'gzip', Authorization: 'Bearer one.two.three' });
      const packed = init.body as Uint8Array;
      size = packed.length;
      const stream = new Blob([packed as BufferSource]).stream().pipeThrough(new DecompressionStream('gzip'));
      const body = await new Response(stream).text();
      expect(body).toContain(asked.ops.join(','));
      return new Response(serve(stub, body));
    };
    const answer = await make().exchange(studio, asked);
    expect(answer.acked[id(2)]?.[0]).toBe(40);
    expect(size).toBeLessThan(asked.ops.join(',').length / 4);
  });
  test.each<[string, (answer: object) => unknown]>([
    [
      'a record with a hostile dot',
      (a) => ({
        ...a,
        records: [{ kind: 'note', id: id(1), fields: { text: { live: [{ dot: 'x', at: [0, 0], by: '' }] } } }],
      }),
    ],
    ['a vector that is none', (a) => ({ ...a, have: { x: 1 } })],
    ['no acked', (a) => ({ ...a, acked: undefined })],
    [
      'a fork that does not work out',
      (a) => ({
        ...a,
        forks: [
          {
            replica: id(1),
            from: 1,
            to: id(2),
            before: '0'.repeat(16),
            digests: ['0'.repeat(16)],
            renamed: ['0'.repeat(16)],
          },
        ],
      }),
    ],
    ['a list', () => []],
  ])('an answer that no server of ours gives is strange: %s', async (_, spoil) => {
    const stub = newStub(server);
    const asked = request(phone(), server);
    const good = JSON.parse(serve(stub, JSON.stringify({ ...asked, ops: [] })));
    routes['POST /exchange'] = () => json(good);
    expect(await failure(make().exchange(studio, asked))).toBe('none');
    routes['POST /exchange'] = () => json(spoil(good));
    expect(await failure(make().exchange(studio, asked))).toBe('strange');
  });
  test('an answer of a later format says that this program is too old', async () => {
    routes['POST /exchange'] = () => json({ format: 2 });
    expect(await failure(make().exchange(studio, request(phone(), server)))).toBe('too-old');
  });
  test('what is too large even as gzip is not sent', async () => {
    const noise = Array.from({ length: 60 }, () => bytesToHex(crypto.getRandomValues(new Uint8Array(25_000))));
    const asked = { ...request(phone(), server), ops: noise.map((s) => JSON.stringify(s)) };
    expect(await failure(make().exchange(studio, asked))).toBe('too-large');
    expect(calls).toEqual([]);
  });
});

describe('news', () => {
  const stream = (...pieces: string[]) =>
    new Response(new Blob(pieces).stream().pipeThrough(new TransformStream()), {
      headers: { 'Content-Type': 'application/x-ndjson' },
    });
  test.each<[string, string[], number[], string]>([
    ['whole lines', ['{"upTo":4}\n{"upTo":7}\n{"end":"stopping"}\n'], [4, 7], 'stopping'],
    ['lines in pieces', ['{"up', 'To":4}', '\n{"end":"acc', 'ess"}\n'], [4], 'access'],
    ['a cut', ['{"upTo":4}\n{"upT'], [4], 'cut'],
    ['what is not ours', ['<html>\n{"upTo":4}\n'], [], 'cut'],
  ])('%s', async (_, pieces, want, end) => {
    routes['GET /events'] = () => stream(...pieces);
    const heard: number[] = [];
    expect(await make().events(studio, (n) => heard.push(n), new AbortController().signal)).toBe(end);
    expect(heard).toEqual(want);
  });
  test('a token that ends is fetched anew for the next stream', async () => {
    routes['GET /events'] = () => stream('{"end":"token"}\n');
    const t = make();
    for (let i = 0; i < 2; i++) expect(await t.events(studio, () => {}, new AbortController().signal)).toBe('token');
    expect(calls.filter((c) => c === 'POST /v1/token')).toHaveLength(2);
  });
  test('is not opened for a caller that has gone', async () => {
    routes['GET /events'] = () => new Promise(() => {});
    expect(await failure(make().events(studio, () => {}, AbortSignal.abort()))).toBe('offline');
  });
  test('ends when the caller says so, and outlives the beat of 25 seconds but not its absence', async () => {
    vi.useFakeTimers();
    routes['GET /events'] = ({ init }) => trickle('{"upTo":4}\n'.repeat(3), 25_000, init.signal);
    const stop = new AbortController();
    const heard: number[] = [];
    const t = make();
    await t.signIn();
    const ended = t.events(studio, (n) => heard.push(n), stop.signal);
    await vi.advanceTimersByTimeAsync(25_000 * 12);
    expect(heard).toEqual([4]);
    stop.abort();
    expect(await ended).toBe('cut');
    routes['GET /events'] = ({ init }) => trickle('{"upTo":4}\n', 34_000, init.signal);
    const lost = t.events(studio, () => {}, new AbortController().signal);
    await vi.advanceTimersByTimeAsync(35_000);
    expect(await lost).toBe('cut');
  });
});

describe('photos', () => {
  let kept: Uint8Array;
  let cutAfter: number;
  beforeEach(() => {
    kept = new Uint8Array();
    cutAfter = Number.POSITIVE_INFINITY;
    routes[`HEAD /photos/${sum}`] = () =>
      kept.length === photo.length
        ? new Response(null, { status: 200 })
        : new Response(null, { status: 404, headers: { 'Photo-Have': String(kept.length) } });
    routes[`PUT /photos/${sum}`] = ({ init, headers }) => {
      const [, from = '', , size = ''] = /^bytes (\d+)-(\d+)\/(\d+)$/.exec(headers['Content-Range'] ?? '') ?? [];
      if (Number(from) !== kept.length || Number(size) !== photo.length) return refusal('conflict', 409);
      if (kept.length >= cutAfter) throw new TypeError('network gone');
      kept = concatBytes(kept, init.body as Uint8Array);
      return json({ have: kept.length, whole: kept.length === photo.length });
    };
    routes[`GET /photos/${sum}`] = ({ headers }) => {
      const from = Number(/^bytes=(\d+)-$/.exec(headers.Range ?? 'bytes=0-')?.[1]);
      return cutOff(photo.slice(from, from + 100_000), from + 100_000 >= photo.length, from > 0 ? 206 : 200);
    };
  });
  const cutOff = (piece: Uint8Array, last: boolean, status: number) => {
    let sent = false;
    const pull = (c: ReadableStreamDefaultController<Uint8Array>) => {
      if (!sent) c.enqueue(piece);
      else if (last) c.close();
      else c.error(new TypeError('network gone'));
      sent = true;
    };
    return new Response(new ReadableStream({ pull }), { status });
  };

  test('goes up in pieces, from where the server has it', async () => {
    cutAfter = 200_000;
    expect(await failure(make().putPhoto(studio, sum, photo))).toBe('offline');
    expect(kept.length).toBe(256 << 10);
    cutAfter = Number.POSITIVE_INFINITY;
    calls = [];
    await make().putPhoto(studio, sum, photo);
    expect(bytesToHex(sha256(kept))).toBe(sum);
    expect(calls.filter((c) => c.startsWith('PUT'))).toHaveLength(1);
    calls = [];
    await make().putPhoto(studio, sum, photo);
    expect(calls.filter((c) => c.startsWith('PUT'))).toHaveLength(0);
  });
  test('a server that takes nothing in is strange, not an endless loop', async () => {
    routes[`PUT /photos/${sum}`] = () => json({ have: 0, whole: false });
    expect(await failure(make().putPhoto(studio, sum, photo))).toBe('strange');
  });
  test('comes down over cuts, and has its sum', async () => {
    expect(bytesToHex(sha256(await make().getPhoto(studio, sum)))).toBe(sum);
    expect(calls.filter((c) => c.startsWith('GET'))).toHaveLength(3);
  });
  test('one with another sum, and one without end, are strange', async () => {
    routes[`GET /photos/${sum}`] = () => new Response(photo.slice(1) as BodyInit);
    expect(await failure(make().getPhoto(studio, sum))).toBe('strange');
    routes[`GET /photos/${sum}`] = () => new Response(new Uint8Array(limits.photoBytes + 1));
    expect(await failure(make().getPhoto(studio, sum))).toBe('strange');
  });
});
