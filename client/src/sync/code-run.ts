/**
 * Bytes as a run of QR codes, shown one after the other and read in any order by a phone that has no network. Each code is
 * text of the alphanumeric set:
 *
 *     EVENPULL RUN 1 <base45 of: check 4, run 8, count 2, index 2, part 1..250 bytes>
 *
 * The 1 is the form's version. `check` is the start of the SHA-256 of what follows it, `run` of that of all the bytes, so that
 * parts of two runs never come together; count and index are big-endian, the first index is 0. Every part but the last is
 * full. With 250 bytes a code has at most 414 signs: version 12 at level M, 65 squares a side (ISO/IEC 18004, table 7: 419).
 * What is read is a stranger's: it is taken whole or refused with a reason, and nothing throws.
 */
import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, concatBytes } from '@noble/hashes/utils.js';
import { fromBase45, toBase45 } from './base45';

const start = 'EVENPULL RUN ';
const version = 1;
const [checkBytes, runBytes, numberBytes] = [4, 8, 2];
const headBytes = checkBytes + runBytes + 2 * numberBytes;
/** Our choice, by trials with drawn frames (blur, noise, rotation): larger codes were missed more often. Not tried on real cameras. */
export const partBytes = 250;
/** Codes of one run, our choice: at four a second they are shown once in about four minutes. What is longer goes as a file. */
export const mostParts = 1_000;
/** What may come out of a run that is unpacked, our choice: copies pack seven to fourteen to one, the longest run has 250,000 bytes. */
export const mostUnpackedBytes = 8 << 20;

/** What was read of a run so far: plain data, to be put down and taken up again. The texts are kept as they were read. */
export type Run = {
  readonly id: string; // 16 hex digits
  readonly codes: readonly (string | null)[]; // null: not here yet
};

/** Why a text is not taken: no code of a run, of a later version's, changed or cut, or part of another run than this. */
export type RunFault = 'not-ours' | 'newer' | 'damaged' | 'other-run';
/** `fresh`: it was not here yet. */
export type TookCode = { readonly run: Run; readonly fresh: boolean } | { readonly fault: RunFault };

/** The codes of these bytes, in order; undefined where there are none, or more than a run may have. */
export function runCodes(bytes: Uint8Array): readonly string[] | undefined {
  const count = Math.ceil(bytes.length / partBytes);
  if (count === 0 || count > mostParts) return undefined;
  const run = sha256(bytes).subarray(0, runBytes);
  return Array.from({ length: count }, (_, i) => {
    const part = bytes.subarray(i * partBytes, (i + 1) * partBytes);
    const body = concatBytes(run, big(count), big(i), part);
    return `${start}${version} ${toBase45(concatBytes(checkOf(body), body))}`;
  });
}

const big = (n: number): Uint8Array => Uint8Array.of(n >> 8, n & 0xff);
const checkOf = (body: Uint8Array): Uint8Array => sha256(body).subarray(0, checkBytes);

type Part = { readonly id: string; readonly count: number; readonly index: number; readonly bytes: Uint8Array };

function readPart(text: string): Part | { readonly fault: RunFault } {
  if (!text.startsWith(start)) return { fault: 'not-ours' };
  const [, form = '', body = ''] = /^(\d{1,3}) (.*)$/s.exec(text.slice(start.length)) ?? [];
  if (Number(form) > version) return { fault: 'newer' };
  const all = form === String(version) ? fromBase45(body) : undefined;
  if (!all || all.length <= headBytes || all.length > headBytes + partBytes) return { fault: 'damaged' };
  const checked = all.subarray(checkBytes);
  if (bytesToHex(checkOf(checked)) !== bytesToHex(all.subarray(0, checkBytes))) return { fault: 'damaged' };
  const view = new DataView(checked.buffer, checked.byteOffset + runBytes);
  const [count, index] = [view.getUint16(0), view.getUint16(numberBytes)];
  const bytes = all.subarray(headBytes);
  const fits = index < count && count <= mostParts && (index === count - 1 || bytes.length === partBytes);
  return fits ? { id: bytesToHex(checked.subarray(0, runBytes)), count, index, bytes } : { fault: 'damaged' };
}

/** One more text that was read; the first one begins the run. In any order, and as often as it comes. */
export function takeCode(run: Run | undefined, text: string): TookCode {
  const part = readPart(text);
  if ('fault' in part) return part;
  const { id, count, index } = part;
  if (run && id !== run.id) return { fault: 'other-run' };
  const codes = run?.codes ?? Array<null>(count).fill(null);
  if (run && codes[index] === text) return { run, fresh: false };
  if (codes[index] || count !== codes.length) return { fault: 'damaged' }; // two that say different things are never one run
  return { run: { id, codes: codes.map((code, i) => (i === index ? text : code)) }, fresh: true };
}

/** Indexes of the parts that are not here yet, in order. */
export const missing = (run: Run): readonly number[] => run.codes.flatMap((code, i) => (code === null ? [i] : []));

/** Stored texts, taken up again: each is read anew, so what a disk or a stranger made of them is refused as any code is. */
export const takenUp = (texts: readonly string[]): Run | undefined =>
  texts.slice(0, mostParts).reduce<Run | undefined>((run, text) => {
    const took = takeCode(run, text);
    return 'fault' in took ? run : took.run;
  }, undefined);

/** All the bytes of a run. Undefined where a part is missing, or where the whole is not what its codes say: begin anew then. */
export function bytesOf(run: Run): Uint8Array | undefined {
  const parts: Uint8Array[] = [];
  for (const [i, code] of run.codes.entries()) {
    const part = readPart(code ?? '');
    if ('fault' in part || part.id !== run.id || part.index !== i || part.count !== run.codes.length) return undefined;
    parts.push(part.bytes);
  }
  const bytes = concatBytes(...parts);
  return bytesToHex(sha256(bytes).subarray(0, runBytes)) === run.id ? bytes : undefined;
}

/**
 * Which part stands on the screen as the nth since the run began. A round is made so long, by showing its first parts once
 * more, that no number up to ten divides it: a camera that catches only every second or third code, or every tenth, has
 * then seen all of them after as many rounds, and does not miss the same ones for ever.
 */
export const shownAt = (count: number, nth: number): number => (nth % roundOf(count)) % count;

/** How many codes a round shows. */
export function roundOf(count: number): number {
  let round = count;
  while ([2, 3, 5, 7].some((n) => round % n === 0)) round++;
  return round;
}
