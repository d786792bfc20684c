/** The unit that travels up: an op, its one spelling, and the chain digest over its bytes. Pure but for newId. */
import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, concatBytes, hexToBytes, utf8ToBytes } from '@noble/hashes/utils.js';
import type { Stamp } from './clock';

export type { Stamp };
export type Json = null | boolean | number | string | Json[] | { [key: string]: Json };
/** `${replica}:${n}`: names one op. */
export type Dot = string;

/** One write by one replica: sets fields of one record and names, for each, the dots its writer saw there and replaces. */
export type Op = {
  replica: string;
  n: number; // 1, 2, 3 … per replica
  at: Stamp;
  by: string; // person, or ''
  kind: string;
  id: string;
  set: Record<string, Json>;
  over: Record<string, Dot[]>;
};

/** Limits of the format: constants, never configuration. Every server refuses the same bytes for good. */
export const limits = {
  format: 1,
  opBytes: 64 << 10,
  batchOps: 5000,
  batchBytes: 8 << 20, // inflated
  gzipBytes: 1 << 20,
  depth: 8,
  fields: 256,
  over: 256, // dots of one field
  noteUnits: 20_000, // UTF-16
  noteBytes: 48 << 10, // as written in the op, escapes counted
  photoBytes: 1_500_000,
  photoPixels: 1600, // longer side
} as const;

/** An op that no server takes, ever. It is a RangeError, so that a caller who made it sees a mistake of its own. */
export class MalformedOp extends RangeError {
  constructor(readonly reason: 'malformed' | 'too-large') {
    super(`op refused for good: ${reason}`);
  }
}

const malformed = () => new MalformedOp('malformed');

/** The canonical text of an op. Throws MalformedOp on what the format refuses. Fields with no dots leave `over`. */
export function encodeOp(op: Op): string {
  const over = Object.fromEntries(Object.entries(op.over).filter(([, dots]) => dots.length > 0));
  checkOp({ ...op, over });
  const { at, by, id, kind, n, replica, set } = op;
  const text = encodeTree({ at: [...at], by, id, kind, n, over, replica, set }, limits.depth + 2);
  if (utf8Length(text) > limits.opBytes) throw new MalformedOp('too-large');
  return text;
}

/** Reads an op's text: its one spelling, or MalformedOp. */
export function parseOp(text: string): Op {
  if (utf8Length(text) > limits.opBytes) throw new MalformedOp('too-large');
  let tree: Json;
  try {
    tree = JSON.parse(text) as Json;
  } catch {
    throw malformed();
  }
  if (!isObject(tree) || Object.keys(tree).length !== 8) throw malformed();
  const op = tree as unknown as Op;
  checkOp(op);
  if (encodeOp(op) !== text) throw malformed(); // white space, order, repetition, spelling of numbers and escapes
  return op;
}

function checkOp(op: Op): void {
  const ok =
    isId(op.replica) &&
    isCount(op.n) &&
    op.n > 0 &&
    isStamp(op.at) &&
    (op.by === '' || isId(op.by)) &&
    isKind(op.kind) &&
    isId(op.id) &&
    isObject(op.set) &&
    isObject(op.over) &&
    sized(Object.keys(op.set).length, limits.fields) &&
    Object.keys(op.set).every(isField) &&
    Object.entries(op.over).every(
      ([field, dots]) =>
        Object.hasOwn(op.set, field) && Array.isArray(dots) && sized(dots.length, limits.over) && dots.every(isDot),
    );
  if (!ok) throw malformed();
}

const sized = (count: number, most: number) => count > 0 && count <= most;

/** One value in the format's one spelling. Throws MalformedOp on floats, large numbers, lone surrogates and depth. */
export function encodeValue(value: Json): string {
  return encodeTree(value, limits.depth);
}

function encodeTree(value: Json, depth: number): string {
  if (depth < 0) throw malformed();
  switch (typeof value) {
    case 'string':
      return encodeString(value);
    case 'number':
      if (!Number.isSafeInteger(value)) throw malformed();
      return value === 0 ? '0' : String(value); // −0 is 0
    case 'boolean':
      return String(value);
    case 'object': {
      if (value === null) return 'null';
      if (Array.isArray(value)) return `[${value.map((item) => encodeTree(item, depth - 1)).join(',')}]`;
      const keys = Object.keys(value).sort(compareUtf8);
      const pair = (key: string) => `${encodeString(key)}:${encodeTree(value[key] as Json, depth - 1)}`;
      return `{${keys.map(pair).join(',')}}`;
    }
    default:
      throw malformed();
  }
}

const loneSurrogate = /\p{Cs}/u; // under u, a pair is one character and does not match

