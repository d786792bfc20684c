import { describe, expect, it } from 'vitest';
import { filled, machine } from '../domain/task/world';
import { farBack, memory } from './suspects';

const day = 24 * 3_600_000;
const kept = { by: '', machine };

describe('what this machine remembers', () => {
  const cured = (...causes: readonly string[]) => ({
    ...filled,
    balancings: causes.map((cause, i) => ({ ...kept, id: `b${i}`, at: filled.now - (i + 1) * day, cured: cause })),
  });
  it('says what cured it most often', () => {
    const lint = 'lint_bobbin_spring';
    expect(memory(cured(lint, lint, 'needle_worn', lint))).toMatch(
      /^On this machine it was lint.* 3 times in the past year\.$/,
    );
    expect(memory(cured(lint, 'needle_worn'))).toBeUndefined();
  });
});

describe('how far back it is bad', () => {
  const event = (type: string, ago: number) => ({ ...kept, id: `${type}${ago}`, at: filled.now - ago, type });
  it('leads to the last "Good now"', () => {
    const none = farBack(filled);
    const good = farBack({ ...filled, events: [event('good', day), event('new-bobbin', day / 2)] });
    expect(good.say).not.toBe(none.say);
    expect(`${good.say} ${good.more ?? ''}`).toMatch(/bobbin/);
  });
});
