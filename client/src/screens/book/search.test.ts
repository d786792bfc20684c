import { describe, expect, test } from 'vitest';
import { filled } from '../../domain/task/world';
import { type Row, type Rows, withRows } from '../../read';
import { aboutOf, firstLine, mixOf, nameOf, searchIn } from './search';

const id = (n: number) => n.toString(16).padStart(32, '0');
const row = (kind: string, n: number, set: { [field: string]: unknown }): Row => ({
  ...{ studio: 's', kind, id: id(n), parent: '', t: n },
  fields: Object.fromEntries(
    Object.entries(set).map(([field, value]) => [
      field,
      { live: [{ dot: `${id(99)}:${n}`, at: [n, 0] as const, by: '', value: value as never }], dead: [] },
    ]),
  ),
});
const [machine, bobbinCase, quilt, top, bobbin] = [1, 2, 3, 4, 5].map(id);
const rows: Rows = withRows(new Map(), [
  row('machine', 1, { name: 'Big frame' }),
  row('bobbinCase', 2, { label: 'Blue dot', fits: [machine] }),
  row('quilt', 3, { name: 'River stones', machine }),
  row('quilt', 30, { machine, name: '' }),
  row('thread', 4, { number: '40', fibre: 'polyester' }),
  row('thread', 5, { number: '', fibre: '', name: 'Grey cone' }),
  row('note', 6, { text: 'The left edge pulls.\nRehung it.', machine, bobbinCase, quilt, thread: top }),
  row('recipe', 7, {
    name: 'Night sky',
    machine,
    topThread: top,
    bobbinThread: bobbin,
    backing: 'Batik',
    needle: '4.0',
  }),
  row('change', 8, { screw: `bobbin:${bobbinCase}`, type: 'move', minutes: -5, why: 'drop-out' }),
  row('note', 9, { text: 'Gone', machine, removed: { seen: [`${id(99)}:9`] } }),
]);
const ctx = { ...filled, bobbinCases: [{ id: bobbinCase ?? '', at: 0, by: '', label: 'Blue dot' }] };
const found = (query: string) => searchIn(rows, ctx)(query).map((f) => f.id.split('/')[0]);

describe('the Book is searched', () => {
  test.each<[query: string, kinds: string[]]>([
    ['rehung', ['note']],
    ['left pul', ['note']],
    ['left rehang', []],
    ['night', ['recipe']],
    ['batik', ['recipe']],
    ['blue dot', ['bobbinCase', 'change', 'note']],
    ['polyester', ['note', 'recipe', 'thread']],
    ['grey', ['recipe', 'thread']],
    ['river', ['note', 'quilt']],
    ['loosen', ['change']],
    ['big frame', ['machine', 'note', 'quilt', 'recipe']],
    ['gone', []],
    ['<b>', []],
    ['', []],
  ])('%s', (query, kinds) => expect(found(query).sort()).toEqual(kinds));

  test('the name itself goes first, and each leads to where it stands', () => {
    const [first, ...others] = searchIn(rows, ctx)('river stones');
    expect(first).toEqual({ id: `quilt/${quilt}`, title: 'River stones', about: 'Big frame', href: '/bench' });
    expect(others.map((f) => [f.title, f.href])).toEqual([['The left edge pulls.', `/book/note/${id(6)}`]]);
    expect(searchIn(rows, ctx)('loosen')[0]).toMatchObject({
      title: 'Bobbin case screw, Blue dot: Loosen 5 on the clock (one hour mark)',
      href: '/changes',
    });
    expect(searchIn(rows, ctx)('grey').find((f) => f.id.startsWith('thread'))?.href).toBe(`/book/threads/${bobbin}`);
  });
});

test('what a record is about has the names that people gave it, each once', () => {
  const note = rows.get('note')?.get(id(6)) as Row;
  expect(aboutOf(rows, note)).toEqual(['Big frame', 'Blue dot', 'River stones', '40 polyester']);
  expect(aboutOf(rows, row('recipe', 70, { topThread: top, bobbinThread: top, machine: id(77) }))).toEqual([
    '40 polyester',
  ]);
  expect(nameOf(rows, 'thread', bobbin)).toBe('Grey cone');
  expect(nameOf(rows, 'machine', 7)).toBe('');
});

test('two threads of one number are told apart by name and colour', () => {
  const alike = withRows(rows, [
    row('thread', 50, { number: '60', fibre: 'polyester', name: 'Rust', colour: '#aa4411' }),
    row('thread', 51, { number: '60', fibre: 'polyester', colour: '#ffffff' }),
  ]);
  const got = searchIn(alike, ctx)('60 poly');
  expect(got.map((f) => [f.title, f.about, f.colour]).sort()).toEqual([
    ['60 polyester', '', '#ffffff'],
    ['60 polyester', 'Rust', '#aa4411'],
  ]);
  expect(searchIn(alike, ctx)('rust').map((f) => f.id)).toEqual([`thread/${id(50)}`]);
});

test('a recipe in a list says its threads and its machine', () => {
  const mix = (set: { [field: string]: unknown }) => mixOf(rows, row('recipe', 71, set));
  expect(mix({ machine, topThread: top, bobbinThread: bobbin })).toBe('40 polyester over Grey cone, Big frame');
  expect(mix({ machine, topThread: top })).toBe('40 polyester, Big frame');
  expect(mix({})).toBe('');
});

test('a long first line ends after a whole word', () => {
  expect(firstLine('Short\nand more')).toBe('Short');
  expect(firstLine(`${'seven '.repeat(13)}sevens`)).toBe(`${'seven '.repeat(13).trim()} …`);
  expect(firstLine('x'.repeat(200))).toBe(`${'x'.repeat(40)} …`);
});
