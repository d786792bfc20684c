/**
 * CRC-32 of bytes as ISO/IEC 3309 and ITU-T V.42 have it (reflected, polynomial 0x04C11DB7), as eight upper hex digits. It
 * finds what a slip or a tear did to a text, not what somebody did on purpose.
 */
export function crc32(bytes: Uint8Array): string {
  let crc = ~0;
  for (const byte of bytes) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit++) crc = (crc >>> 1) ^ (crc & 1 ? 0xedb88320 : 0);
  }
  return (~crc >>> 0).toString(16).toUpperCase().padStart(8, '0');
}
