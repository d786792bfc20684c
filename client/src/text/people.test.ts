import { describe, expect, test } from 'vitest';
import { text } from './people';

const studio = { id: 'a', name: 'Barn', records: 12, shared: true, waiting: 0, refused: 0 };

describe('before a studio is removed from the phone', () => {
  test('its row says what it holds and what no server has of it', () => {
    expect(text.studioHolds(studio)).toBe('12 records');
    expect(text.studioHolds({ ...studio, waiting: 3, refused: 1 })).toBe(
      '12 records, 3 things not sent yet, 1 thing refused',
    );
    expect(text.studioHolds({ ...studio, records: 1, shared: false, waiting: 1 })).toBe('1 record, never shared');
  });

  test('the question counts what is lost, what was refused with it, and says where nothing is', () => {
    expect(text.removeSure(studio)).toContain('Everything in it has reached its server');
    expect(text.removeSure({ ...studio, waiting: 3 })).toContain('Gone from everywhere then: 3 things not sent yet.');
    expect(text.removeSure({ ...studio, refused: 1 })).toContain('Gone from everywhere then: 1 thing refused.');
    expect(text.removeSure({ ...studio, shared: false, waiting: 12 })).toContain('It was never shared');
  });
});
