/** What each button and tile of a task says. */
import {
  type Action,
  type Advice,
  type Ctx,
  type FeatureId,
  isBobbin,
  type Offer,
  pointsBack,
  symptoms,
  type TaskState,
  topScrew,
} from '../domain/task';
import { nextQuestion, ownPhoto } from '../domain/task/see';
import { adviceSays, othersOf } from './advice';
import { dialNumber, far, lengthIn, move, screwName } from './amount';
import { checkSay } from './checks';
import { when } from './shell';
import { featureWords, symptomName } from './symptoms';

const sentence = (words: string) => words.charAt(0).toUpperCase() + words.slice(1);

/** The main button, where it says more than "Done". */
const mains: { readonly [step: string]: string } = {
  caution: 'I have read it',
  blocked: 'Say why it may run',
  'first-run.name': 'That is its name',
  'lift.reason': 'It may run again',
  'ask.modes': 'That is all it has',
  'ask.bobbin-case': 'Use this label',
  'ask.tightens': 'Turned',
  'ask.tightens-back': 'Turned back',
  'balance.drop': 'Drop test',
  'balance.top': 'Feel the top',
  'balance.sew': 'Sew and look',
  'balance.technician': 'End here: technician',
  'balance.why': 'Back to the next step',
  'balance.how-far-back': 'Back to the next step',
  'balance.put-back': 'Put it back',
  'balance.pair': 'Sewn, and stopped',
  'balance.pair-look': 'Still good',
  'balance.keep': 'Keep it',
  'drop-test.gauge': 'Write it down',
  'change-screw.test-first': 'Test first',
  'change-screw.amount': 'Write it down',
  'change-screw.dial': 'Write it down',
  'change-screw.mark': 'It stands here',
  'change-screw.mark-says': 'Write it down',
  'change-screw.neutral': 'Done: count from here',
  'sew.colours': 'Changed one',
  'sew.stitch': 'Sewn, and stopped',
  'sew.rate': 'That is what I see',
  'sew.differ': 'Sew the star',
  'sew.other-mode': 'Sew it in manual',
  'see.why-not': 'Back to the list',
  'see.sew-on': 'Sewn, and stopped',
  'first-five.drops': 'Drop test',
  'first-five.lines': 'Sew and look',
  'first-five.done': 'Go on',
  'stop.power-off': 'Power is off',
  'stop.needle': 'New needle is in',
  'stop.thread': 'It is threaded',
  'stop.sew-scrap': 'Sewn, and stopped',
  'stop.drops': 'Drop test',
  'stop.unfinished': 'Go on with the looks',
  'stop.technician': 'Understood',
  'stop.clear': 'Go on',
};

/** Tiles and small buttons by their value, where a step or row has no words of its own for it. */
const values: { readonly [value: string]: string } = {
  'not-now': 'Not now',
  'cant-tell': 'Can’t tell',
  none: 'None of these',
  'go-on': 'Go on anyway',
  lost: 'I lost count',
  somebody: 'Somebody else turned it',
  neutral: 'Back to neutral',
  mark: 'Read the pen mark',
  'no-mark': 'There is no mark',
  dial: 'It has a number',
  points: 'Back to an earlier point',
  home: 'Back to where it was',
  turned: 'Turned',
  'not-turned': 'Not turned',
  'not-sure': 'Not sure',
  'whole-turn': 'It could be a whole turn',
  'left-there': 'I left it there',
  frame: 'On a frame',
  'sit-down': 'Sit-down',
  turns: 'A knob or nut that turns',
  screen: 'A number on a screen',
  'hand-guided': 'Hand guided',
  regulated: 'Regulated',
  manual: 'Manual',
  computer: 'Computer driven',
  tighter: 'Tighter',
  looser: 'Looser',
  full: 'Full',
  half: 'Half',
  low: 'Low',
  finger: 'Finger-pad check instead',
  gauge: 'Gauge',
  'all-right': 'All three right',
  again: 'Again',
  out: 'Throw out',
  'start-over': 'Start over',
  star: 'The whole star',
  lines: 'Two lines only',
  'same-colours': 'Both threads look the same',
  see: 'What do you see?',
  turn: 'Turn something else',
  'good-enough': 'Good enough',
  left: 'Left for now',
  technician: 'Technician',
  'not-good': 'Not good in this pair',
  why: 'Why this?',
  'how-far-back': 'How far back is it bad?',
  show: 'Show the pictures',
  close: 'Neither, back',
  cant: 'I can’t reach it',
  happened: 'Something happened',
};