function encodeString(s: string): string {
  if (loneSurrogate.test(s)) throw malformed();
  return JSON.stringify(s); // its escapes are the shortest ones, and only those the format asks for
}

/** Orders strings as their UTF-8 bytes do. UTF-16 order differs: it puts astral characters before U+E000 to U+FFFF. */
export function compareUtf8(a: string, b: string): number {
  const most = Math.min(a.length, b.length);
  for (let i = 0; i < most; i++) {
    const x = a.charCodeAt(i);
    const y = b.charCodeAt(i);
    if (x !== y) return codePointRank(x) - codePointRank(y);
  }
  return a.length - b.length;
}

const codePointRank = (unit: number) => (unit < 0xd800 ? unit : unit < 0xe000 ? unit + 0x2000 : unit - 0x800);

/** A copy with lone surrogates as U+FFFD and −0 as 0: what a phone does before it stores. */
export function repair<T extends Json>(value: T): T {
  return repaired(value) as T;
}

function repaired(value: Json): Json {
  if (typeof value === 'string') return repairString(value);
  if (typeof value === 'number') return value === 0 ? 0 : value;
  if (Array.isArray(value)) return value.map(repaired);
  if (isObject(value)) {
    return Object.fromEntries(Object.entries(value).map(([key, item]) => [repairString(key), repaired(item)]));
  }
  return value;
}

const repairString = (s: string) => s.replace(/\p{Cs}/gu, '\ufffd');

/** How long a text is: UTF-16 units, and bytes as written in an op between its quotes, escapes counted. */
export function measure(s: string): { units: number; bytes: number } {
  return { units: s.length, bytes: utf8Length(JSON.stringify(repairString(s))) - 2 };
}

/** Whether a note's text may travel whole. */
export function noteFits(s: string): boolean {
  const { units, bytes } = measure(s);
  return units <= limits.noteUnits && bytes <= limits.noteBytes;
}

/** Bytes of a well-formed text in UTF-8. */
export function utf8Length(s: string): number {
  let bytes = s.length;
  for (let i = 0; i < s.length; i++) {
    const unit = s.charCodeAt(i);
    if (unit < 0x80) continue;
    bytes += unit < 0x800 || (unit >= 0xd800 && unit < 0xe000) ? 1 : 2; // a pair is two units and four bytes
  }
  return bytes;
}

/** 16 random bytes in lower hex. */
export function newId(): string {
  return bytesToHex(crypto.getRandomValues(new Uint8Array(16)));
}

/** The chain before the first op: 32 zero bytes. */
export const chainStart = '0'.repeat(64);

/** chain(n) = SHA-256(chain(n−1) ‖ op bytes). */
export function chain(prev: Uint8Array, text: string): Uint8Array {
  return sha256(concatBytes(prev, utf8ToBytes(text)));
}

/** The same in lower hex, as it is stored. */
export function chainHex(prev: string, text: string): string {
  return bytesToHex(chain(hexToBytes(prev), text));
}

/** What travels of a digest: its first 8 bytes. */
export const shortOf = (chainInHex: string): string => chainInHex.slice(0, 16);

/** The name that the losing branch of a fork goes on under: SHA-256(replica ‖ short digest at its first op), 16 bytes. */
export function forkName(replica: string, short: string): string {
  return bytesToHex(sha256(hexToBytes(replica + short)).subarray(0, 16));
}

export const isObject = (v: unknown): v is { [key: string]: Json } =>
  typeof v === 'object' && v !== null && !Array.isArray(v);
export const isId = (v: unknown): v is string => typeof v === 'string' && /^[0-9a-f]{32}$/.test(v);
export const isShort = (v: unknown): v is string => typeof v === 'string' && /^[0-9a-f]{16}$/.test(v);
export const isChain = (v: unknown): v is string => typeof v === 'string' && /^[0-9a-f]{64}$/.test(v);
export const isKind = (v: unknown): v is string => typeof v === 'string' && /^[a-zA-Z]{1,32}$/.test(v);
export const isField = (v: unknown): v is string => typeof v === 'string' && /^[a-zA-Z0-9]{1,64}$/.test(v);
export const isCount = (v: unknown): v is number => Number.isSafeInteger(v) && (v as number) >= 0;
export const isDot = (v: unknown): v is Dot =>
  typeof v === 'string' && /^[0-9a-f]{32}:[1-9][0-9]{0,15}$/.test(v) && Number.isSafeInteger(Number(v.slice(33)));
export const isStamp = (v: unknown): v is Stamp =>
  Array.isArray(v) && v.length === 2 && isCount(v[0]) && isCount(v[1]) && v[1] <= 65_535;
