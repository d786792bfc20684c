/** When to try next, as pure decisions over plain data: after what happened, at which moment, how often. */
import type { FailureKind } from './http';

/** Why a try is asked for. 'saved' is put together with what follows at once; the others are due now. */
export type Trigger = 'open' | 'online' | 'visible' | 'saved' | 'news' | 'hand';

export type Pace = {
  readonly failures: number; // in a row
  readonly triedAt: number; // ms, when the last try ended; 0 for never
  readonly notBefore: number; // ms: the server asked to wait until then
  readonly nextAt: number; // ms; Infinity when nothing is planned
};

export const never = Number.POSITIVE_INFINITY;
export const atRest: Pace = { failures: 0, triedAt: 0, notBefore: 0, nextAt: never };

/** What is typed in one breath goes in one batch. */
export const savedMs = 400;
/** Tries never come closer than this after a failure, whatever asks for them. */
export const closestMs = 2000;
export const longestMs = 5 * 60 * 1000;

/** The pace after a request for a try. It brings the next try forward and never puts it off. */
export function asked(pace: Pace, trigger: Trigger, now: number): Pace {
  const wish = trigger === 'saved' ? now + savedMs : now;
  const gap = pace.failures > 0 && trigger !== 'hand' ? pace.triedAt + closestMs : 0;
  return { ...pace, nextAt: Math.max(pace.notBefore, Math.min(pace.nextAt, Math.max(wish, gap))) };
}

/** The pace after a try that failed. `random` is from 0 up to 1; `seconds` is how long the server asked to wait. */
export function failed(pace: Pace, now: number, random: number, seconds = 0): Pace {
  const failures = pace.failures + 1;
  const notBefore = seconds > 0 ? now + seconds * 1000 : 0;
  return { failures, triedAt: now, notBefore, nextAt: Math.max(notBefore, now + backOff(failures, random)) };
}

/** From 2 s doubling to 5 minutes; half of each wait is left to chance, so that phones do not come back all at once. */
export function backOff(failures: number, random: number): number {
  const whole = Math.min(longestMs, closestMs * 2 ** Math.min(failures, 12));
  return Math.max(closestMs, (whole / 2) * (1 + random));
}

/** The pace after a try that went well; what was asked for meanwhile is still due. */
export const succeeded = ({ nextAt }: Pace, now: number): Pace => ({ ...atRest, triedAt: now, nextAt });

/** How it stands with the server, for the strip. */
export type Standing =
  | 'alone' // joined to none: nothing is ever sent
  | 'idle'
  | 'sending'
  | 'offline' // no way to the server; it is tried again
  | 'refused' // it answers, and says no: what waits stays here
  | 'too-old' // this program is
  | 'too-new'; // for this server

/** What a failure means to the person. */
export function standingAfter(kind: FailureKind): Standing {
  switch (kind) {
    case 'too-old':
      return 'too-old';
    case 'server-too-old':
      return 'too-new';
    case 'unauthenticated':
    case 'denied':
    case 'unknown-server':
    case 'insecure':
    case 'invalid':
    case 'not-found':
    case 'conflict':
    case 'too-large':
      return 'refused';
    default:
      return 'offline';
  }
}
