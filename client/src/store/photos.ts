/** Photos' bytes, each once, and which have a way to go: up after the record that names them, or down. */
import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex } from '@noble/hashes/utils.js';
import { limits } from '../sync/ops';
import { StoreError } from './errors';
import type { Home } from './home';
import { type Photo, type PhotoWork, within } from './tables';

export type Photos = {
  /** Keeps a photo that was just taken. Throws StoreError: 'refused' where the bytes are too many or not those named. */
  savePhoto(photo: Photo): Promise<void>;
  photo(sha256: string): Promise<Photo | undefined>;
  /** Photos of a studio that a server lacks, or that this phone lacks. */
  photoWork(studio: string, way: PhotoWork['way'], most: number): Promise<string[]>;
  /** The bytes of one to send. */
  photoOf(studio: string, sha256: string): Promise<Photo | undefined>;
  /** A server has it whole. */
  photoSent(studio: string, sha256: string): Promise<void>;
  /** The bytes of one came. Throws StoreError 'refused' where they are not those named. */
  photoCame(studio: string, photo: Photo): Promise<void>;
  /** It can't be had now: asked for again when somebody looks at it. */
  photoMissing(studio: string, sha256: string): Promise<void>;
};

/** How many photos are given up at once on a full phone. */
const roomPhotos = 20;

export function photos(home: Home): Photos & { makeRoom(): Promise<boolean> } {
  const { engine } = home;
  const here = () => home.device.studio;
  const read = (studio: string, sha256: string) =>
    engine.run(['photos'], 'read', (tx) => tx.get('photos', [studio, sha256]));

  function checked(photo: Photo): void {
    const { byteLength } = photo.bytes;
    const named = bytesToHex(sha256(new Uint8Array(photo.bytes))) === photo.sha256;
    if (byteLength === 0 || byteLength > limits.photoBytes || !named) throw new StoreError('refused');
  }

  return {
    savePhoto: async (photo) => {
      checked(photo);
      const studio = here();
      await engine.run(['photos', 'photoWork'], 'write', async (tx) => {
        if (await tx.get('photos', [studio, photo.sha256])) return; // writing the same bytes again gains nothing
        tx.put('photos', { ...photo, sent: false, studio });
        tx.put('photoWork', { studio, sha256: photo.sha256, way: 'up' });
      });
    },
    photo: async (sha256) => {
      const found = await read(here(), sha256);
      if (!found) await wanted(here(), sha256);
      return found;
    },
    photoOf: read,
    photoWork: async (studio, way, most) => {
      const work = await engine.run(['photoWork'], 'read', (tx) => tx.list('photoWork', within(studio)));
      return work
        .filter((w) => w.way === way)
        .slice(0, most)
        .map((w) => w.sha256);
    },
    photoSent: (studio, sha256) =>
      engine.run(['photos', 'photoWork'], 'bulk', async (tx) => {
        const photo = await tx.get('photos', [studio, sha256]);
        if (photo) tx.put('photos', { ...photo, sent: true });
        tx.remove('photoWork', [studio, sha256]);
      }),
    photoCame: async (studio, photo) => {
      checked(photo);
      await engine.run(['photos', 'photoWork'], 'bulk', async (tx) => {
        tx.put('photos', { ...photo, sent: true, studio });
        tx.remove('photoWork', [studio, photo.sha256]);
      });
      home.changed({ by: 'studio', studio });
    },
    photoMissing: (studio, sha256) =>
      engine.run(['photoWork'], 'bulk', async (tx) => tx.remove('photoWork', [studio, sha256])),
    /** Gives up photos that a server has. Whether any were. */
    makeRoom: async () => {
      let gone = 0;
      let from = within(here());
      while (gone < roomPhotos) {
        const [next] = await engine.run(['photos'], 'read', (tx) => tx.list('photos', from, { most: 1 })); // one at a time: they are large
        if (!next) break;
        from = { from: [next.studio, next.sha256], to: from.to, after: true };
        if (!next.sent) continue;
        await engine.run(['photos'], 'bulk', async (tx) => tx.remove('photos', [next.studio, next.sha256]));
        gone++;
      }
      return gone > 0;
    },
  };

  /** Somebody looks at a photo that is not here: it is fetched when there is signal. */
  async function wanted(studio: string, sha256: string): Promise<void> {
    const asked = await engine.run(['photoWork', 'phones'], 'bulk', async (tx) => {
      const phone = await tx.get('phones', studio);
      if (!phone?.server || (await tx.get('photoWork', [studio, sha256]))) return false;
      tx.put('photoWork', { studio, sha256, way: 'down' });
      return true;
    });
    if (asked) home.changed({ by: 'us', studio, keys: [] }); // the loop hears of it
  }
}
