/** Short ways to say what a step offers. */
import type { Action, Offer } from './task';

export const main: Offer = { action: { do: 'next' }, as: 'main' };
export const pick = (value: string, of?: string): Action =>
  of === undefined ? { do: 'pick', value } : { do: 'pick', value, of };
export const tile = (value: string, of?: string, on?: boolean): Offer =>
  on ? { action: pick(value, of), as: 'tile', on } : { action: pick(value, of), as: 'tile' };
export const tiles = (values: readonly string[], of?: string, chosen?: readonly string[] | string): readonly Offer[] =>
  values.map((v) => tile(v, of, Array.isArray(chosen) ? chosen.includes(v) : chosen === v));
export const small = (value: string, of?: string): Offer => ({ action: pick(value, of), as: 'small' });
export const adjust = (by: number, of?: string): Offer => ({
  action: of === undefined ? { do: 'add', by } : { do: 'add', by, of },
  as: 'adjust',
});
export const notNow = small('not-now');

/** The value of a tap on one of `values`, or undefined. */
export function picked<V extends string>(a: Action, values: readonly V[], of?: string): V | undefined {
  return a.do === 'pick' && a.of === of ? values.find((v) => v === a.value) : undefined;
}

/** Plus and minus stop at the ends; they are never refused there. */
export const within = (least: number, n: number, most: number) => Math.min(most, Math.max(least, n));
