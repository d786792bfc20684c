import { beforeEach, expect, test } from 'vitest';
import { copyInto } from './copy';
import { type MemoryPhone, newMemoryPhone, sorted, write } from './memory';
import { fieldOf, liveDots } from './merge';
import type { Json } from './ops';
import { keyOf } from './phone';

const id = (n: number) => n.toString(16).padStart(32, '0');
const note = { kind: 'note', id: id(7) };
let source: MemoryPhone;
let target: MemoryPhone;

beforeEach(() => {
  source = newMemoryPhone(id(1), id(2));
  target = newMemoryPhone(id(3), id(4));
});

/** Copies all records of the source; returns how many ops that took. */
function copy(): number {
  const drafts = copyInto({ studio: source.meta.studio, records: sorted(source) }, (kind, i) =>
    target.rows.get(keyOf(kind, i)),
  );
  for (const draft of drafts) write(target, draft, 50_000);
  return drafts.length;
}

const values = (phone: MemoryPhone, field: string): (Json | undefined)[] => {
  const row = phone.rows.get(keyOf('note', id(7)));
  return row ? fieldOf(row, field).live.map((e) => e.value) : [];
};

test('a record comes under its own id, with its own times, and says where it is from', () => {
  write(source, { ...note, set: { text: 'loose at the edge', zone: 60 } }, 1000);
  expect(copy()).toBe(1);
  const row = target.rows.get(keyOf('note', id(7)));
  const dot = `${id(4)}:1`;
  expect(row?.fields.text?.live).toEqual([{ dot, at: [1000, 0], by: '', value: 'loose at the edge' }]);
  expect(row?.fields.source?.live[0]?.value).toEqual({ studio: id(1), record: id(7), dot: `${id(2)}:1` });
  expect(target.meta.clock).toEqual([0, 0]); // an old time moves no clock
});

test('a second copy adds nothing', () => {
  write(source, { ...note, set: { text: 'a', zone: 60 } }, 1000);
  write(source, { ...note, set: { text: 'b' } }, 2000);
  expect(copy()).toBe(2);
  expect(copy()).toBe(0);
  write(target, { ...note, set: { text: 'ours' } }, 60_000);
  expect(copy()).toBe(0);
  expect(values(target, 'text')).toEqual(['ours']);
});

test('what changed at the source replaces the earlier copy, and only that', () => {
  write(source, { ...note, set: { text: 'a', quilt: id(9) } }, 1000);
  copy();
  write(source, { ...note, set: { text: 'b' } }, 2000);
  expect(copy()).toBe(1);
  expect(values(target, 'text')).toEqual(['b']);
  expect(values(target, 'quilt')).toEqual([id(9)]);
  expect(copy()).toBe(0);
});

test('what was edited here stays so when another field changed at the source', () => {
  write(source, { ...note, set: { text: 'a', why: 'w' } }, 1000);
  copy();
  write(target, { ...note, set: { why: 'ours' } }, 1500);
  write(source, { ...note, set: { text: 'b' } }, 2000);
  copy();
  expect(copy()).toBe(0);
  expect(values(target, 'why')).toEqual(['ours']);
});

test('what changed at the source comes beside what was edited here', () => {
  write(source, { ...note, set: { text: 'a' } }, 1000);
  copy();
  write(target, { ...note, set: { text: 'ours' } }, 1500);
  write(source, { ...note, set: { text: 'b' } }, 2000);
  expect(copy()).toBe(1);
  expect(values(target, 'text')).toEqual(['b', 'ours']);
});

test('two values at the source are two values here', () => {
  write(source, { ...note, set: { text: 'a' } }, 1000);
  write(source, { ...note, set: { text: 'b' }, over: { text: [] } }, 2000);
  copy();
  expect(values(target, 'text')).toEqual(['b', 'a']);
  expect(copy()).toBe(0);
});

test('a record that was here before is not replaced', () => {
  write(target, { ...note, set: { text: 'ours', machine: id(5) } }, 500);
  write(source, { ...note, set: { text: 'theirs', zone: 60, machine: id(5) } }, 1000);
  copy();
  expect(values(target, 'text')).toEqual(['theirs', 'ours']);
  expect(values(target, 'zone')).toEqual([60]);
  expect(values(target, 'machine')).toEqual([id(5)]);
});

test('hidden records, removals, purges, people and the studio itself stay behind', () => {
  for (const kind of ['purge', 'person', 'role', 'studio'])
    write(source, { kind, id: id(8), set: { name: 'x' } }, 1000);
  write(source, { ...note, set: { text: 'a' } }, 1000);
  const row = source.rows.get(keyOf('note', id(7)));
  write(source, { ...note, set: { removed: { seen: row ? liveDots(row) : [] } } }, 2000);
  expect(copy()).toBe(0);
  write(source, { ...note, set: { text: 'again' } }, 3000);
  expect(copy()).toBe(1);
  expect(values(target, 'text')).toEqual(['again']);
  expect(values(target, 'removed')).toEqual([]);
});
