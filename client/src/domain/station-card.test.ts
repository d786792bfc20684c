import fc from 'fast-check';
import { describe, expect, it, test } from 'vitest';
import { stationStates } from './class-board';
import { crc32 } from './crc32';
import { findingStates } from './knowledge/findings';
import { mostCodeBytes, readCode } from './paper-code';
import { shortCode } from './short-code';
import { readStation, type StationCard, stationCard, stationCode } from './station-card';
import type { Ctx } from './task/context';
import { bare, bobbinCase, filled, hex, machine } from './task/world';

const bytes = (text: string) => new TextEncoder().encode(text);
const minute = 60_000;
const kept = (n: number, minutes: number) => ({ id: hex(n), at: filled.now + minutes * minute, by: 'w' });
const event = (n: number, minutes: number, more: object) => ({ ...kept(n, minutes), type: 'good', ...more });
const look = (n: number, minutes: number, finding: string, state: string) => ({ ...kept(n, minutes), finding, state });
const codeOf = (card: StationCard) => stationCode(card) ?? '';

const screw = `top:${machine}`;
const worked: Ctx = {
  ...filled,
  now: filled.now + 60 * minute,
  bench: { ...filled.bench, needle: '100 sharp' },
  changes: [
    { ...kept(1, 1), screw, type: 'neutral', after: [] },
    { ...kept(2, 30), screw, type: 'move', minutes: -30, after: [hex(1)] },
  ],
  readings: [
    {
      ...kept(3, 20),
      type: 'drop',
      bobbinCase,
      fill: 'half',
      drops: [{ tenthsIn: 70, out: true }, { tenthsIn: 45 }, { tenthsIn: 50, answer: 'right' }, { answer: 'creeps' }],
    },
  ],
  findings: [
    look(4, 25, 'bobbin_on_top', 'dots'),
    look(5, 26, 'push_up', 'drum'),
    look(6, 27, 'speed_dep', 'no'),
    look(7, 40, 'bobbin_on_top', 'pulled_up'),
  ],
  events: [event(8, 10, { type: 'good' })],
};
const card = stationCard(worked, 7);

