/** The way to the home screen, as far as this browser has one. */

/** A browser that asks the person by itself (Chromium), or one where the person does it by hand (iOS). */
export type HomeWay = 'offered' | 'by-hand';

type Offer = Event & { prompt(): Promise<unknown> };

/** Keeps the browser's offer until the person wants it. `changed` hears which way there is now, if any. */
export function homeScreen(changed: (way: HomeWay | undefined) => void): { put(): Promise<void> } {
  let offer: Offer | undefined;
  const tell = () => changed(offer ? 'offered' : byHand() ? 'by-hand' : undefined);
  addEventListener('beforeinstallprompt', (e) => {
    e.preventDefault(); // it is offered where the app says why, not over what the person is doing
    offer = e as Offer;
    tell();
  });
  addEventListener('appinstalled', () => {
    offer = undefined;
    tell();
  });
  if (byHand()) tell();
  return {
    put: async () => {
      const once = offer;
      offer = undefined; // a browser lets each offer be used once
      await once?.prompt();
      tell();
    },
  };
}

/** Only iOS has `standalone`: false in a tab, and there nothing can ask for the person. */
const byHand = (): boolean => 'standalone' in navigator && navigator.standalone === false;
