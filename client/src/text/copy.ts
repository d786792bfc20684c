/** What is said of copies. */
import type { Opened, Seen } from '../store/store';
import type { BadFile } from '../sync/statefile';

export type { Seen } from '../store/store';

const bad: { readonly [reason in BadFile['reason']]: string } = {
  'not-ours': 'This file is no copy of an Evenpull studio. Nothing was taken from it.',
  'too-new':
    'This copy was made by a newer Evenpull. Load the page again to update, then open it. Nothing was taken from it.',
  'too-large': 'This file is larger than a copy can be. Nothing was taken from it.',
  damaged: 'This copy is damaged. Nothing was taken from it; look for another one.',
};

export const badFile = (reason: BadFile['reason']): string => bad[reason];

export const nothingNew = 'Everything in this copy is here already.';

const things = (n: number, one: string, many: string): string => `${n} ${n === 1 ? one : many}`;

export function openedWords({ how, records, photos }: Opened): string {
  if (records === 0 && photos === 0) return nothingNew;
  const what = [things(records, 'record', 'records'), photos > 0 ? things(photos, 'photo', 'photos') : '']
    .filter(Boolean)
    .join(' and ');
  if (how === 'copied') return `${what} of another studio copied into this one.`;
  return how === 'adopted' ? `${what} opened.` : `${what} added or brought up to date.`;
}

const kinds: readonly (readonly [kind: string, one: string, many: string])[] = [
  ['note', 'note', 'notes'],
  ['recipe', 'recipe', 'recipes'],
  ['machine', 'machine', 'machines'],
  ['bobbinCase', 'bobbin case', 'bobbin cases'],
  ['thread', 'thread', 'threads'],
  ['quilt', 'quilt', 'quilts'],
  ['change', 'turn', 'turns'],
  ['reading', 'reading', 'readings'],
];

/** "12 notes, 4 recipes, 3 other records and 2 photos". */
export function broughtWords({ kinds: found, photos }: Pick<Seen, 'kinds' | 'photos'>): string {
  const named = kinds.flatMap(([kind, one, many]) => (found[kind] ? [things(found[kind], one, many)] : []));
  const rest = Object.entries(found).reduce((n, [kind, m]) => (kinds.some(([k]) => k === kind) ? n : n + m), 0);
  const all = [
    ...named,
    ...(rest > 0
      ? [things(rest, named.length > 0 ? 'other record' : 'record', named.length > 0 ? 'other records' : 'records')]
      : []),
    ...(photos > 0 ? [things(photos, 'photo', 'photos')] : []),
  ];
  return all.length < 2 ? all.join('') : `${all.slice(0, -1).join(', ')} and ${all.at(-1)}`;
}

/** A stranger's name never goes on as the sentence around it. */
const quoted = (name: string): string => `“${name.replace(/[“”„]/g, '"')}”`;

export const text = {
  reading: 'Reading the copy …',
  would: {
    adopted: 'It becomes this phone’s studio.',
    merged: 'It is this studio’s own.',
    copied: 'It is of another studio; what it has is copied into this one.',
  },
  brings: (of: readonly string[], day: string, what: string): string =>
    `This copy${of.length > 0 ? ` of ${of.map(quoted).join(', ')}` : ''}, made on ${day}, brings ${what}.`,
  bring: 'Bring it in',
  leave: 'Leave it',
};

/** A day in this phone's time, for the name of a file. */
export function dayOf(ms: number): string {
  const d = new Date(ms);
  const two = (n: number) => String(n).padStart(2, '0');
  return `${d.getFullYear()}-${two(d.getMonth() + 1)}-${two(d.getDate())}`;
}

/** The name of the file: the day it was made. */
export const fileName = (ms: number): string => `evenpull-${dayOf(ms)}.evenpull`;