describe('a station’s card', () => {
  it('says what a teacher asks first, and nobody’s name', () => {
    expect(card).toEqual({
      ...{ station: 7, at: worked.now, state: 'waiting', needle: '100 sharp', top: { minutes: -30 } },
      machine: { name: 'Long one', code: shortCode(machine) },
      bobbinCase: { name: 'Blue dot', code: shortCode(bobbinCase) },
      reading: {
        ...{ at: filled.now + 20 * minute, type: 'drop', fill: 'half' },
        drops: [{ tenthsIn: 45 }, { tenthsIn: 50 }, { answer: 'creeps' }],
      },
      seen: [
        { finding: 'bobbin_on_top', state: 'pulled_up' },
        { finding: 'push_up', state: 'drum' },
      ],
    });
    expect(readStation(codeOf(card))).toEqual({ card });
    expect(bytes(codeOf(card)).length).toBeLessThanOrEqual(287); // version 12 at level M in bytes: ISO/IEC 18004, table 7
  });

  it('of a machine of which nothing is known yet says that', () => {
    const none = stationCard({ ...bare, machines: [] });
    expect(none).toEqual({ at: bare.now, state: 'waiting', top: 'lost', seen: [] });
    expect(readStation(codeOf(none))).toEqual({ card: none });
  });

  const mark = event(20, 50, { type: 'do-not-run', reason: 'It knocks' });
  const knock = event(21, 45, { type: 'knock' });
  const after = knock.at + 10 * minute;
  const fell = event(21, 50, { type: 'dropped' });
  const checked = (of: number) => event(25, 48, { type: 'step', step: 'checked', of: hex(of) });
  const lifted = (minutes: number) => event(26, minutes, { type: 'lifted', of: hex(20) });
  test.each<[string, Partial<Ctx>, StationCard['state']]>([
    ['good, and nothing since', { findings: [], changes: [] }, 'good'],
    ['a look as it should be', { findings: [look(9, 45, 'push_up', 'soft')], changes: [] }, 'good'],
    ['an odd look', { changes: [] }, 'waiting'],
    ['a screw turned', { findings: [] }, 'waiting'],
    ...(['struck', 'jam', 'knock', 'heat', 'runs-by-itself'] as const).map((type): [string, Partial<Ctx>, 'stop'] => [
      `after ${type}`,
      { findings: [], changes: [], events: [...worked.events, event(21, 50, { type })] },
      'stop',
    ]),
    ['a bobbin case that fell', { findings: [], changes: [], events: [...worked.events, fell] }, 'waiting'],
    ['a knock, good after it', { findings: [], changes: [], events: [knock, event(24, 55, {})] }, 'good'],
    ['a knock, and its checks well ended', { events: [...worked.events, knock, checked(21)] }, 'waiting'],
    ['a knock, and the checks of another', { events: [...worked.events, knock, checked(20)] }, 'stop'],
    ['a knock, marked and lifted', { events: [...worked.events, knock, mark, lifted(52)] }, 'waiting'],
    ['lifted, and a knock after it', { events: [...worked.events, mark, lifted(52), { ...knock, at: after }] }, 'stop'],
    ['never said to be good', { findings: [], changes: [], events: [] }, 'waiting'],
    ['a mark', { events: [...worked.events, mark] }, 'stop'],
    ['a mark, and good after it', { findings: [], changes: [], events: [mark, event(22, 55, {})] }, 'stop'],
    [
      'a mark that was lifted, and good after it',
      { findings: [], changes: [], events: [mark, event(23, 52, { type: 'lifted', of: hex(20) }), event(24, 55, {})] },
      'good',
    ],
  ])('%s', (_, more, state) => expect(stationCard({ ...worked, ...more }).state).toBe(state));

  it('reads a number off a dial, and says where no count is left', () => {
    const machines = [{ ...kept(0, 0), id: machine, name: 'Long one', topKnob: 'dial' as const }];
    const changes = [{ ...kept(1, 1), screw, type: 'dial' as const, dialTenths: 45, after: [] }];
    expect(stationCard({ ...filled, machines, changes }).top).toEqual({ dialTenths: 45 });
    expect(stationCard({ ...filled, machines }).top).toBe('lost');
    const lost = [...worked.changes, { ...kept(30, 50), screw, type: 'lost' as const, after: [hex(2)] }];
    expect(stationCard({ ...worked, changes: lost }).top).toBe('lost');
  });

  const name = fc
    .string({ unit: fc.constantFrom('a', 'ü', '織', '"', '\\', ' '), minLength: 1, maxLength: 80 })
    .filter((s) => s.trim() !== '');
  const named = fc.record({ name, code: fc.nat().map((n) => shortCode(hex(n))) });
  const at = fc.nat(40_000_000).map((n) => n * minute);
  const drop = fc.oneof(
    fc.record({ tenthsIn: fc.nat(400) }),
    fc.record({ answer: fc.constantFrom('falls' as const, 'creeps' as const, 'right' as const) }),
  );
  const cards: fc.Arbitrary<StationCard> = fc.record(
    {
      station: fc.integer({ min: 1, max: 60 }),
      at,
      state: fc.constantFrom(...stationStates),
      machine: named,
      bobbinCase: named,
      needle: fc.constantFrom('100 sharp', '16/100', '"4.0"'),
      reading: fc.oneof(
        fc.record(
          {
            at,
            type: fc.constant('drop' as const),
            drops: fc.array(drop, { minLength: 1, maxLength: 6 }),
            fill: fc.constantFrom('full' as const, 'half' as const),
          },
          { requiredKeys: ['at', 'type', 'drops'] },
        ),
        fc.record({ at, type: fc.constant('finger' as const), answer: fc.constantFrom('tips', 'lifts', 'flat') }),
      ),
      top: fc.oneof(
        fc.constant('lost' as const),
        fc.record({ minutes: fc.integer({ min: -6000, max: 6000 }) }),
        fc.record({ dialTenths: fc.integer({ min: -9999, max: 9999 }) }),
      ),
      seen: fc.array(
        fc
          .constantFrom(...(Object.entries(findingStates) as [string, readonly string[]][]))
          .map(([finding, states]) => ({ finding, state: states.at(-1) ?? '' })),
        { maxLength: 6 },
      ),
    },
    { requiredKeys: ['at', 'state', 'seen'] },
  );

  it('comes back from its code, whatever stands in it; what was seen first goes where there is no room', () => {
    fc.assert(
      fc.property(cards, (any) => {
        const code = stationCode(any);
        if (code === undefined)
          return expect((any.machine?.name.length ?? 0) + (any.bobbinCase?.name.length ?? 0)).toBeGreaterThan(80);
        expect(bytes(code).length).toBeLessThanOrEqual(mostCodeBytes);
        const read = readStation(code);
        if (!('card' in read)) throw new Error(read.fault);
        expect(read.card).toEqual({ ...any, seen: any.seen.slice(0, read.card.seen.length) });
        if (bytes(code).length < 550) expect(read.card.seen).toEqual(any.seen); // a finding takes no more than 50
      }),
    );
  });
});

