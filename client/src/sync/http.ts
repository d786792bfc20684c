/** One call over the network: limits, time-outs and failures, each of a kind that the program acts on. */
import { concatBytes, utf8ToBytes } from '@noble/hashes/utils.js';
import { isObject, type Json } from './ops';

/** The kinds of refusal that servers send, and what can go wrong before one answers. */
export type FailureKind =
  | 'offline' // no answer: no network, no server, or neither moved a byte for too long
  | 'strange' // an answer, but not one of ours: a portal's page, a cut body
  | 'insecure' // the page was not opened over https, so no key can be used
  | 'unknown-server' // a server answers at which this phone has not joined
  | 'server-too-old' // it does not know this format
  | 'internal'
  | 'invalid'
  | 'unauthenticated'
  | 'denied'
  | 'not-found'
  | 'conflict'
  | 'too-large'
  | 'too-many'
  | 'unavailable'
  | 'too-old'; // this program is

const sent: readonly string[] = [
  'internal',
  'invalid',
  'unauthenticated',
  'denied',
  'not-found',
  'conflict',
  'too-large',
  'too-many',
  'unavailable',
  'too-old',
];

/** A call that failed. `text` is the server's, shown only where the client has no words of its own. */
export class Failed extends Error {
  constructor(
    readonly kind: FailureKind,
    readonly text = '',
    readonly field = '',
    readonly seconds = 0, // with too-many: try again after so long
  ) {
    super(`${kind} ${field} ${text}`.trim());
  }
}

/** Neither side moved a byte for so long: the call is given up. */
export const quietMs = 8000;
/** The slowest way up that is waited for: fetch can't see bytes go up, so the body's size gives it more time. */
const bytesPerSecondUp = 8 << 10;

export type Fetch = (url: string, init: RequestInit) => Promise<Response>;

export type Call = {
  method?: string;
  headers?: Record<string, string>;
  body?: BodyInit;
  bodyBytes?: number;
  signal?: AbortSignal;
  quiet?: number; // ms, instead of quietMs
};

/** An answer that is being read, and how to put its time-out off: at each piece that comes. */
export type Open = { response: Response; alive(): void; done(): void };

/** Sends a call and waits for the head of its answer. Throws Failed on no answer; a refusal is thrown with its kind. */
export async function open(doFetch: Fetch, url: string, call: Call): Promise<Open> {
  const { method = 'GET', headers = {}, body, bodyBytes = 0, signal, quiet = quietMs } = call;
  const stop = new AbortController();
  const end = () => stop.abort();
  let timer = setTimeout(end, quiet + (bodyBytes * 1000) / bytesPerSecondUp);
  signal?.addEventListener('abort', end);
  if (signal?.aborted) end();
  const done = () => {
    clearTimeout(timer);
    signal?.removeEventListener('abort', end);
  };
  const alive = () => {
    clearTimeout(timer);
    timer = setTimeout(end, quiet);
  };
  const init: RequestInit = { method, headers, signal: stop.signal, cache: 'no-store', credentials: 'omit' };
  if (body !== undefined) init.body = body;
  try {
    const response = await doFetch(url, { ...init, redirect: 'error', referrerPolicy: 'no-referrer' });
    alive();
    const opened = { response, alive, done };
    if (!response.ok && !(method === 'HEAD' && response.status === 404)) throw await refusal(opened);
    return opened;
  } catch (e) {
    done();
    throw e instanceof Failed ? e : new Failed('offline');
  }
}

/** A refusal's own words. One that is not of the server's form has the kind its status says. */
async function refusal(opened: Open): Promise<Failed> {
  try {
    const tree = parse(await read(opened, 16 << 10));
    const { kind, text, field, seconds } = isObject(tree) ? tree : {};
    if (typeof kind === 'string' && sent.includes(kind)) {
      const wait = typeof seconds === 'number' && seconds > 0 ? seconds : 0;
      return new Failed(kind as FailureKind, clip(text), clip(field), wait);
    }
  } catch {
    // falls through: what stands there is not ours
  }
  const { status } = opened.response;
  if (status === 413) return new Failed('too-large'); // of a proxy before the server
  if (status === 502 || status === 503 || status === 504) return new Failed('unavailable');
  return new Failed('strange');
}

const clip = (v: unknown): string => (typeof v === 'string' ? v.slice(0, 500) : '');

/** Reads a body piece by piece onto `pieces`, at most so many bytes. What came before a failure stays there. */
export async function readOnto(pieces: Uint8Array[], { response, alive }: Open, most: number): Promise<void> {
  const reader = response.body?.getReader();
  if (!reader) return;
  let size = 0;
  try {
    for (;;) {
      const { done, value } = await reader.read();
      if (done) return;
      alive();
      size += value.length;
      if (size > most) break;
      pieces.push(value);
    }
  } catch {
    throw new Failed('offline');
  }
  void reader.cancel().catch(() => {});
  throw new Failed('strange');
}

async function read(opened: Open, most: number): Promise<Uint8Array> {
  const pieces: Uint8Array[] = [];
  await readOnto(pieces, opened, most);
  return concatBytes(...pieces);
}

/** The lines of JSON of a stream, each as it comes. Ends where the stream does, also where it is cut. */
export async function* lines({ response, alive }: Open): AsyncGenerator<Json> {
  const reader = response.body
    ?.pipeThrough(new TextDecoderStream() as ReadableWritablePair<string, BufferSource>)
    .getReader();
  let text = '';
  for (;;) {
    const piece = await reader?.read().catch(() => undefined);
    if (!piece || piece.done) return;
    alive();
    const whole = (text + piece.value).split('\n');
    text = whole.pop() ?? '';
    if (text.length > 4096) return; // no line of ours is that long
    for (const line of whole) if (line !== '') yield parse(utf8ToBytes(line));
  }
}

export function parse(bytes: Uint8Array): Json {
  try {
    return JSON.parse(new TextDecoder('utf-8', { fatal: true }).decode(bytes)) as Json;
  } catch {
    throw new Failed('strange');
  }
}

/** A call whose answer is JSON of at most so many bytes; undefined for an answer without a body. */
export async function callJson(doFetch: Fetch, url: string, call: Call, most = 64 << 10): Promise<Json | undefined> {
  const opened = await open(doFetch, url, call);
  try {
    if (opened.response.status === 204) return undefined;
    return parse(await read(opened, most));
  } finally {
    opened.done();
  }
}
