/**
 * What the steps of the tasks say. One instruction of at most twelve words a step; a second line only where the hands need
 * it. Trade words, plain sentences, and the amount always as on a clock.
 */
import { fitting } from '../domain/bench';
import {
  type Advice,
  type Caution,
  type Ctx,
  type DropVerdict,
  type FeatureId,
  isBobbin,
  matches,
  symptoms,
  type TaskState,
  topScrew,
} from '../domain/task';
import { curedOtherwise } from '../domain/task/put-back';
import type { Onward } from '../domain/task/suspects';
import { adviceSays, adviceWhy, dropActs, dropSays } from './advice';
import { dialNumber, far, move, moveHeading, screwName, way } from './amount';
import { actSay, checkSay } from './checks';
import { happened } from './reasons';
import { farBack, tellsApart } from './suspects';
import { featureWords, symptomName, whyNotWords } from './symptoms';

import { taskTitle } from './task-title';

export { taskTitle };

export const cautionLine: { readonly [c in Caution]: string } = {
  still: 'Machine stopped, needle locked or power off.',
  screw: 'Never take the case screw out. Work over a tray.',
  needle: 'Needle and hook are sharp.',
  floor: 'Cushion under the case: a fall bends it.',
  'one-change': 'One change, then ten inches, both faces.',
  moving: 'The head moves. Hands, hair and cables clear.',
  pieces: 'Old needles and pieces go in a closed box.',
  eyes: 'Eye protection on: a needle can throw pieces.',
  oil: 'One drop, only where the manual says.',
  technician: 'Covers, timing and wiring belong to a technician.',
  manual: 'Your machine’s manual goes first.',
};

/** Said before the first tap of a person's first task, whatever else its full caution lists. */
export const phoneCaution =
  'Take the phone off the head and handles unless it is fixed there. A push on it moves the head, and a regulated machine sews when it moves. In the middle of a computer-driven pattern mark the place and use the stop the manual gives.';

type Say = { readonly say: string; readonly more?: string };
type Saying = Say | ((s: TaskState, ctx: Ctx) => Say);

const sentence = (words: string) => words.charAt(0).toUpperCase() + words.slice(1);
const data = (s: TaskState) => s.data;
const text = (v: unknown) => (typeof v === 'string' ? v : '');
const number = (v: unknown) => (typeof v === 'number' ? v : 0);
const screwOf = (s: TaskState) => text(data(s).screw) || topScrew(s.machine);

function tightens(screw: string, ctx: Ctx): 'clockwise' | 'counter' | undefined {
  if (screw === topScrew(ctx.machine)) return ctx.machines.find((m) => m.id === ctx.machine)?.topTightens;
  return ctx.bobbinCases.find((c) => `bobbin:${c.id}` === screw)?.tightens;
}

