/**
 * The text of one code that stands for itself: its start, the form's version, the CRC-32 of what follows, and that as JSON.
 * What is read is a stranger's text: too long, changed or of another form, it is refused whole.
 */
import { crc32 } from './crc32';
import { isObject, type Json } from './field';

/** Why a text is not taken. */
export type CodeFault = 'not-ours' | 'newer' | 'too-long' | 'damaged' | 'unusable';

/**
 * UTF-8 bytes of the longest code, our choice: 711 bytes are version 21 at level M (ISO/IEC 18004), 101 squares a side,
 * which at half a millimetre each is as wide as half a sheet.
 */
export const mostCodeBytes = 700;
/** UTF-16 units that are looked at when one is read: a little more than a code of another version of this form could have. */
export const mostRead = 3_000;
const version = 1;

const bytesOf = (text: string): Uint8Array => new TextEncoder().encode(text);

/** Undefined where it is too long for a code. */
export function sealed(start: string, body: Json): string | undefined {
  const json = JSON.stringify(body);
  const text = `${start}${version} ${crc32(bytesOf(json))} ${json}`;
  return bytesOf(text).length <= mostCodeBytes ? text : undefined;
}

/** The fields under this start. Never throws. */
export function unsealed(
  start: string,
  text: string,
): { readonly read: ReadonlyMap<string, Json> } | { readonly fault: CodeFault } {
  const plain = text.length > mostRead ? text : text.trim();
  if (!plain.startsWith(start)) return { fault: 'not-ours' };
  if (text.length > mostRead) return { fault: 'too-long' };
  const [, form, check, body = ''] = /^(\d{1,3}) ([0-9A-F]{8}) (.*)$/s.exec(plain.slice(start.length)) ?? [];
  if (form === undefined) return { fault: 'damaged' };
  if (Number(form) !== version) return { fault: Number(form) > version ? 'newer' : 'damaged' };
  if (crc32(bytesOf(body)) !== check) return { fault: 'damaged' };
  try {
    const found = JSON.parse(body) as Json;
    return isObject(found) ? { read: new Map(Object.entries(found)) } : { fault: 'damaged' };
  } catch {
    return { fault: 'damaged' };
  }
}