describe('what is not taken', () => {
  const code = codeOf(card);
  const body = JSON.parse(code.slice('EVENPULL STATION 1 12345678 '.length)) as object;
  const formed = (text: string, version = '1') => `EVENPULL STATION ${version} ${crc32(bytes(text))} ${text}`;

  it('is a code with any one byte changed, or cut short anywhere', () => {
    const all = bytes(code);
    for (let i = 0; i < all.length; i++) {
      const changed = new TextDecoder().decode(all.map((b, k) => (k === i ? b ^ 1 : b)));
      expect(readStation(changed), `byte ${i}`).toHaveProperty('fault');
    }
    for (let i = 0; i < code.length; i++) expect(readStation(code.slice(0, i))).toHaveProperty('fault');
  });

  it.each([
    ['', 'not-ours'],
    ['EVENPULL CASE 7KMXW2', 'not-ours'],
    ['EVENPULL STATION ', 'not-ours'], // trimmed, as any text is
    ['EVENPULL STATION 1', 'damaged'],
    [formed('{}', '2'), 'newer'],
    [formed('[]'), 'damaged'],
    [formed('['.repeat(2_900)), 'damaged'],
    [formed('{}'), 'unusable'],
  ])('%.40s: %s', (text, fault) => expect(readStation(text)).toEqual({ fault }));

  it('is a text that is far too long', () => {
    expect(readStation(`EVENPULL STATION 1 ${'x'.repeat(4_000)}`)).toEqual({ fault: 'too-long' });
    expect(readStation('x'.repeat(100_000))).toEqual({ fault: 'not-ours' });
  });

  it.each<object>([
    { s: 0 },
    { s: 61 },
    { s: '7' },
    { s: null },
    { u: -1 },
    { u: 1.5 },
    { u: 1e15 },
    { u: null },
    { w: 'fine' },
    { w: '' },
    { w: null },
    { w: ['good'] },
    { m: 'Long one' },
    { m: ['x'.repeat(81), '7KMXW2'] },
    { m: ['two\nlines', '7KMXW2'] },
    { m: ['Long one', '7KMXW'] },
    { c: ['', '7KMXW2'] },
    { e: 100 },
    { e: 'x'.repeat(41) },
    { d: [] },
    { d: [1, 'drop'] },
    { d: [-1, 'drop', [45]] },
    { d: [1, 'pull', 'stiff'] },
    { d: [1, 'drop', 'right'] },
    { d: [1, 'drop', []] },
    { d: [1, 'drop', [1e9]] },
    { d: [1, 'drop', ['up']] },
    { d: [1, 'drop', [null]] },
    { d: [1, 'drop', [1, 2, 3, 4, 5, 6, 7]] },
    { d: [1, 'drop', [45], 'empty'] },
    { d: [1, 'drop', [45], null] },
    { d: [1, 'finger', 'ring'] },
    { d: [1, 'finger', ''] },
    { o: 6_001 },
    { o: 0.5 },
    { o: 'tight' },
    { o: 5, g: 45 },
    { o: 'lost', g: 45 },
    { o: null, g: '45' },
    { v: {} },
    { v: [['bobbin_on_top']] },
    { v: [['bobbin_on_top', 'loud']] },
    { v: [['__proto__', 'constructor']] },
    { v: [['toString', 'x']] },
    { v: [['bobbin_on_top', 'dots', 1]] },
    { v: Array(7).fill(['bobbin_on_top', 'dots']) },
  ])('is a card in which a value can’t be right: %j', (more) => {
    expect(readStation(formed(JSON.stringify({ ...body, ...more })))).toEqual({ fault: 'unusable' });
  });

  it('adds a field that this version does not know, and nothing else of it', () => {
    expect(readStation(formed(JSON.stringify({ ...body, z: 'a later field' })))).toEqual({ card });
  });

  it('is a recipe’s text, and a recipe’s reader takes no card', () => {
    expect(readCode(code)).toEqual({ fault: 'not-ours' });
    expect(readStation('EVENPULL RECIPE 1 00000000 {}')).toEqual({ fault: 'not-ours' });
  });
});
