import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { storageTruth } from './storage';

const screenOf = (installed: boolean) => vi.stubGlobal('matchMedia', () => ({ matches: installed }));
const browser = (storage: unknown) => vi.stubGlobal('navigator', { storage });

beforeEach(() => void screenOf(false));
afterEach(() => void vi.unstubAllGlobals());

test('says what the browser answers, not what was asked for', async () => {
  const persist = vi.fn(async () => false);
  browser({ persist, persisted: async () => false, estimate: async () => ({ usage: 5, quota: 90 }) });
  expect(await storageTruth(true)).toEqual({ installed: false, kept: false, used: 5, allowed: 90 });
  expect(persist).toHaveBeenCalledTimes(1);
});

test('asks for nothing where it only looks', async () => {
  const persist = vi.fn(async () => true);
  browser({ persist, persisted: async () => true, estimate: async () => ({}) });
  expect(await storageTruth(false)).toEqual({ installed: false, kept: true, used: undefined, allowed: undefined });
  expect(persist).not.toHaveBeenCalled();
});

test('claims nothing of a browser that can’t tell', async () => {
  browser(undefined);
  screenOf(true);
  expect(await storageTruth(true)).toEqual({ installed: true });
  browser({});
  expect(await storageTruth(true)).toEqual({ installed: true, kept: undefined, used: undefined, allowed: undefined });
});
