import { expect, test } from 'vitest';
import { gates } from '../domain/task/gates';
import { filled, machine } from '../domain/task/world';
import { adviceSays, adviceWhy, dropSays } from './advice';

const whys = [
  ...['disagree', 'two-cases', 'two-jams', 'knob-dead', 'just-changed', 'drop-out', 'both-out', 'loosen-winner'],
  ...['tighten-loser', 'top-at-end', 'feel-disagrees', 'nothing-found', 'lost-count', 'two-phones', 'tolerance'],
  ...['all-directions', 'since-good', 'top-on-back', 'bobbin-on-top', 'before-knobs', 'bobbin-first', 'balanced'],
  ...['no-effect', 'wrong-way', 'no-step', 'drop-disagrees', 'dense', 'technician', 'used-up'],
];

test('every reason has a sentence of its own', () => {
  const said = whys.map((why) => adviceWhy({ do: 'good', why }));
  expect(new Set(said).size).toBe(whys.length);
  expect(said).not.toContain(adviceWhy({ do: 'good', why: 'never heard of' }));
});

test('what was seen has a reason of its own, for every gate', () => {
  const said = [...new Set(gates.map(([finding]) => finding))].map((why) => adviceWhy({ do: 'see', why }));
  expect(new Set(said).size).toBe(said.length);
  expect(said).not.toContain(adviceWhy({ do: 'good', why: 'never heard of' }));
});

test('what is suspected is named in a quilter’s words', () => {
  const look = { do: 'feel', why: 'tells', about: ['lint_discs', 'needle_worn'] } as const;
  expect(adviceWhy(look)).toBe('Tells lint or wax between the discs from a worn or bent needle.');
  expect(adviceWhy({ ...look, about: ['hook_dry'] })).toBe('Shows whether it is a dry hook.');
  expect(adviceWhy({ ...look, why: 'likely' })).toBe('Most likely: lint or wax between the discs.');
  expect(adviceWhy({ ...look, about: ['toString'] })).toBe('Shows whether it is something else.');
});

test('a knob is turned on the clock, a number is read off', () => {
  const turn = { do: 'turn', screw: `top:${machine}`, minutes: -30, why: 'bobbin-on-top' } as const;
  const screen = { ...filled, machines: filled.machines.map((m) => ({ ...m, topKnob: 'screen' as const })) };
  expect(adviceSays(turn, filled)).toBe('Top tension knob: loosen 30 on the clock (half a turn).');
  expect(adviceSays(turn, screen)).toBe('Top tension: a little looser, and write the number down.');
});

test('a turn says how sure it is to be enough', () => {
  const turn = { do: 'turn', screw: `top:${machine}`, minutes: -30, why: 'bobbin-on-top' } as const;
  const said = (['likely', 'near', 'guess'] as const).map((sure) => adviceWhy({ ...turn, sure }));
  expect(new Set([...said, adviceWhy(turn)]).size).toBe(4);
  for (const s of said) expect(s.startsWith(adviceWhy(turn))).toBe(true);
});

test('a drop out of band says when it was in band, and how far it fell then', () => {
  const verdict = { state: 'barely', act: 'checks', minutes: -5, why: 'nobody-turned' } as const;
  const says = (hours: number, tenthsIn?: number, units?: 'mm') =>
    dropSays({ ...verdict, before: { at: filled.now - hours * 3_600_000, tenthsIn } }, { ...filled, units });
  expect(says(5, 50)).toBe('5 h ago it dropped 5 in, nobody turned it: card first.');
  expect(says(5, 51, 'mm')).toBe('5 h ago it dropped 130 mm, nobody turned it: card first.');
  expect(says(0)).toBe('Just now it was in band, nobody turned it: card first.');
  for (const hours of [0.5, 30, 100, 1000]) expect(says(hours, 45).split(/\s+/).length).toBeLessThanOrEqual(12);
  expect(dropSays(verdict, filled)).toBe('It was in band, and nobody turned it: card first.');
  expect(dropSays({ ...verdict, why: 'out', before: { at: 1 } }, filled)).toBe(
    'Too tight: a small move of the bobbin case screw.',
  );
  expect(dropSays({ ...verdict, state: 'falls', why: 'out' }, filled)).toMatch(/^Too loose: /);
});
