import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { bytesInOp } from './field';
import { type Fields, faults, kinds, usable } from './records';
import { explore, ways } from './task/explore';

const id = 'a'.repeat(32);
const machine = { machine: id };
const advised = { why: 'likely', about: ['lint_discs', 'needle_worn'], model: 1 };

/** One record of each kind with every field in it. */
const whole: { readonly [kind: string]: Fields } = {
  studio: { name: 'Barn' },
  machine: {
    name: 'Long one',
    body: 'frame',
    topKnob: 'dial',
    topTightens: 'counter',
    modes: ['regulated', 'computer'],
    side: 'left',
    counterHours: 812,
    minutesPerBobbin: 25,
    bobbinOuterUm: 21_500,
    bobbinCoreUm: 7_000,
    bobbinWidthUm: 8_900,
    bobbinThreadMg: 1_900,
  },
  bobbinCase: { label: 'Blue dot', fits: [id], tightens: 'clockwise', setFor: id, penLine: true },
  thread: {
    number: '40/2',
    fibre: 'cotton',
    colour: '#A0b1C2',
    name: 'Rust',
    countSystem: 'Ne',
    countThousandths: 40_000,
    countPlies: 2,
    packingPercent: 65,
    coneM: 2_500,
    text: 'Sheds.\nNet it.',
  },
  quilt: {
    ...machine,
    name: 'Stars',
    work: 'edge-to-edge',
    closed: false,
    widthMm: 2_286,
    heightMm: 2_540,
    spacingUm: 25_400,
    stitchesTenthsPerInch: 110,
    thicknessUm: 3_000,
    wastePercent: 15,
    lockPercent: 50,
  },
  bench: {
    quilt: id,
    topThread: id,
    bobbinThread: id,
    bobbinKind: 'pre-wound',
    bobbinCase: id,
    needle: '100',
    needleSince: 1_775_000_000_000,
    startedFrom: id,
    batting: 'Wool',
    backing: 'Plain',
    previous: { quilt: id, batting: '', backing: 'Sheet' },
  },
  note: { text: 'One\ntwo\tthree', ...machine, bobbinCase: id, thread: id, quilt: id, recipe: id },
  photo: {
    parentKind: 'note',
    parent: id,
    sha256: 'b'.repeat(64),
    bytes: 1_500_000,
    width: 1600,
    height: 1,
    caption: '',
  },
  recipe: {
    ...machine,
    name: 'Wool, 40 over 60',
    bobbinCase: id,
    topThread: id,
    bobbinThread: id,
    bobbinKind: 'plastic',
    fill: 'half',
    dropTenthsIn: 52,
    topMinutesFromFlush: -90,
    bobbinMinutesHint: 5,
    needle: '100',
    batting: 'Wool',
    backing: 'Plain',
    stitchesPerInch: 11,
    work: 'show',
    text: 'Slow corners.',
  },
  recipeUse: { recipe: id, worked: false, ...machine },
  balancing: { ...machine, quilt: id, ended: 'good-enough', work: 'custom', kept: id, cured: 'lint_discs' },
  change: {
    ...machine,
    screw: `top:${id}`,
    type: 'move',
    minutes: -30,
    after: [id],
    balancing: id,
    round: 2,
    ...advised,
    why: 'put back',
  },
  reading: {
    ...machine,
    type: 'drop',
    bobbinCase: id,
    thread: id,
    bobbinKind: 'other',
    fill: 'full',
    drops: [{ answer: 'right', tenthsIn: 45 }, { answer: 'far', out: true }, { hidden: true }],
    balancing: id,
    round: 1,
  },
  finding: { ...machine, finding: 'card_spring', state: 'lint', balancing: id, round: 1, source: id, ...advised },
  sample: {
    ...machine,
    mode: 'manual',
    rays: [
      { direction: 45, score: -2, marks: ['lifts'] },
      { direction: 'circle-left', score: 0 },
    ],
    allAlike: false,
    onOffcut: true,
  },
  event: {
    ...machine,
    ...advised,
    type: 'lifted',
    of: id,
    reason: 'Turned by hand, free.',
    bobbinCase: id,
    quilt: id,
    thread: id,
  },
  class: { name: 'Saturday' },
  station: { class: id, number: 7, name: 'Rosa', text: 'Net was tight.' },
  visit: { class: id, station: id, state: 'step', step: 'card' },
  careDone: { ...machine, bobbinCase: id, item: 'card', who: 'operator', text: 'A groove, not deep.' },
  carePlan: { hook: { every: 2 }, oil: { off: true }, 'day-end': {} },
  symptom: { ...machine, answers: { where: ['curves'] }, named: 8, result: 'seen' },
};

