import { expect, test } from 'vitest';
import { asText } from '../ui/as-text';
import { TileRow } from '../ui/tiles';
import { threadOption } from './thread-form';

test('two threads of one number are told apart by name and colour', () => {
  const both = [
    { id: 'a', number: '60', fibre: 'polyester', name: 'Rust', colour: '#b5521b' },
    { id: 'b', number: '60', fibre: 'polyester', name: '', colour: '#e8dcc0' },
    { id: 'c', number: '', fibre: '' },
  ].map(threadOption);
  const row = asText(
    TileRow({ name: 'top', legend: 'Top', size: 'chip', options: both, chosen: [], onChoose: () => {} }),
  );
  expect(both.map((o) => o.label)).toEqual(['60 polyester', '60 polyester', 'no number']);
  expect(row).toContain('<small>Rust</small>');
  expect(row.match(/fill="#\w+"/g)).toEqual(['fill="#b5521b"', 'fill="#e8dcc0"']);
});
