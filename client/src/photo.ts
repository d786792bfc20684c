/** Photos as they come into the app: made small, named by what is in them. */
import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex } from '@noble/hashes/utils.js';
import { limits } from './sync/ops';

const qualities = [0.85, 0.7, 0.5] as const;

/** A photo as it is kept: at most 1600 px and 1.5 MB, as JPEG, named by its SHA-256. Throws RangeError on what is no picture. */
export async function shrinkPhoto(
  file: Blob,
): Promise<{ sha256: string; bytes: ArrayBuffer; type: string; width: number; height: number }> {
  const image = await createImageBitmap(file).catch(() => {
    throw new RangeError('this file is no picture that the browser can read');
  });
  const scale = Math.min(1, limits.photoPixels / Math.max(image.width, image.height));
  const width = Math.max(1, Math.round(image.width * scale));
  const height = Math.max(1, Math.round(image.height * scale));
  const canvas = document.createElement('canvas');
  canvas.width = width;
  canvas.height = height;
  canvas.getContext('2d')?.drawImage(image, 0, 0, width, height);
  image.close();
  for (const quality of qualities) {
    const blob = await new Promise<Blob | null>((done) => canvas.toBlob(done, 'image/jpeg', quality));
    if (!blob || blob.size > limits.photoBytes) continue;
    const bytes = await blob.arrayBuffer();
    return { sha256: bytesToHex(sha256(new Uint8Array(bytes))), bytes, type: 'image/jpeg', width, height };
  }
  throw new RangeError('this picture stays too large');
}