describe('a record that may be written', () => {
  test('there is one here of every kind', () => expect(Object.keys(whole)).toEqual(Object.keys(kinds)));
  test.each(Object.entries(whole))('%s', (kind, set) => {
    const all = { ...set, zone: 120, removed: { seen: ['a:1'] } };
    expect(faults(kind, all, true)).toEqual([]);
    expect(usable(kind, all)).toMatchObject({ unusable: [], whole: true });
  });

  test('everything that the tasks write, from every way in', () => {
    let seen = 0;
    for (const way of ways)
      for (const { here } of explore(way).values())
        for (const d of here.drafts) {
          seen++;
          expect(faults(d.kind, d.set as Fields, 'zone' in d.set), JSON.stringify(d)).toEqual([]);
        }
    expect(seen).toBeGreaterThan(1_000);
  }, 60_000);
});

describe('a record that may not', () => {
  test.each<[string, string, Fields, string]>([
    ['a name that is a number', 'machine', { name: 7 }, 'name not-text'],
    ['a name too long', 'machine', { name: 'x'.repeat(81) }, 'name too-long'],
    ['a name of two lines', 'machine', { name: 'a\nb' }, 'name control-character'],
    ['a name with a bell in it', 'machine', { name: 'a\u0007' }, 'name control-character'],
    ['no name', 'machine', { name: '' }, 'name missing'],
    ['a body nobody has', 'machine', { name: 'm', body: 'boat' }, 'body not-a-choice'],
    ['a colour in words', 'thread', { colour: 'red' }, 'colour not-a-colour'],
    ['an id that is a path', 'bobbinCase', { label: 'x', setFor: '../../etc' }, 'setFor not-an-id'],
    ['half a minute', 'change', { ...whole.change, minutes: 2.5 }, 'minutes not-whole'],
    ['minutes as text', 'change', { ...whole.change, minutes: '5' }, 'minutes not-a-number'],
    ['a hundred and one turns', 'change', { ...whole.change, minutes: 6_060 }, 'minutes too-big'],
    ['a move with a dial number too', 'change', { ...whole.change, dialTenths: 35 }, 'dialTenths not-both'],
    ['a move of nothing', 'change', { ...whole.change, minutes: null }, 'minutes missing'],
    ['a strike of nothing', 'change', { screw: `top:${id}`, type: 'strike', after: [] }, 'strikes missing'],
    ['a screw of nothing', 'change', { ...whole.change, screw: 'top:' }, 'screw not-a-choice'],
    ['after that is no list', 'change', { ...whole.change, after: id }, 'after not-a-list'],
    ['after without end', 'change', { ...whole.change, after: Array(1_001).fill(id) }, 'after too-many'],
    ['a reading without what was read', 'reading', { ...machine, type: 'pen' }, 'clockMinute missing'],
    ['minute 60 of the clock', 'reading', { ...machine, type: 'pen', clockMinute: 60 }, 'clockMinute too-big'],
    ['a drop of 41 in', 'reading', { ...machine, type: 'drop', drops: [{ tenthsIn: 410 }] }, 'drops too-big'],
    ['a drop that is a word', 'reading', { ...machine, type: 'drop', drops: ['right'] }, 'drops not-an-object'],
    ['a finding nobody knows', 'finding', { ...machine, finding: 'luck', state: 'bad' }, 'finding not-a-choice'],
    ['a state of another finding', 'finding', { ...machine, finding: 'noise', state: 'lint' }, 'state not-a-choice'],
    [
      'a ray to 50 degrees',
      'sample',
      { ...machine, allAlike: false, rays: [{ direction: 50, score: 0 }] },
      'rays not-a-choice',
    ],
    ['a ray to nowhere', 'sample', { ...machine, allAlike: false, rays: [{ score: 0 }] }, 'rays missing'],
    ['a score of 3', 'sample', { ...machine, allAlike: false, rays: [{ direction: 0, score: 3 }] }, 'rays too-big'],
    ['lifted without a reason', 'event', { ...machine, type: 'lifted', of: id, reason: '  ' }, 'reason missing'],
    ['bobbins wound, but not how many', 'event', { ...machine, type: 'wound' }, 'count missing'],
    ['a counter that says nothing', 'event', { ...machine, type: 'counter' }, 'hoursTenths missing'],
    ['care of nothing', 'careDone', { ...machine }, 'item missing'],
    ['every half bobbin', 'carePlan', { hook: { every: 0.5 } }, 'hook not-whole'],
    ['a count of nothing', 'thread', { countThousandths: 0 }, 'countThousandths too-small'],
    ['a count that nobody counts in', 'thread', { countSystem: 'stone' }, 'countSystem not-a-choice'],
    ['a quilt of no width', 'quilt', { widthMm: 0 }, 'widthMm too-small'],
    ['symptom 32', 'symptom', { ...machine, named: 32 }, 'named too-big'],
    ['a photo of 2 MB', 'photo', { ...whole.photo, bytes: 2_000_000 }, 'bytes too-big'],
    ['yes as a text', 'quilt', { closed: 'yes' }, 'closed not-yes-or-no'],
    ['both sorts of top', 'recipe', { topMinutesFromFlush: 0, topDialTenths: 0 }, 'topDialTenths not-both'],
    ['a kind of a later version', 'horoscope', {}, ' unknown-kind'],
    ['a kind every object has', 'constructor', {}, ' unknown-kind'],
    ['a note of 20,001 units', 'note', { text: 'x'.repeat(20_001) }, 'text too-long'],
  ])('%s', (_name, kind, set, want) => {
    expect(
      faults(kind, set, true)
        .map((f) => `${f.field} ${f.fault}`)
        .join(),
    ).toBe(want);
  });

  test('a note counts its escapes', () => {
    const text = '\\'.repeat(19_000) + '漢'.repeat(1_000);
    expect(bytesInOp(text)).toBe(new TextEncoder().encode(JSON.stringify(text)).length);
    expect(faults('note', { text }, true)).toEqual([]);
    expect(faults('note', { text: '漢'.repeat(17_000) }, true)).toEqual([{ field: 'text', fault: 'too-long' }]);
  });

  test('bytes in an op are those of JSON', () => {
    const char = fc
      .oneof(fc.nat(0x7f), fc.nat(0xffff), fc.nat(0x10ffff))
      .map((n) => String.fromCodePoint(n >= 0xd800 && n < 0xe000 ? 0x20 : n)); // half a pair is mended before it is stored
    fc.assert(
      fc.property(fc.string({ unit: char }), (text) => {
        expect(bytesInOp(text)).toBe(new TextEncoder().encode(JSON.stringify(text)).length);
      }),
    );
  });

  test('that two changes are two is a record that names none', () => {
    expect(faults('change', { screw: `top:${id}`, type: 'same', after: [id] }, true)).toEqual([]);
  });

  test('a field of an older record may be changed alone', () => {
    expect(faults('machine', { body: 'sit-down' }, false)).toEqual([]);
    expect(faults('machine', { name: '' }, false)).toEqual([]);
    expect(faults('recipe', { topDialTenths: 35, later: 'unknown field' }, false)).toEqual([]);
  });
});

