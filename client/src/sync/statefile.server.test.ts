/** A server's export is a phone's copy: server/store/release_test.go writes the file that is opened here. */
import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { decodeStudioFile, encodeStudioFile } from './statefile';

const text = readFileSync(new URL('../../../testdata/golden/server-export.evenpull', import.meta.url), 'utf8');

test('what a server exports opens on a phone, whole', () => {
  const file = decodeStudioFile(text);
  expect(file.records.length).toBeGreaterThan(5);
  expect(file.voids.length).toBeGreaterThan(0);
  expect(file.purged.length).toBe(1);
  expect(file.photos.map((p) => p.type)).toEqual(['image/jpeg']);
});

test('the same records are written by a phone, letter by letter', () => {
  const lines = text
    .split('\n')
    .slice(1, -2)
    .filter((line) => line.startsWith('{"kind"'));
  expect(lines.length).toBeGreaterThan(5);
  const again = [...encodeStudioFile(decodeStudioFile(text))];
  for (const line of lines) expect(again).toContain(`${line}\n`);
});

test('a letter that was changed on the way is noticed', () => {
  expect(() => decodeStudioFile(text.replace('words', 'swords'))).toThrow('damaged');
});
