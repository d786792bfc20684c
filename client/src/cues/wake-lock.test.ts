import { afterEach, expect, it, vi } from 'vitest';
import { keepScreenOn } from './wake-lock';

/** A page that can be hidden, and a browser that gives locks and takes them away when it is. */
function screen(gives = true) {
  const page = Object.assign(new EventTarget(), { visibilityState: 'visible' });
  const held = new Set<EventTarget>();
  const request = vi.fn(async () => {
    if (!gives) throw new DOMException('battery is low', 'NotAllowedError');
    const lock = Object.assign(new EventTarget(), {
      release: async () => {
        held.delete(lock);
        lock.dispatchEvent(new Event('release'));
      },
    });
    held.add(lock);
    return lock;
  });
  vi.stubGlobal('navigator', { wakeLock: { request } });
  const show = (visible: boolean) => {
    page.visibilityState = visible ? 'visible' : 'hidden';
    if (!visible) for (const lock of [...held]) void (lock as unknown as { release(): Promise<void> }).release();
    page.dispatchEvent(new Event('visibilitychange'));
  };
  const told: boolean[] = [];
  const lock = keepScreenOn((on) => told.push(on), page as unknown as Document);
  return { lock, show, held, told, request };
}

afterEach(() => vi.unstubAllGlobals());

it('keeps the screen on, and takes it again after the page was away', async () => {
  const s = screen();
  await vi.waitFor(() => expect(s.held.size).toBe(1));
  s.show(false);
  expect(s.held.size).toBe(0);
  s.show(true);
  await vi.waitFor(() => expect(s.held.size).toBe(1));
  expect(s.told).toEqual([true, false, true]);
});

it('asks once where the page is shown twice', async () => {
  const s = screen();
  s.show(true);
  await vi.waitFor(() => expect(s.held.size).toBe(1));
  s.show(true);
  expect(s.request).toHaveBeenCalledTimes(1);
});

it('lets it go with the task, and does not take it again', async () => {
  const s = screen();
  await vi.waitFor(() => expect(s.held.size).toBe(1));
  s.lock.release();
  expect(s.held.size).toBe(0);
  s.show(false);
  s.show(true);
  await Promise.resolve();
  expect(s.request).toHaveBeenCalledTimes(1);
});

it('lets go at once of one that comes after the task has ended', async () => {
  const s = screen();
  s.lock.release();
  await vi.waitFor(() => expect(s.request).toHaveBeenCalledTimes(1));
  await vi.waitFor(() => expect(s.held.size).toBe(0));
  expect(s.told).toEqual([]);
});

it('says that the screen may sleep where the browser gives none', async () => {
  const s = screen(false);
  await vi.waitFor(() => expect(s.told).toEqual([false]));
});
