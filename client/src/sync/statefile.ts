/**
 * A whole studio in one file: records with their dots and the vector that covers them, what only servers refused, and
 * photos. Lines of JSON, each ended by \n: a head, one line for each record, void and photo, and a foot with the SHA-256 of
 * all before it, so that a damaged file is refused whole.
 */
import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, utf8ToBytes } from '@noble/hashes/utils.js';
import type { Rec, Vector, Void } from './merge';
import { type Dot, isCount, isDot, isId, isObject, type Json } from './ops';
import { BadMessage, isSha256, readRecord, readVector, readVoid, recordText } from './wire';

export const fileFormat = 'evenpull-studio';
export const fileVersion = 1;

/** Limits of what is read: of the file, and of one line (a photo in base64 is the longest). */
export const mostFileBytes = 512 << 20;
const mostLineUnits = 4 << 20;

export type StudioFile = {
  studio: string;
  madeMs: number; // UTC
  c: Vector;
  records: Rec[]; // as they were shown
  voids: Void[];
  purged: Dot[];
  photos: { sha256: string; type: string; base64: string }[];
};

/** Why a file can't be opened: it is no file of ours, a later version's, too large, or damaged. */
export class BadFile extends Error {
  constructor(readonly reason: 'not-ours' | 'too-new' | 'too-large' | 'damaged') {
    super(`file: ${reason}`);
  }
}

/** The file, line by line. The lines, one after the other, are the file. */
export function* encodeStudioFile(file: StudioFile): Generator<string> {
  const { studio, madeMs, c, records, voids, purged, photos } = file;
  const sum = sha256.create();
  const line = (text: string) => {
    sum.update(utf8ToBytes(`${text}\n`));
    return `${text}\n`;
  };
  const counts = { records: records.length, voids: voids.length, photos: photos.length };
  yield line(JSON.stringify({ format: fileFormat, version: fileVersion, studio, madeMs, c, purged, ...counts }));
  for (const rec of records) yield line(recordText(rec));
  for (const v of voids) yield line(JSON.stringify(v));
  for (const photo of photos) yield line(JSON.stringify(photo));
  yield `${JSON.stringify({ sha256: bytesToHex(sum.digest()) })}\n`;
}

/** Reads a file from outside. Throws BadFile; nothing of a file that is not whole comes out. */
export function decodeStudioFile(text: string): StudioFile {
  const reading = readStudioFile(text);
  for (;;) {
    const { done, value } = reading.next();
    if (done) return value;
  }
}

/** Lines and units of text that are read in one go: a few milliseconds' work. */
const linesAtOnce = 200;
const unitsAtOnce = 1 << 18;

/** The same bit by bit: yields what share of the work is done, from 0 to 1, so that the page can go on between. */
export function* readStudioFile(text: string): Generator<number, StudioFile> {
  if (text.length > mostFileBytes) throw new BadFile('too-large');
  const head = readHead(text.slice(0, text.indexOf('\n') + 1));
  const foot = text.lastIndexOf('\n', text.length - 2) + 1;
  const { sha256: sum } = parseLine(text.slice(foot));
  const own = sha256.create();
  for (let at = 0; at < foot; ) {
    const end = Math.min(foot, text.indexOf('\n', at + unitsAtOnce) + 1 || foot); // never within a letter
    own.update(utf8ToBytes(text.slice(at, end)));
    at = end;
    yield at / foot / 2;
  }
  if (sum !== bytesToHex(own.digest())) throw new BadFile('damaged');
  try {
    return yield* readBody(head, text.slice(0, foot).split('\n'));
  } catch (e) {
    throw e instanceof BadMessage ? new BadFile('damaged') : e;
  }
}

function readHead(line: string): { [key: string]: Json } {
  let head: { [key: string]: Json };
  try {
    head = parseLine(line);
  } catch {
    throw new BadFile('not-ours');
  }
  if (head.format !== fileFormat || !isCount(head.version)) throw new BadFile('not-ours');
  if (head.version > fileVersion) throw new BadFile('too-new');
  return head;
}

/** The last moment that a date can name. */
const lastMs = 8.64e15;

function* readBody(head: { [key: string]: Json }, lines: string[]): Generator<number, StudioFile> {
  const { studio, madeMs, purged } = head;
  const counts = [head.records, head.voids, head.photos];
  if (!isId(studio) || !isCount(madeMs) || madeMs > lastMs || !Array.isArray(purged) || !purged.every(isDot))
    throw new BadFile('damaged');
  if (!counts.every(isCount) || lines.length !== 2 + counts.reduce((sum, n) => sum + n, 0))
    throw new BadFile('damaged');
  const [records = 0, voids = 0] = counts;
  function* section<T>(from: number, to: number, read: (line: { [key: string]: Json }) => T): Generator<number, T[]> {
    const all: T[] = [];
    for (let i = from; i < to; i++) {
      all.push(read(parseLine(lines[i] ?? '')));
      if (i % linesAtOnce === 0 || (lines[i]?.length ?? 0) > unitsAtOnce) yield (1 + i / lines.length) / 2;
    }
    return all;
  }
  const file: StudioFile = {
    studio,
    madeMs,
    c: readVector(head.c),
    records: yield* section(1, 1 + records, readRecord),
    voids: yield* section(1 + records, 1 + records + voids, readVoid),
    purged,
    photos: yield* section(1 + records + voids, lines.length - 1, readPhoto),
  };
  const keys = new Set(file.records.map((rec) => `${rec.kind}/${rec.id}`));
  if (keys.size !== records) throw new BadFile('damaged');
  return file;
}

function readPhoto(line: { [key: string]: Json }): StudioFile['photos'][number] {
  const { sha256: sum, type, base64 } = line;
  const ok = isSha256(sum) && typeof type === 'string' && /^image\/(jpeg|png|webp)$/.test(type);
  if (!ok || typeof base64 !== 'string' || bytesToHex(sha256(fromBase64(base64))) !== sum) throw new BadFile('damaged');
  return { sha256: sum, type, base64 };
}

function parseLine(line: string): { [key: string]: Json } {
  if (line.length > mostLineUnits) throw new BadFile('too-large');
  let tree: unknown;
  try {
    tree = JSON.parse(line);
  } catch {
    throw new BadFile('damaged');
  }
  if (!isObject(tree)) throw new BadFile('damaged');
  return tree;
}

export function toBase64(bytes: Uint8Array): string {
  let text = '';
  for (let i = 0; i < bytes.length; i += 8192) text += String.fromCharCode(...bytes.subarray(i, i + 8192));
  return btoa(text);
}

/** Throws BadFile 'damaged' on what is not base64. */
export function fromBase64(text: string): Uint8Array {
  try {
    return Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
  } catch {
    throw new BadFile('damaged');
  }
}
