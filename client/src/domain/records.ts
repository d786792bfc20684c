/**
 * The kinds of record and what their fields may hold, checked when written and again when read: records come from other
 * phones, other versions and files. Kinds and fields that this version does not know are kept and left alone.
 * Limits without a source are our choice, wide enough for any honest use.
 */
import { mostStations, stationStates, stepsGiven } from './class-board';
import {
  choice,
  dictionary,
  either,
  type FieldFault,
  id,
  type Json,
  line,
  list,
  matching,
  prose,
  type Rule,
  shape,
  whole,
  yesNo,
} from './field';
import { careIds } from './knowledge/care-ids';
import { type FindingId, findingStates } from './knowledge/findings';
import { systems } from './thread';

/** UTF-16 units of a name, a label, a short word; and of a note (the format's own limits for a note: 20,000 and 48 KiB). */
export const limits = { name: 80, short: 40, reason: 1_000, note: 20_000, noteBytes: 48 * 1024 } as const;

const name = line(limits.name);
const short = line(limits.short);
const reason = line(limits.reason);
const note = prose(limits.note, limits.noteBytes);
const ms = whole(0, 8.64e15); // the last moment a date can name
const minutes = whole(-6_000, 6_000); // a hundred turns
const dial = whole(-9_999, 9_999);
const length = whole(0, 400); // tenths of an inch: no drop comes near 40 in
const force = whole(0, 100_000); // tenths of a gram-force
const round = whole(1, 10_000);
const ids = list(id, 1_000);
const bobbinUm = whole(1, 200_000);
const colour = matching(/^#[0-9a-f]{6}$/i, 'not-a-colour');
const screw = matching(/^(top|bobbin):[0-9a-f]{32}$/, 'not-a-choice');
const work = choice('show', 'custom', 'edge-to-edge', 'practice');
const way = choice('clockwise', 'counter');
const bobbinKind = choice('pre-wound', 'self-wound-steel', 'self-wound-aluminium', 'plastic', 'other');
const fill = choice('full', 'half', 'low');
const direction = choice(0, 45, 90, 135, 180, 225, 270, 315, 'circle-left', 'circle-right');
const place = { balancing: id, round };
/** Why it was advised: a reason, the causes it is about, and the version of the tables. */
const advised = { why: reason, about: list(short, 4), model: whole(1, 1_000_000) };
const sandwich = { quilt: id, batting: name, backing: name };

const drop = shape({
  answer: choice('falls', 'creeps', 'nothing', 'short', 'right', 'far'),
  tenthsIn: length,
  out: yesNo,
  hidden: yesNo,
});
const ray = shape({
  'direction!': direction,
  'score!': whole(-2, 2),
  marks: list(choice('both-faces', 'lifts', 'draws-in', 'cant-tell'), 4),
});

type Kind = {
  readonly fields: { readonly [field: string]: Rule };
  /** Fields without which a record of this kind says nothing. */
  readonly needs: readonly string[];
  /** Written once and never changed. Others may be half here, their fields written one by one. */
  readonly once?: true;
  /** What no single field shows. */
  readonly whole?: (set: Fields) => Fault | undefined;
};
export type Fields = { readonly [field: string]: Json };
export type Fault = { readonly field: string; readonly fault: FieldFault };

export const kinds: { readonly [kind: string]: Kind } = {
  studio: { fields: { name }, needs: [] },
  machine: {
    fields: {
      name,
      body: choice('frame', 'sit-down'),
      topKnob: choice('turns', 'dial', 'screen'),
      topTightens: way,
      modes: list(choice('hand-guided', 'regulated', 'manual', 'computer'), 4),
      side: short,
      counterHours: whole(0, 1_000_000),
      minutesPerBobbin: whole(1, 600),
      bobbinOuterUm: bobbinUm,
      bobbinCoreUm: bobbinUm,
      bobbinWidthUm: bobbinUm,
      bobbinThreadMg: whole(1, 1_000_000), // thread on one full bobbin, weighed
      windingPercent: whole(20, 90), // thread in the room of a bobbin; round threads side by side can't pass 90.69
    },
    needs: ['name'],
  },
  bobbinCase: { fields: { label: name, fits: ids, tightens: way, setFor: id, penLine: yesNo }, needs: ['label'] },
  thread: {
    fields: {
      number: short,
      fibre: short,
      colour,
      name,
      countSystem: choice(...systems),
      countThousandths: whole(1, 1_000_000_000),
      countPlies: whole(1, 24), // where the count is the single's
      packingPercent: whole(20, 95),
      coneM: whole(1, 1_000_000),
      text: note,
    },
    needs: [],
  },
  quilt: {
    fields: {
      machine: id,
      name,
      work,
      closed: yesNo,
      widthMm: whole(1, 50_000),
      heightMm: whole(1, 50_000),
      spacingUm: whole(1, 10_000_000), // between the lines of its pattern
      stitchesTenthsPerInch: whole(10, 400),
      thicknessUm: whole(1, 200_000), // of the sandwich, pressed
      wastePercent: whole(0, 300),
      lockPercent: whole(0, 100), // how deep the lock lies, from the top
    },
    needs: [],
  },
  bench: {
    fields: {
      ...sandwich,
      topThread: id,
      bobbinThread: id,
      bobbinKind,
      bobbinCase: id,
      needle: short,
      needleSince: ms,
      startedFrom: id,
      previous: shape(optional(sandwich)),
    },
    needs: [],
  },
  note: { fields: { text: note, machine: id, bobbinCase: id, thread: id, quilt: id, recipe: id }, needs: [] },
  photo: {
    fields: {
      parentKind: matching(/^[A-Za-z]{1,32}$/, 'not-a-choice'),
      parent: id,
      sha256: matching(/^[0-9a-f]{64}$/, 'not-an-id'),
      bytes: whole(1, 1_500_000),
      width: whole(1, 1_600),
      height: whole(1, 1_600),
      caption: reason,
    },
    once: true,
    needs: ['parentKind', 'parent', 'sha256', 'bytes', 'width', 'height'],
  },
  recipe: {
    fields: {
      name,
      machine: id,
      bobbinCase: id,
      topThread: id,
      bobbinThread: id,
      bobbinKind,
      fill,
      dropTenthsIn: length,
      topMinutesFromFlush: minutes,
      topDialTenths: dial,
      bobbinMinutesHint: minutes,
      needle: short,
      batting: name,
      backing: name,
      stitchesPerInch: whole(1, 30),
      work,
      score: whole(-2, 2), // of the lines that were sewn last with it, in the middle
      text: note,
    },
    needs: [],
    whole: notBoth('topMinutesFromFlush', 'topDialTenths'),
  },
  recipeUse: { fields: { recipe: id, worked: yesNo, machine: id }, once: true, needs: ['recipe', 'worked'] },
  balancing: {
    fields: {
      machine: id,
      quilt: id,
      ended: choice('good-enough', 'left', 'technician'),
      work,
      kept: id,
      cured: short,
    },
    needs: ['machine'],
  },
  change: {
    fields: {
      ...place,
      screw,
      type: choice('move', 'back', 'neutral', 'lost', 'strike', 'dial', 'same'),
      minutes,
      dialTenths: dial,
      strikes: id,
      backOf: id,
      sameAs: ids,
      after: ids,
      machine: id,
      ...advised,
    },
    once: true,
    needs: ['screw', 'type', 'after'],
    whole: changeFault,
  },
  reading: {
    fields: {
      ...place,
      type: choice('drop', 'finger', 'pull', 'pen', 'gauge'),
      machine: id,
      bobbinCase: id,
      thread: id,
      bobbinKind,
      fill,
      drops: list(drop, 24),
      answer: choice('tips', 'lifts', 'flat', 'as_usual', 'stiff', 'light', 'jerky'),
      clockMinute: whole(0, 59),
      tenthsGf: force,
      interrupted: yesNo,
    },
    once: true,
    needs: ['type', 'machine'],
    whole: readingFault,
  },
  finding: {
    fields: {
      ...place,
      ...advised,
      machine: id,
      finding: choice(...Object.keys(findingStates)),
      state: short,
      source: id,
    },
    once: true,
    needs: ['machine', 'finding', 'state'],
    whole: findingFault,
  },
  sample: {
    fields: {
      ...place,
      machine: id,
      mode: choice('regulated', 'manual'),
      rays: list(ray, 20),
      allAlike: yesNo,
      onOffcut: yesNo,
    },
    once: true,
    needs: ['machine', 'rays', 'allAlike'],
  },
  event: {
    fields: {
      ...place,
      ...advised,
      machine: id,
      bobbinCase: id,
      type: choice(
        ...['good', 'new-bobbin', 'new-needle', 'cleaned', 'struck', 'jam', 'knock', 'heat', 'runs-by-itself'],
        ...['dropped', 'do-not-run', 'lifted', 'step', 'wound', 'counter', 'new-cone'],
        ...['handed-over', 'taken'],
      ),
      reason,
      step: name,
      of: id,
      quilt: id,
      thread: id,
      count: whole(0, 1_000), // bobbins wound and ready
      hoursTenths: whole(0, 10_000_000), // on the machine's own counter
      verdict: choice('good', 'watch', 'stop'),
      row: short, // of the quilt, as it is counted there
      tight: choice(...findingStates.push_up),
    },
    once: true,
    needs: ['machine', 'type'],
    whole: eventFault,
  },
  class: { fields: { name }, needs: ['name'] },
  station: { fields: { class: id, number: whole(1, mostStations), name, text: note }, needs: ['class', 'number'] },
  visit: {
    fields: { class: id, station: id, state: choice(...stationStates), step: choice(...stepsGiven) },
    once: true,
    needs: ['class', 'station', 'state'],
  },
  careDone: {
    fields: { machine: id, bobbinCase: id, item: short, who: choice('operator', 'technician'), text: reason },
    once: true,
    needs: ['machine', 'item'],
  },
  /** Under the id of its machine or bobbin case: for each thing to care for how often, in its own unit, or not at all. */
  carePlan: {
    fields: Object.fromEntries(
      careIds.map((item) => [item, shape({ every: whole(1, 100_000), also: whole(1, 100_000), off: yesNo })]),
    ),
    needs: [],
  },
  symptom: {
    fields: {
      ...place,
      machine: id,
      answers: dictionary(list(short, 20), 40),
      named: either(whole(1, 31), (v) => (v === null ? undefined : 'not-a-choice')),
      corrects: id, // an earlier one that was something else after all
      result: short,
    },
    once: true,
    needs: ['machine'],
  },
};

/** Fields that any record may have. */
const anywhere: { readonly [field: string]: Rule } = {
  zone: whole(-840, 840), // minutes east of UTC; the world's widest are -12 and +14 hours
  removed: shape({ 'seen!': list(line(64), 4_096) }),
};

/** A cleared field holds null or an empty text: the same as not given. */
const cleared = (v: Json | undefined) => v === undefined || v === null || v === '';

function ruleOf(kind: string, field: string): Rule | undefined {
  const own = kinds[kind]?.fields ?? {};
  if (Object.hasOwn(own, field)) return own[field];
  return Object.hasOwn(anywhere, field) ? anywhere[field] : undefined;
}

/**
 * What is wrong with fields about to be written; empty when nothing is. `fresh` records must have what their kind
 * needs. A field nobody knows is not written by this version, so it is not a fault here.
 */
export function faults(kind: string, set: Fields, fresh: boolean): readonly Fault[] {
  const rules = Object.hasOwn(kinds, kind) ? kinds[kind] : undefined;
  if (!rules) return [{ field: '', fault: 'unknown-kind' }];
  const found = Object.entries(set).flatMap(([field, value]): readonly Fault[] => {
    const fault = cleared(value) ? undefined : ruleOf(kind, field)?.(value);
    return fault ? [{ field, fault }] : [];
  });
  if (fresh) found.push(...rules.needs.flatMap((field) => missing(set, field) ?? []));
  const more = fresh && found.length === 0 ? rules.whole?.(set) : undefined;
  return more ? [...found, more] : found;
}

export type Usable = {
  /** The fields that can be used; cleared ones and unknown ones left out. */
  readonly fields: Fields;
  /** Those that can't, to be shown as such. */
  readonly unusable: readonly (Fault & { readonly value: Json })[];
  /** False when a record that is written once lacks what its kind needs: nothing can be worked out from it. */
  readonly whole: boolean;
};

/** A record's values, one a field, as far as they can be used. Never throws, whatever a stranger wrote. */
export function usable(kind: string, values: Fields): Usable {
  const rules = Object.hasOwn(kinds, kind) ? kinds[kind] : undefined;
  const fields: { [field: string]: Json } = {};
  const unusable: (Fault & { value: Json })[] = [];
  for (const [field, value] of Object.entries(values)) {
    const rule = ruleOf(kind, field);
    if (!rule || cleared(value)) continue;
    const fault = rule(value);
    if (fault) unusable.push({ field, value, fault });
    else fields[field] = value;
  }
  const complete = rules !== undefined && (!rules.once || rules.needs.every((field) => Object.hasOwn(fields, field)));
  const fault = complete && rules.once ? rules.whole?.(fields) : undefined;
  if (fault) unusable.push({ ...fault, value: fields[fault.field] ?? null });
  return { fields, unusable, whole: complete && !fault };
}

function missing(set: Fields, field: string): Fault | undefined {
  const value = set[field];
  return cleared(typeof value === 'string' ? value.trim() : value) ? { field, fault: 'missing' } : undefined;
}

function notBoth(a: string, b: string) {
  return (set: Fields): Fault | undefined =>
    !cleared(set[a]) && !cleared(set[b]) ? { field: b, fault: 'not-both' } : undefined;
}

/** Each type of change with the one field that makes it; minutes and a dial number are never in the same record. */
function changeFault(set: Fields): Fault | undefined {
  const needs = { move: 'minutes', back: 'minutes', dial: 'dialTenths', strike: 'strikes' } as const; // same: without sameAs they are two
  const field =
    typeof set.type === 'string' && Object.hasOwn(needs, set.type) ? needs[set.type as keyof typeof needs] : undefined;
  return (field ? missing(set, field) : undefined) ?? notBoth('minutes', 'dialTenths')(set);
}

function eventFault(set: Fields): Fault | undefined {
  if (set.type === 'lifted') return missing(set, 'of') ?? missing(set, 'reason');
  if (set.type === 'wound') return missing(set, 'count');
  if (set.type === 'handed-over') return missing(set, 'verdict');
  if (set.type === 'taken') return missing(set, 'of');
  return set.type === 'counter' ? missing(set, 'hoursTenths') : undefined;
}

function readingFault(set: Fields): Fault | undefined {
  const needs = { drop: 'drops', finger: 'answer', pull: 'answer', pen: 'clockMinute', gauge: 'tenthsGf' } as const;
  const field =
    typeof set.type === 'string' && Object.hasOwn(needs, set.type) ? needs[set.type as keyof typeof needs] : undefined;
  return field && set.interrupted !== true ? missing(set, field) : undefined;
}

function findingFault(set: Fields): Fault | undefined {
  const states: readonly string[] = findingStates[set.finding as FindingId] ?? [];
  return states.includes(String(set.state)) ? undefined : { field: 'state', fault: 'not-a-choice' };
}

/** Inside an object a cleared field is an empty text as well. */
function optional(fields: { readonly [field: string]: Rule }): { readonly [field: string]: Rule } {
  return Object.fromEntries(
    Object.entries(fields).map(([f, rule]) => [f, (v: Json) => (cleared(v) ? undefined : rule(v))]),
  );
}
