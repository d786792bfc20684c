/** The studios on this phone, what belongs to the phone itself, and how servers know it. */
import { newId } from '../sync/ops';
import { newPhone } from '../sync/phone';
import type { Device, Home } from './home';
import { type Link, opsUpTo, type Phone, type Table, within } from './tables';

/** A studio on this phone. `waiting`: own ops and photos that no server has; `refused`: ops that none takes. */
export type StudioHere = { id: string; links: readonly Link[]; server: string; waiting: number; refused: number };

export type Studios = {
  saveDevice(device: Device): Promise<void>;
  meta<T>(key: string): Promise<T | undefined>;
  saveMeta(key: string, value: unknown): Promise<void>;
  /** Starts a studio on this phone and enters it. `name` is the person's. The record with its name is the caller's to write. */
  startStudio(name: string): Promise<string>;
  /** From now on this page shows and writes in that studio; after a restart too. */
  enterStudio(studio: string): Promise<void>;
  studios(): Promise<StudioHere[]>;
  /** Forgets a studio and everything in it. The person was told the counts and said so. Not for the one that is entered. */
  removeStudio(studio: string): Promise<void>;
  phone(studio?: string): Promise<Phone | undefined>;
  /** This phone is in: makes the studio here if it is new, and keeps how its server knows us. Enters nothing. */
  saveLink(studio: string, link: Link): Promise<void>;
  /** The phone's key pair for signing in, made at the first call. Its private half can't leave the browser. */
  keys(make: () => Promise<CryptoKeyPair>): Promise<CryptoKeyPair>;
};

const ofStudio: readonly Table[] = ['records', 'outbox', 'phones', 'needs', 'drafts', 'tasks', 'photos', 'photoWork'];

export function studios(home: Home): Studios {
  const { engine } = home;

  async function saveDevice(device: Device): Promise<void> {
    await engine.run(['meta'], 'write', async (tx) => tx.put('meta', { key: 'device', value: device }));
    home.device = device;
  }

  async function meta<T>(key: string): Promise<T | undefined> {
    return (await engine.run(['meta'], 'read', (tx) => tx.get('meta', key)))?.value as T | undefined;
  }

  return {
    saveDevice,
    meta,
    saveMeta: (key, value) => engine.run(['meta'], 'write', async (tx) => tx.put('meta', { key, value })),
    startStudio: async (name) => {
      const studio = newId();
      const replica = newId();
      const device = { ...home.device, studio, person: home.device.person || newId(), name: name || home.device.name };
      await engine.run(['phones', 'meta'], 'write', async (tx) => {
        tx.put('phones', freshPhone(studio, replica));
        tx.put('meta', { key: 'device', value: device });
      });
      home.device = device;
      return studio;
    },
    enterStudio: async (studio) => {
      const there = await engine.run(['phones'], 'read', (tx) => tx.get('phones', studio));
      if (!there) throw new Error('that studio is not on this phone');
      await saveDevice({ ...home.device, studio, person: home.device.person || newId() });
    },
    studios: () =>
      engine.run(['phones', 'outbox', 'needs', 'photoWork'], 'read', async (tx) => {
        const all = await tx.list('phones', { from: '', to: '\uffff' });
        return Promise.all(
          all.map(async ({ studio, links, server, byFile }) => {
            const [ops, refused, photos] = await Promise.all([
              tx.count('outbox', opsUpTo(studio)),
              tx.count('needs', within(studio)),
              tx.list('photoWork', within(studio)),
            ]);
            const waiting = ops + (byFile?.count ?? 0) + photos.filter((w) => w.way === 'up').length;
            return { id: studio, links: Object.values(links), server, waiting, refused };
          }),
        );
      }),
    removeStudio: async (studio) => {
      if (studio === home.device.studio) throw new Error('leave the studio first');
      await engine.run(ofStudio, 'write', async (tx) => {
        for (const table of ofStudio) tx.remove(table, table === 'phones' ? studio : within(studio));
      });
    },
    phone: (studio = home.device.studio) => engine.run(['phones'], 'read', (tx) => tx.get('phones', studio)),
    saveLink: async (studio, link) => {
      const replica = newId();
      await engine.run(['phones'], 'write', async (tx) => {
        const phone = (await tx.get('phones', studio)) ?? freshPhone(studio, replica);
        tx.put('phones', { ...phone, server: link.server, links: { ...phone.links, [link.server]: link } });
      });
    },
    keys: async (make) => {
      const kept = await meta<CryptoKeyPair>('keys');
      if (kept) return kept;
      const made = await make();
      return engine.run(['meta'], 'write', async (tx) => {
        const first = await tx.get('meta', 'keys'); // another tab may have been quicker
        if (first) return first.value as CryptoKeyPair;
        tx.put('meta', { key: 'keys', value: made });
        return made;
      });
    },
  };
}

export const freshPhone = (studio: string, replica: string): Phone => ({
  studio,
  meta: newPhone(studio, replica),
  links: {},
  heard: {},
  server: '',
  copy: 1,
  kept: 0,
  copies: 0,
  since: 0,
  copiedAt: 0,
  lastNeed: 0,
});
