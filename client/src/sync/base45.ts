/**
 * Base45 as RFC 9285 has it: two bytes in three signs, a last single byte in two, all of them of the alphanumeric set of a QR
 * code, where a sign costs five and a half bits.
 */
const alphabet = '0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:'; // RFC 9285, table 1

export function toBase45(bytes: Uint8Array): string {
  let text = '';
  for (let i = 0; i < bytes.length; i += 2) {
    const pair = i + 1 < bytes.length;
    let n = pair ? ((bytes[i] ?? 0) << 8) | (bytes[i + 1] ?? 0) : (bytes[i] ?? 0);
    for (let signs = pair ? 3 : 2; signs > 0; signs--) {
      text += alphabet[n % 45];
      n = Math.floor(n / 45);
    }
  }
  return text;
}

/** Undefined where the text is not what toBase45 makes of some bytes. */
export function fromBase45(text: string): Uint8Array | undefined {
  if (text.length % 3 === 1) return undefined;
  const bytes = new Uint8Array(Math.floor((text.length * 2) / 3));
  for (let i = 0, at = 0; i < text.length; i += 3) {
    const [a, b, c] = [0, 1, 2].map((k) => (i + k < text.length ? alphabet.indexOf(text[i + k] ?? '') : 0));
    if (a === undefined || b === undefined || c === undefined || Math.min(a, b, c) < 0) return undefined;
    const n = a + 45 * b + 45 * 45 * c;
    const pair = i + 2 < text.length;
    if (n > (pair ? 0xffff : 0xff)) return undefined;
    if (pair) bytes[at++] = n >> 8;
    bytes[at++] = n & 0xff;
  }
  return bytes;
}
