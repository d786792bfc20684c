import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';

/** The words as a phone in that zone says them. */
async function phoneIn(zone: string) {
  vi.stubEnv('TZ', zone);
  vi.resetModules();
  return import('./shell');
}
afterAll(() => {
  vi.unstubAllEnvs();
});

const local = (words: string) => new Date(words).getTime(); // without a zone of its own it is read in the phone's

describe('where the clocks go forward on 29 March 2026 and back on 25 October', () => {
  let ago: (at: number, now: number) => string;
  let when: (at: number) => string;
  beforeAll(async () => ({ ago, when } = await phoneIn('Europe/Berlin')));

  it('knows that its days are not all of one length', () => {
    expect(local('2026-03-30T00:00') - local('2026-03-29T00:00')).toBe(23 * 3600_000);
    expect(local('2026-10-26T00:00') - local('2026-10-25T00:00')).toBe(25 * 3600_000);
  });

  it.each([
    ['2026-03-28T12:00', '2026-03-29T12:00', 'yesterday'], // 23 hours
    ['2026-10-24T12:00', '2026-10-25T12:00', 'yesterday'], // 25 hours
    ['2026-10-25T00:10', '2026-10-25T23:50', '25 h ago'], // a long day is still today
    ['2026-03-29T01:30', '2026-03-29T03:30', '1 h ago'], // the hour between did not happen
    ['2026-03-28T23:30', '2026-03-29T00:30', '1 h ago'], // midnight alone makes no yesterday
    ['2026-03-27T21:00', '2026-03-29T03:30', '2 days ago'], // under 30 hours, and two dates back
    ['2026-03-16T12:00', '2026-03-29T12:00', '13 days ago'],
    ['2026-10-12T12:00', '2026-10-25T12:00', '13 days ago'],
  ])('from %s to %s is %s', (at, now, says) => {
    expect(ago(local(at), local(now))).toBe(says);
  });

  it('says the hour that came twice as the clock on the wall did', () => {
    const first = Date.UTC(2026, 9, 25, 0, 30); // 02:30 in summer time
    const second = Date.UTC(2026, 9, 25, 1, 30); // 02:30 again
    expect(when(first)).toBe(when(second));
    expect(ago(first, second)).toBe('1 h ago');
  });
});

it('says the year where it is not this one, and on paper always', async () => {
  const { ago, when, whenOnPaper } = await phoneIn('Europe/Berlin');
  const [summer, newYear] = [local('2026-07-01T12:00'), local('2027-01-03T12:00')];
  expect(when(summer, local('2026-12-31T23:00'))).not.toMatch(/20\d\d/);
  expect(when(summer, newYear)).toMatch(/2026.*12:00/);
  expect([ago(summer, local('2026-08-01T12:00')), ago(summer, newYear)].map((w) => /2026/.test(w))).toEqual([
    false,
    true,
  ]);
  expect(whenOnPaper(summer)).toMatch(/2026.*12:00/);
});

it('says a moment in the words of the phone that shows it, wherever it was written', async () => {
  const at = Date.UTC(2026, 2, 29, 23, 30);
  expect((await phoneIn('America/New_York')).when(at, at)).toMatch(/Mar 29.*0?7:30/);
  expect((await phoneIn('Pacific/Auckland')).when(at, at)).toMatch(/Mar 30.*12:30/);
});
