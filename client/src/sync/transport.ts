/** The server as the client sees it: every call of api/openapi.yaml, and the only fetch. Every failure is a Failed. */
import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, concatBytes, utf8ToBytes } from '@noble/hashes/utils.js';
import { type Call, callJson, Failed, type Fetch, lines, open, readOnto } from './http';
import { isCount, isDot, isId, isObject, isStamp, type Json, limits } from './ops';
import { signChallenge } from './sign';
import { type Answer, BadMessage, type Request, readAnswer, requestBody } from './wire';

export { Failed, type FailureKind } from './http';

export type Role = 'keeper' | 'operator' | 'guest';
export type Server = {
  server: string;
  formats: readonly [first: number, last: number];
  version: string;
  claimed: boolean;
};
export type Joined = {
  server: string;
  studio: { id: string; name: string };
  person: string;
  phone: string;
  role: Role;
};
export type Person = { id: string; name: string };
export type PhoneKey = { key: string; label: string };
export type Invite = { code: string; kind: 'person' | 'my-phone' | 'class'; role: Role; ends: number };
/** A value as it was written; not live: another replaced it. */
export type Written = {
  readonly field: string;
  readonly dot: string;
  readonly at: readonly [ms: number, count: number];
  readonly by: string;
  readonly value: Json;
  readonly live: boolean;
};
export type History = { readonly values: readonly Written[]; readonly more: boolean };
/** Who this phone is at a server, and its private key. */
export type Credentials = { phone: string; key: CryptoKey };
/** Why a stream of news ended; 'cut': without a word. */
export type StreamEnd = 'token' | 'access' | 'stopping' | 'cut';

const answerBytes = 16 << 20;
const mostCuts = 50; // of one photo on its way down
const pieceBytes = 128 << 10; // of a photo, so that a slow line is told from a dead one
const beatMs = 25_000;

export type Transport = ReturnType<typeof transport>;

/**
 * `credentials` tells who this phone is at the server with this id, undefined where it has not joined: one address may be
 * answered by different servers. `base` is '' for the app's own origin.
 */
