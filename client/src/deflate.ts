/** Bytes packed and unpacked as RFC 1951 has it, by the browser's own streams. */
import { BadFile } from './sync/statefile';

const collected = async (stream: ReadableStream<Uint8Array>, most: number): Promise<Uint8Array<ArrayBuffer>> => {
  const chunks: Uint8Array[] = [];
  let length = 0;
  const reader = stream.getReader();
  for (let next = await reader.read(); !next.done; next = await reader.read()) {
    length += next.value.length;
    if (length > most) {
      void reader.cancel().catch(() => undefined);
      throw new BadFile('too-large');
    }
    chunks.push(next.value);
  }
  const all = new Uint8Array(length);
  let at = 0;
  for (const chunk of chunks) {
    all.set(chunk, at);
    at += chunk.length;
  }
  return all;
};

function slices(bytes: Uint8Array<ArrayBuffer>, sliceBytes: number): ReadableStream<Uint8Array<ArrayBuffer>> {
  let at = 0;
  return new ReadableStream({
    pull(to) {
      if (at >= bytes.length) return to.close();
      to.enqueue(bytes.slice(at, at + sliceBytes));
      at += sliceBytes;
    },
  });
}

export const deflated = (bytes: Uint8Array<ArrayBuffer>): Promise<Uint8Array<ArrayBuffer>> =>
  collected(slices(bytes, 1 << 16).pipeThrough(new CompressionStream('deflate-raw')), Infinity);

/** Packed bytes put in at once: what they unpack to, at most about a thousandfold, is in memory before the limit is looked at. */
const atOnce = 1_024;

/** Throws BadFile: 'damaged' where the bytes are no whole packing, 'too-large' as soon as more than `most` come out of it. */
export async function inflated(bytes: Uint8Array<ArrayBuffer>, most: number): Promise<Uint8Array<ArrayBuffer>> {
  try {
    return await collected(slices(bytes, atOnce).pipeThrough(new DecompressionStream('deflate-raw')), most);
  } catch (e) {
    if (e instanceof BadFile) throw e;
    throw new BadFile('damaged');
  }
}