const sayings: { readonly [step: string]: Saying } = {
  caution: (_s, ctx) => ({ say: 'Before you start', more: ctx.acknowledged.length === 0 ? phoneCaution : undefined }),
  blocked: {
    say: 'This machine is marked “do not run”.',
    more: 'Someone must say why it may run again before anything is sewn.',
  },

  'first-run.name': { say: 'What do you call this machine?', more: 'You can change it at any time.' },
  'lift.reason': { say: 'Why may it run again?', more: 'Everyone who shares this machine will read it.' },

  'ask.body': { say: 'Is this machine on a frame, or sit-down?' },
  'ask.top-knob': { say: 'How is the top tension set?' },
  'ask.modes': { say: 'Which ways of sewing does it have?', more: 'Tick all that it has.' },
  'ask.bobbin-case': (_s, ctx) =>
    fitting(ctx).length > 0
      ? { say: 'Which bobbin case is in the machine?', more: 'Or give it a label, as written on it.' }
      : { say: 'What is the label of its bobbin case?', more: 'As written on it. None yet? Write one on it.' },
  'ask.tightens': (s, ctx) =>
    isDial(s, ctx)
      ? { say: 'Which way tightens? Raise the top number by one.', more: onlyToFindOut(s) }
      : {
          say: `Which way tightens? Turn the ${plainScrew(s)} to the right.`,
          more: `${trial(s)}, facing it. ${onlyToFindOut(s)}`,
        },
  'ask.tightens-feel': (s, ctx) => ({
    say: 'Pull the thread. Is it tighter or looser now?',
    more: screwOf(s) === topScrew(ctx.machine) ? 'Needle up, tension closed.' : 'From the case, slowly, by hand.',
  }),
  'ask.tightens-back': (s, ctx) => ({
    say: isDial(s, ctx) ? 'Set the top number back.' : `Turn the ${plainScrew(s)} back to the left, as far.`,
    more: isDial(s, ctx) ? undefined : `${trial(s)}.`,
  }),

  'balance.ready-card': {
    say: 'Slide a card corner under the bobbin case spring.',
    more: 'Leave the screw alone. Draw it out the way the thread goes.',
  },
  'balance.ready-bobbin': {
    say: 'Bobbin seated? Pull: it must turn as the manual shows.',
  },
  'balance.ready-path': {
    say: 'Open the tension and thread the top from the cone.',
    more: 'Every guide, the check spring and the lever. Then close it.',
  },
  'balance.drop': { say: 'Bobbin first: three drops.' },
  'balance.top': { say: 'Now feel the top thread.' },
  'balance.sew': { say: 'Now sew two lines and look.' },
  'balance.next': (s, ctx) => {
    const advice = adviceOf(s) as Advice;
    return advice.do ? { say: adviceSays(advice, ctx), more: adviceWhy(advice) } : { say: 'What next?' };
  },
  'balance.why': { say: 'Why this comes next' },
  'balance.how-far-back': (_s, ctx) => farBack(ctx),
  'balance.check': (s) => ({ say: checkSay[text(adviceOf(s).finding)]?.say ?? 'Look at this first.' }),
  'balance.act': (s) => ({ say: actSay[text(adviceOf(s).action)] ?? 'Do this first.' }),
  'balance.technician': {
    say: 'This is one for a technician.',
    more: 'Keep the sample. What was tried is written down here.',
  },
  'balance.work': { say: 'Good enough for which kind of work?' },
  'balance.put-back': (s, ctx) => {
    const back = curedOtherwise(ctx, s.balancing ?? '');
    return {
      say: 'Something else was the cure. Put the screw back?',
      more:
        back &&
        `${screwName(back.screw, ctx)}: ${'dial' in back ? dialNumber(back.dial) : move(back.minutes)}, where it was last good.`,
    };
  },
  'balance.pair': {
    say: 'Real thread back in. Sew ten inches on an offcut.',
    more: 'It was changed for the test. Tap when the machine has stopped.',
  },
  'balance.pair-look': { say: 'Still good on both faces?', more: 'Colours that match hide small dots.' },
  'balance.keep': { say: 'Keep this setting as a recipe?' },

  'drop-test.setup': {
    say: 'Phone at eye height, cushion below, drop strip or ruler in view.',
    more: 'Phone off the head. Hold the thread close to the bobbin case.',
  },
  'drop-test.run': {
    say: 'Listen: low, hold still. High, one gentle shake.',
    more: 'Read your strip or ruler; this one is a picture. Two ticks: take hold again.',
  },
  'drop-test.answer': { say: 'What did each drop do?' },
  'drop-test.finger': {
    say: 'Case on your finger pads. Pull the thread straight up.',
    more: 'Open side as the manual shows.',
  },
  'drop-test.gauge': { say: 'Read the gauge while the thread moves.', more: 'Same slow pull every time.' },
  'drop-test.result': (s, ctx) => {
    const verdict = objectOf(data(s).verdict) as DropVerdict;
    return verdict.why ? { say: dropSays(verdict, ctx), more: dropActs(verdict, ctx) } : { say: 'Look first.' };
  },
  'drop-test.card': {
    say: 'Slide a card corner under the spring. Leave the screw.',
    more: 'Again until it comes out clean.',
  },
  'drop-test.thread': { say: 'Thread the case again. Pull a foot slowly.' },
  'drop-test.bobbin': { say: 'Put in a bobbin you know is good.', more: 'How was the one that came out?' },

  'change-screw.screw': { say: 'Which screw?' },
  'change-screw.test-first': {
    say: 'You turned another screw this round. Test first?',
    more: 'Two changes at once tell you nothing about either.',
  },
  'change-screw.amount': (s, ctx) => {
    const minutes = number(data(s).minutes);
    const asked = data(s).door === 'about' || data(s).door === 'points';
    if (minutes === 0)
      return { say: asked ? 'How far will you turn it?' : 'How far did you turn it?', more: 'Screw facing you.' };
    return {
      say: sentence(moveHeading('', minutes, Math.abs(minutes) > 60 ? 0 : undefined)), // two lines, so that all is seen
      more: `${way(minutes, tightens(screwOf(s), ctx))}. Screw facing you.`,
    };
  },
  'change-screw.dial': (s) => ({
    say: 'What does the number say now?',
    more: data(s).dial === undefined ? undefined : dialNumber(number(data(s).dial)),
  }),
  'change-screw.points': { say: 'Back to which point?', more: 'Each shows the turn that leads there.' },
  'change-screw.did-you': (s) => ({
    say: 'You were about to turn it. Did you?',
    more: `${sentence(move(number(data(s).minutes)))}.`,
  }),
  'change-screw.mark': { say: 'Where does the pen mark stand now?', more: 'Screw facing you, twelve at the top.' },
  'change-screw.mark-says': (s) => {
    const off = number(data(s).off);
    if (off === 0)
      return { say: 'The mark stands where the count says.', more: 'A whole turn would not show. Could it be one?' };
    return { say: 'The mark is not where the count says.', more: `As if somebody had turned it: ${move(off)}.` };
  },
  'change-screw.neutral': (s, ctx) =>
    screwOf(s) === topScrew(ctx.machine)
      ? { say: 'Turn the top nut flush with the end of its post.', more: 'From there the count starts again.' }
      : { say: 'Three drops in band start the count again.' },

  'top-feel.pull': {
    say: 'Draw the top thread from behind the needle, and away.',
    more: 'Needle up, tension closed.',
  },
  'top-feel.look': (s) =>
    checkSay[
      text(
        ({ light: 'floss_discs', stiff: 'threading_walk', jerky: 'supply_look' } as Record<string, string>)[
          text(data(s).feel)
        ],
      )
    ] ?? { say: 'Walk the thread path.' },

  'sew.colours': {
    say: 'These two threads look alike. Change one for the test?',
    more: 'The same thread in another colour, top or bobbin.',
  },
  'sew.stitch': (s, ctx) => {
    const mode = data(s).mode ? `${text(data(s).mode) === 'manual' ? 'Manual' : 'Regulated'}, at working speed. ` : '';
    const offcut = 'On an offcut, or outside the quilt’s edge. Tap when the machine has stopped.';
    if (data(s).form === 'star') return { say: 'Sew the star: eight ways out, two circles.', more: mode + offcut };
    const sitDown = ctx.machines.find((m) => m.id === ctx.machine)?.body === 'sit-down';
    return {
      say: sitDown
        ? 'Sew ten inches: move the quilt away, then toward you.'
        : 'Sew ten inches away from you, ten toward you.',
      more: mode + offcut,
    };
  },
  'sew.rate': (s) => ({
    say: data(s).form === 'star' ? 'Tap only what is odd.' : 'Stopped? Look at both faces of both lines.',
    more: data(s).form === 'star' ? 'What you do not tap counts as like the rest.' : undefined,
  }),
  'sew.finger': { say: 'Run a fingertip along both faces.' },
  'sew.pin': { say: 'Lift a stitch with a pin, both faces.' },
  'sew.tug': { say: 'Tug the line of stitches lengthways.' },
  'sew.differ': { say: 'The lines differ. Sew the star next?', more: 'A fault in one direction is no setting.' },
  'sew.other-mode': { say: 'Sew the same star in manual?', more: 'Bad in one mode only is no setting either.' },

  'see.start': { say: 'What is it?' },
  'see.happened': { say: 'What happened?' },
  'see.features': (s) => {
    const open = text(data(s).open);
    return { say: Object.hasOwn(featureWords, open) ? featureWords[open as FeatureId].ask : 'What else do you see?' };
  },
  'see.why-not': (s) => {
    const answers = objectOf(data(s).answers) as { readonly [feature: string]: readonly string[] };
    const match = matches(answers).find((m) => m.symptom === data(s).whyNot);
    const lines = match ? whyNotWords(match, answers) : [];
    return {
      say: `Why not: ${symptomName[text(data(s).whyNot)] ?? 'this'}?`,
      more: lines.join('. ') || 'Everything told fits.',
    };
  },
  'see.result': { say: 'Which picture is it?', more: 'It may be something other than tension.' },
  'see.compare': { say: 'Which of the two is it?' },
  'see.check': (s) => ({
    say: checkSay[text(data(s).check) || symptoms[text(data(s).named)]?.check || '']?.say ?? 'One quick look first.',
    more: tellsApart(data(s).about),
  }),
  'see.act': (s, ctx) => {
    const todo = objectOf(data(s).todo) as Onward;
    if (todo.do === 'balance')
      return {
        say: 'Balance the machine: bobbin first.',
        more: 'What you saw and looked at is written down. What is left is most likely a setting.',
      };
    if (todo.do === 'stop') return { say: 'Stop. Power off.', more: 'What was found comes before anything else.' };
    const advice: Advice = todo.do === 'check' ? { ...todo, states: [], mends: false, why: 'tells' } : todo;
    return { say: adviceSays(advice, ctx), more: adviceWhy(advice) };
  },
  'see.sew-on': { say: 'Sew ten inches, then stop.', more: 'Tap when the machine has stopped.' },
  'see.sewn': { say: 'Look at both faces. Is it gone?' },

  'first-five.rethread': {
    say: 'Thread the top again, from the cone.',
    more: 'Tension open. Floss it between the discs.',
  },
  'first-five.needle': { say: 'Fit a new needle, well set.', more: 'Up to its stop, scarf to the hook.' },
  'first-five.card': { say: 'Slide a card corner under the case spring.' },
  'first-five.drops': { say: 'Now three drops.' },
  'first-five.lines': { say: 'Now two lines in two colours.' },
  'first-five.done': { say: 'First five done.', more: 'What is left after these is worth thinking about.' },

  'stop.what': { say: 'Stop the machine. What happened?' },
  'stop.power-off': (s) => ({
    say: `${happened[text(data(s).happened) as keyof typeof happened] ?? 'Something happened'}. Stop, power off.`,
    more: 'Do not run it to clear it. Do not pull the quilt.',
  }),
  'stop.cut-free': { say: 'Cut the wad away in small snips. Never pull.' },
  'stop.seat': { say: 'Press the bobbin case home. Tug it gently.' },
  'stop.pieces': {
    say: 'Take the needle out. Find every piece.',
    more: 'Look in hook, plate and quilt, with a light.',
  },
  'stop.needle': { say: 'Fit a new needle, well set.', more: 'Up to its stop, scarf to the hook.' },
  'stop.look': { say: 'Light on plate and hook: how do they look?' },
  'stop.cotton': { say: 'Draw cotton round hook point and plate hole.' },
  'stop.thread': { say: 'Thread the new needle, the way the manual shows.', more: 'Pull the tails clear of the hook.' },
  'stop.turn': { say: 'Turn by hand, once round: is the loop caught?' },
  'stop.sew-scrap': { say: 'Power on. Sew ten inches on scrap, then stop.' },
  'stop.scrap': { say: 'How did it sew? Look at both faces.' },
  'stop.dent': { say: 'Look for a dent, all round the case.' },
  'stop.roll': { say: 'Roll the case on a flat table.' },
  'stop.spin': { say: 'Bobbin in: does it spin free?' },
  'stop.click': { say: 'Seat the case in the hook.' },
  'stop.drops': { say: 'Three drops, against what is on record.' },
  'stop.other-case': { say: 'Its count is lost. Use another bobbin case?' },
  'stop.unfinished': { say: 'These looks are not done. Go on?', more: 'Until then better not sew.' },
  'stop.technician': { say: 'Call a technician. Marked “do not run” for everyone.' },
  'stop.clear': (s) =>
    data(s).happened === 'dropped'
      ? { say: 'The drops agree. The count stands.' }
      : { say: 'All well. You can sew again.', more: 'At the next odd sound stop again.' },
};

