/** What is said of copies. */
import type { Opened } from '../store/store';
import type { BadFile } from '../sync/statefile';

const bad: { readonly [reason in BadFile['reason']]: string } = {
  'not-ours': 'This file is no copy of an Evenpull studio. Nothing was taken from it.',
  'too-new':
    'This copy was made by a newer Evenpull. Load the page again to update, then open it. Nothing was taken from it.',
  'too-large': 'This file is larger than a copy can be. Nothing was taken from it.',
  damaged: 'This copy is damaged. Nothing was taken from it; look for another one.',
};

export const badFile = (reason: BadFile['reason']): string => bad[reason];

const things = (n: number, one: string, many: string): string => `${n} ${n === 1 ? one : many}`;

export function openedWords({ how, records, photos }: Opened): string {
  if (records === 0 && photos === 0) return 'Everything in this copy is here already.';
  const what = [things(records, 'record', 'records'), photos > 0 ? things(photos, 'photo', 'photos') : '']
    .filter(Boolean)
    .join(' and ');
  if (how === 'copied') return `${what} of another studio copied into this one.`;
  return how === 'adopted' ? `${what} opened.` : `${what} added or brought up to date.`;
}

/** A day in this phone's time, for the name of a file. */
export function dayOf(ms: number): string {
  const d = new Date(ms);
  const two = (n: number) => String(n).padStart(2, '0');
  return `${d.getFullYear()}-${two(d.getMonth() + 1)}-${two(d.getDate())}`;
}

/** The name of the file: the day it was made. */
export const fileName = (ms: number): string => `evenpull-${dayOf(ms)}.evenpull`;
