/** The figures of the strip and of "only on this phone". */
import type { Home } from './home';
import { opsUpTo, within } from './tables';

export type Counts = {
  waiting: number; // own ops that no server has
  photosWaiting: number;
  needs: number; // ops that no server takes
  copies: number; // things written that no copy holds
  copiedAt: number; // ms UTC, 0 for never
  heardAt?: number; // ms UTC of the last answer of the server that answered last
};

export type Counting = {
  counts(): Promise<Counts>;
};

export function counting(home: Home): Counting {
  const { engine } = home;
  const studio = () => home.device.studio;
  return {
    counts: () =>
      engine.run(['outbox', 'needs', 'phones', 'photoWork'], 'read', async (tx) => {
        const [waiting, needs, phone, work] = await Promise.all([
          tx.count('outbox', opsUpTo(studio())),
          tx.list('needs', within(studio())),
          tx.get('phones', studio()),
          tx.list('photoWork', within(studio())),
        ]);
        const counts: Counts = {
          waiting: waiting + (phone?.byFile?.count ?? 0),
          photosWaiting: work.filter((w) => w.way === 'up').length,
          needs: needs.filter((n) => !n.kept).length,
          copies: phone?.copies ?? 0,
          copiedAt: phone?.copiedAt ?? 0,
        };
        const heardAt = phone?.heard[phone.server];
        if (heardAt !== undefined) counts.heardAt = heardAt;
        return counts;
      }),
  };
}