const plainScrew = (s: TaskState) => (isBobbin(screwOf(s)) ? 'bobbin case screw' : 'top tension knob');

/** A trial is no step toward balance: it goes back, and what was advised comes after it. */
const onlyToFindOut = (s: TaskState) =>
  `Only to find out: it goes back in a moment.${s.back?.data.minutes ? ' The turn that was advised comes after.' : ''}`;

/** The half of a trial that says how far. */
const trial = (s: TaskState) => sentence(far(isBobbin(screwOf(s)) ? 5 : 30));

const isDial = (s: TaskState, ctx: Ctx) =>
  !isBobbin(screwOf(s)) && (ctx.machines.find((m) => m.id === ctx.machine)?.topKnob ?? 'turns') !== 'turns';

/** A thing kept in a task's data, or nothing. */
const objectOf = (v: unknown): { readonly [key: string]: unknown } =>
  typeof v === 'object' && v !== null && !Array.isArray(v) ? { ...v } : {};
const adviceOf = (s: TaskState) => objectOf(data(s).advice);

/** What a step says now. */
export function saying(s: TaskState, ctx: Ctx): Say {
  if (s.asking) return { say: 'Carry on, or start this one again?', more: 'You were away for a while.' };
  const words = sayings[`${s.task}.${s.step}`] ?? sayings[s.step];
  return typeof words === 'function' ? words(s, ctx) : (words ?? { say: taskTitle[s.task] });
}

/** The heading: the task, and for a screw its name. */
export const heading = (s: TaskState, ctx: Ctx): string =>
  (s.task === 'change-screw' || s.data.question === 'tightens') && typeof s.data.screw === 'string'
    ? screwName(s.data.screw, ctx)
    : taskTitle[s.task];