/** Words of one step's values, before the common ones. */
export const own: { readonly [step: string]: { readonly [value: string]: string } } = {
  'ask.top-knob': { dial: 'A dial with numbers' },
  'drop-test.answer': {
    falls: 'Falls',
    creeps: 'Creeps, or in steps',
    nothing: 'Nothing',
    short: 'Short',
    right: 'Right',
    far: 'Too far',
  },
  'drop-test.finger': { tips: 'Tips up and stays', lifts: 'Lifts off', flat: 'Lies flat, thread runs' },
  'drop-test.result': { again: 'Drop again', 'go-on': 'Leave the bobbin, go on' },
  'balance.work': { show: 'Show', custom: 'Custom', 'edge-to-edge': 'Edge to edge', practice: 'Practice' },
  'balance.technician': { mark: 'Mark “do not run” too', 'go-on': 'Not yet, back' },
  'change-screw.test-first': { 'go-on': 'Turn this one too' },
  'change-screw.neutral': { 'not-now': 'Not now: count stays lost' },
  'change-screw.mark-says': { lost: 'Count lost' },
  'sew.colours': { 'go-on': 'Sew with these' },
  'sew.rate': {
    '-2': 'Bobbin stands up on top',
    '-1': 'Bobbin dots on top',
    '0': 'Neither shows',
    '1': 'Top dots on the back',
    '2': 'Top stands up on the back',
    'both-faces': 'Both faces',
    lifts: 'Stitches lift',
    'draws-in': 'Cloth draws in',
  },
  'sew.finger': { smooth: 'Smooth on both', 'ridge-top': 'A ridge on top', 'ridge-back': 'A ridge on the back' },
  'sew.pin': {
    snug: 'Snug on both',
    slack_top: 'Lifts on top',
    slack_back: 'Lifts on the back',
    slack_both: 'Lifts on both',
  },
  'sew.tug': { gives: 'Gives a little', snaps: 'Snaps, or draws in', gapes: 'Gapes' },
  'see.start': {
    happened: 'Something happened',
    'looks-wrong': 'It just looks wrong',
    top: 'On the top face',
    back: 'On the back',
    'same-colours': 'Both threads look the same',
  },
  'see.sewn': { gone: 'It is gone', 'still-there': 'Still there' },
  'stop.cut-free': { free: 'Cut free', stuck: 'It is stuck fast' },
  'stop.pieces': { whole: 'The needle is whole', 'all-found': 'All pieces found', missing: 'A piece is missing' },
  'stop.cotton': { smooth: 'Smooth', catches: 'It catches' },
  'stop.scrap': {
    'sews-well': 'Sews as it should',
    ticks: 'It ticks or knocks',
    'misses-stitches': 'It misses stitches',
  },
  'stop.dent': { none: 'No dent', dent: 'A dent' },
  'stop.roll': { true: 'Rolls true', wobbles: 'Wobbles' },
  'stop.spin': { free: 'Spins free', rubs: 'It rubs' },
  'stop.click': { clicks: 'Clicks home', 'no-click': 'No click' },
  'stop.unfinished': { mark: 'Mark “do not run”' },
};

const happening: { readonly [h: string]: string } = {
  struck: 'Needle struck something',
  jam: 'Jam or wad',
  knock: 'Knock or tick',
  heat: 'Smell or heat',
  'runs-by-itself': 'Runs by itself',
  dropped: 'Bobbin case dropped',
};

/** Rows of the rating, by direction. */
export const rowWords: { readonly [of: string]: string } = {
  all: 'All alike',
  '0': 'Away',
  '45': 'Away and right',
  '90': 'Right',
  '135': 'Toward and right',
  '180': 'Toward',
  '225': 'Toward and left',
  '270': 'Left',
  '315': 'Away and left',
  'circle-left': 'Circle to the left',
  'circle-right': 'Circle to the right',
};

/** The finding whose states a step's tiles are. */
const findingOf: { readonly [step: string]: string } = {
  'balance.ready-card': 'card_spring',
  'balance.ready-bobbin': 'bobbin_way',
  'balance.ready-path': 'threading_walk',
  'drop-test.card': 'card_spring',
  'drop-test.thread': 'pull_bobbin',
  'drop-test.bobbin': 'bobbin_look',
  'top-feel.pull': 'pull_top',
  'first-five.rethread': 'threading_walk',
  'first-five.card': 'card_spring',
  'stop.seat': 'case_seat',
  'stop.look': 'hook_look',
  'stop.turn': 'hand_turn',
};

/** What a button says. Ids (a bobbin case, an earlier point) are looked up in the context. */
export function offerWords(offer: Offer, s: TaskState, ctx: Ctx): string {
  const a = offer.action;
  switch (a.do) {
    case 'next':
      return mainWords(s, ctx);
    case 'start':
      return 'Start';
    case 'stop':
      return 'Stop';
    case 'carry-on':
      return 'Carry on';
    case 'again':
      return 'Start this one again';
    case 'leave':
      return 'Leave';
    case 'back':
      return 'Back';
    case 'turned-back':
      return 'I turned it back';
    case 'wrote-wrong':
      return 'I wrote it wrong';
    case 'add':
      return addWords(a.by, s, ctx);
    case 'set':
      return String(a.to);
    case 'type':
      return s.task === 'lift' ? 'Reason' : s.step === 'bobbin-case' ? 'Label on the case' : 'Name';
    case 'pick':
      return pickWords(a, s, ctx);
    default:
      return '';
  }
}

