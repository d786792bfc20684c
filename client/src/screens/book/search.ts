/** What the Book is searched by: the words of every record that a person looks for, and the names of what it is about. Pure. */
import MiniSearch from 'minisearch';
import type { Ctx } from '../../domain/task';
import { find, list, plain, type Row, type Rows, shown } from '../../read';
import { screwName } from '../../text/amount';
import { text } from '../../text/book';
import { changeWords } from '../../text/changes';
import { changeWhy } from '../../text/reasons';

/** What a record may be about: the field that names it, and its kind. */
const about = {
  machine: 'machine',
  bobbinCase: 'bobbinCase',
  quilt: 'quilt',
  thread: 'thread',
  topThread: 'thread',
  bobbinThread: 'thread',
  recipe: 'recipe',
} as const;
/** Words that a recipe keeps of what it was sewn with. */
const materials = ['needle', 'batting', 'backing', 'work'] as const;

/** What a person calls a record; '' where it is not on this phone, or has no name. */
export function nameOf(rows: Rows, kind: string, id: unknown): string {
  const row = typeof id === 'string' ? find(rows, kind, id) : undefined;
  const said = (...fields: readonly string[]) =>
    fields
      .map((f) => shown(row, f))
      .filter((v) => typeof v === 'string' && v !== '')
      .join(' ');
  return kind === 'thread' ? said('number', 'fibre') || said('name') : said('label') || said('name');
}

/** The names of what a record is about, each once. */
export const aboutOf = (rows: Rows, row: Row): readonly string[] => [
  ...new Set(
    Object.entries(about)
      .map(([field, kind]) => nameOf(rows, kind, shown(row, field)))
      .filter((name) => name !== ''),
  ),
];

/** A recipe in a list: "40 polyester over 60 polyester", and the machine. */
export function mixOf(rows: Rows, recipe: Row): string {
  const threads = ['topThread', 'bobbinThread'].map((f) => nameOf(rows, 'thread', shown(recipe, f)));
  const pair = threads.every((t) => t !== '') ? text.over(threads[0] ?? '', threads[1] ?? '') : threads.join('');
  return [pair, nameOf(rows, 'machine', shown(recipe, 'machine'))].filter((t) => t !== '').join(', ');
}

/** Two threads of one number are told apart by their own names and colours. */
const ownName = (rows: Rows, thread: Row): string => {
  const name = String(shown(thread, 'name') ?? '');
  return name === nameOf(rows, 'thread', thread.id) ? '' : name;
};

export type Found = {
  readonly id: string;
  readonly title: string;
  readonly about: string;
  readonly href: string;
  readonly colour?: string;
};
type Doc = Found & { readonly text: string };

/** The first line of a text; a long one ends after a whole word. */
export function firstLine(t: string): string {
  const line = t.split('\n', 1)[0] ?? '';
  if (line.length <= lineUnits) return line;
  const cut = line.slice(0, lineUnits);
  return `${cut.slice(0, Math.max(cut.lastIndexOf(' '), lineUnits / 2))} …`;
}
const lineUnits = 80;

function docs(rows: Rows, ctx: Ctx): readonly Doc[] {
  const of = (kind: string, href: (id: string) => string, title: (row: Row) => string) =>
    list(rows, kind).map((row): Doc => {
      const p = plain(row);
      const names = kind === 'thread' ? ownName(rows, row) : aboutOf(rows, row).join(', ');
      const why = typeof p.why === 'string' ? changeWhy(p.why) : '';
      const words = [p.text, why, ...materials.map((f) => p[f])].filter((v) => typeof v === 'string').join(' ');
      const colour = kind === 'thread' && typeof p.colour === 'string' && p.colour !== '' ? { colour: p.colour } : {};
      return { id: `${kind}/${row.id}`, title: title(row), about: names, href: href(row.id), text: words, ...colour };
    });
  const named = (kind: string, href: (id: string) => string) => of(kind, href, (r) => nameOf(rows, kind, r.id));
  return [
    ...of(
      'note',
      (id) => `/book/note/${id}`,
      (r) => firstLine(String(shown(r, 'text') ?? '')),
    ),
    ...named('recipe', (id) => `/book/recipe/${id}`),
    ...named('thread', (id) => `/book/threads/${id}`),
    ...[...named('machine', bench), ...named('bobbinCase', bench), ...named('quilt', bench)].filter((d) => d.title),
    ...of(
      'change',
      () => '/changes',
      (r) => `${screwName(String(shown(r, 'screw')), ctx)}: ${changeWords(plain(r))}`,
    ),
  ];
}
const bench = () => '/bench';

/** Looks words up in all of it; the beginning of a word is enough, and every word must be there. */
export function searchIn(rows: Rows, ctx: Ctx): (query: string) => readonly Found[] {
  const index = new MiniSearch<Doc>({
    fields: ['title', 'text', 'about'],
    storeFields: ['title', 'about', 'href', 'colour'],
    searchOptions: { prefix: true, combineWith: 'AND' },
  });
  index.addAll(docs(rows, ctx));
  return (query) =>
    index
      .search(query, { boost: { title: 2 } })
      .map(({ id, title, about, href, colour }) => ({ id, title, about, href, ...(colour ? { colour } : {}) }));
}