export function transport(
  credentials: (server: string) => Promise<Credentials | undefined>,
  base = '',
  doFetch: Fetch = (url, init) => fetch(url, init),
) {
  let pass: { server: string; token: string; until: number } | undefined;

  const post = (path: string, body: object, more: Call = {}) =>
    callJson(doFetch, base + path, {
      method: 'POST',
      body: JSON.stringify(body),
      ...more,
      headers: { 'Content-Type': 'application/json', ...more.headers },
    });

  /** Signs in where no token is good any more. Returns the id of the server that answers. */
  async function signIn(): Promise<string> {
    if (pass && pass.until > Date.now()) return pass.server;
    const { server, challenge } = fields(await post('/v1/challenge', {}));
    if (!isId(server) || typeof challenge !== 'string' || challenge.length > 120) throw new Failed('strange');
    const me = await credentials(server);
    if (!me) throw new Failed('unknown-server');
    const signature = await signChallenge(me.key, server, challenge);
    const { token, seconds } = fields(await post('/v1/token', { phone: me.phone, challenge, signature }));
    if (typeof token !== 'string' || !/^[\w.-]{1,4096}$/.test(token) || !isCount(seconds)) throw new Failed('strange');
    pass = { server, token, until: Date.now() + Math.max(0, seconds - 30) * 1000 };
    return server;
  }

  /** Does something with a token, and once more with a new one where the first is not good any more. */
  async function signed<T>(act: (headers: Record<string, string>) => Promise<T>): Promise<T> {
    for (let again = true; ; again = false) {
      await signIn();
      try {
        return await act({ Authorization: `Bearer ${pass?.token ?? ''}` });
      } catch (e) {
        if (!again || !(e instanceof Failed) || e.kind !== 'unauthenticated') throw e;
        pass = undefined;
      }
    }
  }

  const of = (studio: string, path: string) => `/v1/studios/${studio}/${path}`;

  return {
    signIn,

    /** Who answers here. Throws 'too-old' or 'server-too-old' where there is no format in common. */
    async server(): Promise<Server> {
      const { server, formats, version, claimed } = fields(await callJson(doFetch, `${base}/v1/server`, {}));
      if (!isId(server) || !Array.isArray(formats) || !isCount(formats[0]) || !isCount(formats[1]))
        throw new Failed('strange');
      if (formats[0] > limits.format) throw new Failed('too-old');
      if (formats[1] < limits.format) throw new Failed('server-too-old');
      return {
        server,
        formats: [formats[0], formats[1]],
        version: String(version).slice(0, 40),
        claimed: claimed === true,
      };
    },

    async claim(body: {
      code: string;
      person: Person;
      phone: PhoneKey;
      studio: { id: string; name: string };
    }): Promise<Joined> {
      return joined(await post('/v1/claim', body));
    },

    /** `person` is left out where the code is one for another phone of the same person. */
    async join(body: { code: string; person?: Person; phone: PhoneKey }): Promise<Joined> {
      return joined(await post('/v1/join', body));
    },

    async addStudio(body: {
      studio: { id: string; name: string };
      person: { name: string };
      label: string;
    }): Promise<Joined> {
      return joined(await signed((headers) => post('/v1/studios', body, { headers })));
    },

    async invite(studio: string, body: { kind: Invite['kind']; role?: Role; ends?: number }): Promise<Invite> {
      const { code, kind, role, ends } = fields(
        await signed((headers) => post(of(studio, 'invites'), body, { headers })),
      );
      const ok = typeof code === 'string' && code.length <= 16 && isRole(role) && isCount(ends);
      if (!ok || (kind !== 'person' && kind !== 'my-phone' && kind !== 'class')) throw new Failed('strange');
      return { code, kind, role, ends };
    },

    async end(studio: string, whom: { phone: string } | { person: string }): Promise<void> {
      await signed((headers) => post(of(studio, 'endings'), whom, { headers }));
    },

    async giveRole(studio: string, body: { person: string; role: Role }): Promise<void> {
      await signed((headers) => post(of(studio, 'roles'), body, { headers }));
    },

    /** What was written in a record and is still kept, newest first; never needed to sync. */
    async history(studio: string, kind: string, id: string): Promise<History> {
      const path = base + of(studio, `history/${kind}/${id}`);
      const { values, more } = fields(await signed((headers) => callJson(doFetch, path, { headers }, answerBytes)));
      if (!Array.isArray(values)) throw new Failed('strange');
      const read = values.map((v): Written => {
        const { field, dot, at, by, value, live } = fields(v);
        if (typeof field !== 'string' || !isDot(dot) || !isStamp(at) || typeof by !== 'string' || value === undefined)
          throw new Failed('strange');
        return { field, dot, at, by, value, live: live === true };
      });
      return { values: read, more: more === true };
    },

    /** One exchange. Sign in first: the request names the server that answers. 'too-large': send half as much. */
    async exchange(studio: string, request: Request, signal?: AbortSignal): Promise<Answer> {
      const { body, gzip } = await squeeze(requestBody(request));
      if (body.length > (gzip ? limits.gzipBytes : limits.batchBytes)) throw new Failed('too-large');
      const tree = await signed((headers) => {
        const all = { ...headers, 'Content-Type': 'application/json', ...(gzip && { 'Content-Encoding': 'gzip' }) };
        const call: Call = { method: 'POST', headers: all, body: body as BodyInit, bodyBytes: body.length };
        if (signal) call.signal = signal;
        return callJson(doFetch, base + of(studio, 'exchange'), call, answerBytes);
      });
      const { format } = fields(tree);
      if (isCount(format) && format > limits.format) throw new Failed('too-old');
      try {
        return readAnswer(tree);
      } catch (e) {
        throw e instanceof BadMessage ? new Failed('strange', e.message) : e;
      }
    },

    /** Listens for news until the stream ends, and says why it did. Throws Failed where it can't be opened. */
    async events(studio: string, news: (upTo: number) => void, signal: AbortSignal): Promise<StreamEnd> {
      const opened = await signed((headers) =>
        open(doFetch, base + of(studio, 'events'), { headers, signal, quiet: beatMs + 8000 }),
      );
      try {
        for await (const line of lines(opened)) {
          const { upTo, end } = fields(line);
          if (isCount(upTo)) news(upTo);
          if (end === 'token') pass = undefined;
          if (end === 'token' || end === 'access' || end === 'stopping') return end;
        }
      } catch {
        // cut in the middle, or ended by us
      } finally {
        opened.done();
      }
      return 'cut';
    },

    /** How many bytes of a photo the server has; 'whole' when all. */
    async photoAt(studio: string, sum: string): Promise<number | 'whole'> {
      const { response, done } = await signed((headers) =>
        open(doFetch, base + of(studio, `photos/${sum}`), { method: 'HEAD', headers }),
      );
      done();
      if (response.ok) return 'whole';
      const have = Number(response.headers.get('Photo-Have') ?? '0');
      return isCount(have) ? have : 0;
    },

    /** Sends a photo in pieces from where the server has it. After a failure the next try goes on there. */
    async putPhoto(studio: string, sum: string, photo: Uint8Array): Promise<void> {
      let at = await this.photoAt(studio, sum);
      while (at !== 'whole') {
        const from: number = at < photo.length ? at : 0;
        const to = Math.min(from + pieceBytes, photo.length);
        const range = `bytes ${from}-${to - 1}/${photo.length}`;
        const tree = await signed((headers) =>
          callJson(doFetch, base + of(studio, `photos/${sum}`), {
            method: 'PUT',
            headers: { ...headers, 'Content-Type': 'application/octet-stream', 'Content-Range': range },
            body: photo.slice(from, to) as BodyInit,
            bodyBytes: to - from,
          }),
        );
        const { have, whole } = fields(tree);
        if (whole !== true && !(isCount(have) && have > from)) throw new Failed('strange');
        at = whole === true ? 'whole' : (have as number);
      }
    },

    /** Fetches a photo; a cut is gone on with from where it was. What does not have the sum is 'strange'. */
    async getPhoto(studio: string, sum: string): Promise<Uint8Array> {
      const pieces: Uint8Array[] = [];
      let whole = false;
      for (let cuts = 0; !whole; cuts++) {
        if (cuts > mostCuts) throw new Failed('offline');
        const from = pieces.reduce((size, piece) => size + piece.length, 0);
        whole = await signed(async (headers) => {
          const range: Record<string, string> = from > 0 ? { Range: `bytes=${from}-` } : {};
          const opened = await open(doFetch, base + of(studio, `photos/${sum}`), { headers: { ...headers, ...range } });
          const before = pieces.length;
          if (opened.response.status !== 206) pieces.length = 0; // it begins anew
          try {
            await readOnto(pieces, opened, limits.photoBytes - from);
            return true;
          } catch (e) {
            if (e instanceof Failed && e.kind === 'offline' && pieces.length > before) return false;
            throw e;
          } finally {
            opened.done();
          }
        });
      }
      const photo = concatBytes(...pieces);
      if (bytesToHex(sha256(photo)) !== sum) throw new Failed('strange');
      return photo;
    },
  };
}

/** A body as gzip where the browser can and it is worth it. */
async function squeeze(text: string): Promise<{ body: Uint8Array; gzip: boolean }> {
  const bytes = utf8ToBytes(text);
  if (bytes.length < 1024 || !('CompressionStream' in globalThis)) return { body: bytes, gzip: false };
  const stream = new Blob([bytes as BufferSource]).stream().pipeThrough(new CompressionStream('gzip'));
  return { body: new Uint8Array(await new Response(stream).arrayBuffer()), gzip: true };
}

function fields(tree: Json | undefined): { [key: string]: Json } {
  if (!isObject(tree)) throw new Failed('strange');
  return tree;
}

const isRole = (v: unknown): v is Role => v === 'keeper' || v === 'operator' || v === 'guest';

function joined(tree: Json | undefined): Joined {
  const { server, studio, person, phone, role } = fields(tree);
  const { id, name } = fields(studio);
  if (!isId(server) || !isId(id) || !isId(person) || !isId(phone) || !isRole(role)) throw new Failed('strange');
  return { server, studio: { id, name: typeof name === 'string' ? name.slice(0, 80) : '' }, person, phone, role };
}