function mainWords(s: TaskState, ctx: Ctx): string {
  const step = `${s.task}.${s.step}`;
  const good = step === 'balance.next' && (s.data.advice as Advice | undefined)?.do === 'good';
  if (step === 'drop-test.result' || step === 'balance.next') return good ? 'Yes, good enough' : 'Do this next';
  if (step === 'change-screw.amount' && (s.data.door === 'about' || s.data.door === 'points'))
    return 'Turned: write it down';
  if (step === 'change-screw.mark-says' && s.data.off === 0) return 'No: the count stands';
  if (step === 'change-screw.neutral' && s.data.screw !== topScrew(ctx.machine)) return 'Drop test';
  if (step === 'see.features') return asksNext(s) ?? 'Show what fits';
  if (step === 'see.act') return todoWords[String((s.data.todo as { readonly do?: string } | undefined)?.do)] ?? 'Done';
  if (step === 'sew.rate' && s.data.form === 'star') return 'The rest is alike';
  return mains[step] ?? mains[s.step] ?? 'Done';
}

/** What "What do you see?" came to, as a button. */
const todoWords: { readonly [todo: string]: string } = {
  balance: 'Balance the machine',
  technician: 'Understood',
  stop: 'Go through it',
};

/** The best next question of "What do you see?", by its name. */
function asksNext(s: TaskState): string | undefined {
  const next = nextQuestion(s.data);
  return next && `Next: ${featureWords[next].chip}`;
}

function addWords(by: number, s: TaskState, ctx: Ctx): string {
  const step = `${s.task}.${s.step}`;
  if (step === 'change-screw.amount') return sentence(move(by));
  if (step === 'change-screw.dial') return `${by > 0 ? '+' : '−'}${dialNumber(Math.abs(by))}`;
  if (step === 'drop-test.answer') return `${by > 0 ? 'longer' : 'shorter'} by ${lengthIn(Math.abs(by), ctx.units)}`;
  if (step === 'drop-test.gauge') return `${by > 0 ? '+' : '−'}${dialNumber(Math.abs(by))}`;
  return `${by > 0 ? 'on' : 'back'} by ${far(by)}`;
}

function pickWords(a: Action & { do: 'pick' }, s: TaskState, ctx: Ctx): string {
  const step = `${s.task}.${s.step}`;
  const { value } = a;
  if (step === 'change-screw.screw' && value !== 'not-now') return screwName(value, ctx);
  const point = step === 'change-screw.points' && pointsBack(ctx, String(s.data.screw)).find((p) => p.change === value);
  if (point) return `${sentence(move(point.minutes))}: ${point.good ? 'last good, ' : ''}${when(point.at)}`;
  const bobbinCase = ctx.bobbinCases.find((c) => c.id === value);
  if (bobbinCase) return bobbinCase.label || 'A bobbin case';
  if (step === 'stop.what' || step === 'see.happened') return happening[value] ?? values[value] ?? value;
  if (step === 'change-screw.amount' && value === 'mark' && !isBobbin(String(s.data.screw)))
    return values[value] ?? value;
  if (step === 'see.features') return featureTile(a, s) ?? values[value] ?? value;
  const instead = step === 'balance.next' && a.of === 'or' ? othersOf(s)[Number(value)] : undefined;
  if (instead) return adviceSays(instead, ctx);
  if (s.task === 'see' && a.of === 'compare' && value === ownPhoto) return 'Compare your own stitch';
  if (step === 'see.result' && value === 'more') return asksNext(s) ?? 'More questions';
  if (s.task === 'see' && a.of === 'compare') return `Compare ${symptomName[value] ?? value}`;
  if (s.task === 'see' && a.of === 'why-not') return 'Why not this?';
  if ((step === 'see.result' || step === 'see.compare') && symptomName[value]) return symptomName[value] ?? value;
  const finding = findingOf[step] ?? lookedAt(s);
  return own[step]?.[value] ?? (finding ? checkSay[finding]?.states[value] : undefined) ?? values[value] ?? value;
}

function featureTile(a: Action & { do: 'pick' }, s: TaskState): string | undefined {
  const words = (f: string) => (Object.hasOwn(featureWords, f) ? featureWords[f as FeatureId] : undefined);
  if (a.of !== 'open') return words(a.of ?? '')?.values[a.value];
  const answers = s.data.answers as { readonly [feature: string]: readonly string[] } | undefined;
  const { chip = a.value, values: own = {} } = words(a.value) ?? {};
  const said = answers?.[a.value]?.map((v) => own[v] ?? values[v] ?? v).join(' or ');
  return said ? `${chip}: ${said}` : chip;
}

/** The finding of a look that a next step, a symptom or the top feel asked for. */
function lookedAt(s: TaskState): string | undefined {
  const advice = s.data.advice;
  if (
    s.task === 'balance' &&
    s.step === 'check' &&
    typeof advice === 'object' &&
    advice !== null &&
    'finding' in advice
  )
    return String(advice.finding);
  if (s.task === 'see' && s.step === 'check')
    return typeof s.data.check === 'string' ? s.data.check : symptoms[String(s.data.named)]?.check;
  if (s.task !== 'top-feel' || s.step !== 'look') return undefined;
  return { light: 'floss_discs', stiff: 'threading_walk', jerky: 'supply_look' }[String(s.data.feel)];
}