describe('what strangers wrote', () => {
  test('what can be used is; what can not is kept to be shown', () => {
    expect(usable('machine', { name: 'Long one', body: 7, topKnob: '', rivets: 3 })).toEqual({
      fields: { name: 'Long one' },
      unusable: [{ field: 'body', value: 7, fault: 'not-a-choice' }],
      whole: true,
    });
    expect(usable('change', { ...whole.change, minutes: 'five' })).toMatchObject({
      whole: false,
      unusable: [
        { field: 'minutes', value: 'five' },
        { field: 'minutes', fault: 'missing' },
      ],
    });
    expect(usable('horoscope', { stars: 5 })).toEqual({ fields: {}, unusable: [], whole: false });
  });

  test('a name that can not be used leaves the rest of a machine standing', () => {
    expect(usable('machine', { name: 7, body: 'frame' })).toMatchObject({ fields: { body: 'frame' }, whole: true });
    expect(usable('sample', { ...machine, allAlike: true })).toMatchObject({ whole: false });
  });

  test('no value makes it throw, and nothing comes out that it would not let in', () => {
    const kind = fc.constantFrom(...Object.keys(kinds), '__proto__', 'toString', '');
    const fieldsOf = (k: string) =>
      fc.constantFrom(...Object.keys(Object.hasOwn(kinds, k) ? (kinds[k]?.fields ?? {}) : {}), '__proto__', 'x');
    const set = kind.chain((k) =>
      fc.tuple(fc.constant(k), fc.dictionary(fieldsOf(k), fc.jsonValue() as fc.Arbitrary<Fields[string]>)),
    );
    fc.assert(
      fc.property(set, ([k, values]) => {
        const got = usable(k, values);
        if (Object.hasOwn(kinds, k)) expect(faults(k, got.fields, false)).toEqual([]);
        faults(k, values, true);
      }),
      { numRuns: 1_000 },
    );
  }, 60_000);
});
