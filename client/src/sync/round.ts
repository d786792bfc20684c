/** One round of sending and reading: exchanges until nothing is left to say, then photos after the records that name them. */
import { Failed } from './http';
import { half, type Most, mostAtOnce } from './replication';
import type { Transport } from './transport';
import type { Answer, Refusal, Request } from './wire';

type Photo = { sha256: string; bytes: ArrayBuffer; type: string; sent: boolean };

/** What a round asks of the store. */
export type RoundStore = {
  nextRequest(studio: string, server: string, most?: Most): Promise<Request>;
  take(
    studio: string,
    request: Request,
    answer: Answer,
    nowMs: number,
  ): Promise<{ taken: boolean; more: boolean; waiting?: Refusal }>;
  photoWork(studio: string, way: 'up' | 'down', most: number): Promise<string[]>;
  photoOf(studio: string, sha256: string): Promise<Photo | undefined>;
  photoSent(studio: string, sha256: string): Promise<void>;
  photoCame(studio: string, photo: Photo): Promise<void>;
  photoMissing(studio: string, sha256: string): Promise<void>;
};

export type RoundTransport = Pick<Transport, 'signIn' | 'exchange' | 'putPhoto' | 'getPhoto'>;

export type Round = {
  readonly store: RoundStore;
  readonly transport: RoundTransport;
  readonly studio: string;
  now(): number;
  /** How much one request carries: halved when the way is too narrow, doubled when it went well. Kept between rounds. */
  readonly size: { most: Most };
  /** When a photo was not taken or not there: it is left alone for a while. */
  readonly photoFailed: Map<string, number>;
  /** Ends the round between two calls. */
  readonly signal: AbortSignal;
  /** After each answer that is taken. `more`: another one follows; `share`: how much of a long reading is here, 0 to 1. */
  took(more: boolean, share?: number): void;
};

/** What a round came to: how far the server was read, and why it takes nothing now, if so. */
export type Ended = { upTo: number; waiting?: Refusal };

/** The same question so often without a step forward is no conversation. */
const mostRepeats = 4;
const photosAtOnce = 8;
/** A photo that could not be sent or fetched is tried again after so long. */
const photoAgainMs = 60_000;

/** Throws Failed, or what the store throws. What was taken before stays taken. */
export async function round(r: Round): Promise<Ended> {
  const ended = await exchangeAll(r);
  if (!ended.waiting) await sendPhotos(r);
  await fetchPhotos(r);
  return ended;
}

async function exchangeAll({ store, transport, studio, now, size, signal, took: tell }: Round): Promise<Ended> {
  let server = await transport.signIn();
  let asked = '';
  let repeats = 0;
  let ahead: { request: Request; answer: Promise<Answer> } | undefined; // asked for while the page before was stored
  for (;;) {
    signal.throwIfAborted();
    const request = await store.nextRequest(studio, server, size.most);
    const spelled = placeOf(server, request);
    repeats = spelled === asked ? repeats + 1 : 0;
    if (repeats === mostRepeats) throw new Failed('strange', 'it does not take in what it is sent');
    asked = spelled;
    let answer: Answer;
    try {
      const early = ahead && JSON.stringify(ahead.request) === JSON.stringify(request) ? ahead.answer : undefined;
      answer = await (early ?? transport.exchange(studio, request, signal));
    } catch (e) {
      const narrow = e instanceof Failed && (e.kind === 'too-large' || e.kind === 'offline') && request.ops.length > 1;
      if (narrow) size.most = half({ ...size.most, ops: Math.min(size.most.ops, request.ops.length) });
      if (narrow && e.kind === 'too-large') continue;
      throw e;
    }
    size.most = {
      ops: Math.min(mostAtOnce.ops, size.most.ops * 2),
      bytes: Math.min(mostAtOnce.bytes, size.most.bytes * 2),
    };
    const next = pageAfter(request, answer);
    ahead = next && { request: next, answer: transport.exchange(studio, next, signal) };
    ahead?.answer.catch(() => {}); // said when it is wanted
    const took = await store.take(studio, request, answer, now());
    tell(took.more, answer.more && answer.reading > 0 ? answer.upTo / answer.reading : undefined);
    server = answer.server;
    if (took.more) continue;
    return took.waiting ? { upTo: answer.upTo, waiting: took.waiting } : { upTo: answer.upTo };
  }
}

/** Where a request stands: two with the same are the same question. */
const placeOf = (server: string, { replica, from, ops, epoch, after, reading, have, back }: Request): string =>
  [server, replica, from, ops.length, epoch, after, reading, have !== undefined, back?.from, back?.upTo].join(' ');

/** What will be asked for next in a long reading, if nothing is written meanwhile. */
function pageAfter(request: Request, answer: Answer): Request | undefined {
  const { more, wrong, server, refused, forks, upTo: after, upToDigest: afterDigest, reading } = answer;
  const plain = more && !wrong && server === request.server && refused.length + forks.length === 0;
  if (!plain || request.ops.length > 0 || request.back) return undefined;
  return { ...request, after, afterDigest, reading };
}

async function sendPhotos(r: Round): Promise<void> {
  const { store, transport, studio } = r;
  await eachPhoto(r, 'up', async (sha256) => {
    const photo = await store.photoOf(studio, sha256);
    if (!photo) return store.photoMissing(studio, sha256); // a purge took it
    await transport.putPhoto(studio, sha256, new Uint8Array(photo.bytes));
    await store.photoSent(studio, sha256);
  });
}

async function fetchPhotos(r: Round): Promise<void> {
  const { store, transport, studio } = r;
  await eachPhoto(r, 'down', async (sha256) => {
    const bytes = await transport.getPhoto(studio, sha256);
    const type = typeOf(bytes);
    if (!type) return store.photoMissing(studio, sha256);
    await store.photoCame(studio, { sha256, bytes: bytes.slice().buffer, type, sent: true });
  });
}

/** One after the other. One that the server will not have now steps aside; no way to the server ends it. */
async function eachPhoto(
  { store, studio, now, photoFailed, signal, took }: Round,
  way: 'up' | 'down',
  act: (sha256: string) => Promise<void>,
): Promise<void> {
  for (;;) {
    const all = await store.photoWork(studio, way, photosAtOnce + photoFailed.size);
    const due = all.filter((sum) => (photoFailed.get(sum) ?? Number.NEGATIVE_INFINITY) + photoAgainMs <= now());
    if (due.length === 0) return;
    for (const sha256 of due) {
      signal.throwIfAborted();
      try {
        await act(sha256);
        photoFailed.delete(sha256);
        took(true);
      } catch (e) {
        const aside =
          e instanceof Failed && ['not-found', 'invalid', 'conflict', 'too-large', 'strange'].includes(e.kind);
        if (!aside) throw e;
        photoFailed.set(sha256, now());
      }
    }
  }
}

/** What a picture's first bytes say it is; undefined for none of the three that are kept. */
function typeOf(bytes: Uint8Array): string | undefined {
  const begins = (...first: number[]) => first.every((b, i) => bytes[i] === b);
  if (begins(0xff, 0xd8, 0xff)) return 'image/jpeg';
  if (begins(0x89, 0x50, 0x4e, 0x47)) return 'image/png';
  return begins(0x52, 0x49, 0x46, 0x46) ? 'image/webp' : undefined;
}
