/** What the browser says of the room it gives and whether it may take it back. Its own words, not our hope. */
import type { Storage } from './state';

/** Asks to be kept where `ask` says so; answers what is true. */
export async function storageTruth(ask: boolean): Promise<Storage> {
  const installed = matchMedia('(display-mode: standalone)').matches;
  const manager = navigator.storage;
  if (!manager) return { installed };
  const kept = ask && manager.persist ? await manager.persist() : await manager.persisted?.();
  const room = await manager.estimate?.();
  return { installed, kept, used: room?.usage, allowed: room?.quota };
}
