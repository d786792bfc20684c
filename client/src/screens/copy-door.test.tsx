import { describe, expect, it } from 'vitest';
import type { State } from '../state';
import { asText } from '../ui/as-text';
import { CopySeen } from './copy-door';

const file = new File(['a'], 'a.evenpull');
const seen = { seen: { how: 'adopted', madeMs: 0, of: ['Long one'], kinds: { note: 3 }, photos: 0 } };
const shown = (said: State['said'], looked?: Blob) =>
  asText(CopySeen({ state: { said, looked } as State, send: () => {}, file, onLeave: () => {} }));

describe('what a copy would bring', () => {
  it('is said of its own file only, with whose it is, before it can be brought in', () => {
    expect(shown(seen, file)).toMatch(/This copy of “Long one”, made on .*, brings 3 notes\..*Bring it in.*Leave it/);
    expect(shown(seen, new File(['b'], 'b.evenpull'))).toBe('');
    expect(shown({ share: 0.5 })).toContain('Reading the copy …');
  });

  it('and what came of it are not mixed up with what others said', () => {
    expect(shown('3 records opened.', file)).toContain('3 records opened.');
    expect(shown('You joined the studio.')).toBe('');
  });
});
