/** What the parts of the store share. */
import type { Json } from '../sync/ops';
import type { Engine } from './tables';

/** What belongs to this browser, not to a studio. `person` is who writes where no server named them otherwise. */
export type Device = { studio: string; person: string; name: string; settings: { readonly [key: string]: Json } };

/** Which records changed, and through whom. No keys: many, read again what is shown. */
export type Change = { readonly by: 'us' | 'studio' | 'other-tab'; readonly studio: string; readonly keys?: string[] };

export type Home = {
  readonly engine: Engine;
  device: Device;
  /** Minutes east of UTC, here and now. */
  zone(): number;
  changed(change: Change): void;
};
