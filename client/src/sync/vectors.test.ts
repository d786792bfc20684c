import { expect, test } from 'vitest';
import { casesIn } from './vectors';

const read = (text: string) => casesIn(text, ['name', 'more?'], 'x');

test('a good file is read', () => {
  expect(read('{"about":"x","cases":[{"name":"a"},{"name":"b","more":1}]}')).toHaveLength(2);
});

test.each([
  ['no cases', '{"about":"x","cases":[]}'],
  ['no list', '{"about":"x"}'],
  ['nothing said', '{"cases":[{"name":"a"}]}'],
  ['an unknown key in a case', '{"about":"x","cases":[{"name":"a","nmae":"b"}]}'],
  ['an unknown key in the file', '{"about":"x","cases":[{"name":"a"}],"more":1}'],
  ['a key that is missing', '{"about":"x","cases":[{"more":1}]}'],
])('%s is no file of vectors', (_, text) => {
  expect(() => read(text)).toThrow();
});
