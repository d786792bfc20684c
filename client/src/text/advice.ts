/** Why a next step is what it is: one sentence each for the advice of a balancing and for a drop test's result. */
import { type Advice, type Ctx, type DropVerdict, isBobbin, type TaskState } from '../domain/task';
import { lengthIn, move, moveHeading, screwName } from './amount';
import { nameOfCause } from './causes';
import { actSay, checkSay } from './checks';
import { ago } from './shell';

const whys: { readonly [why: string]: string } = {
  unsafe: 'Stop before anything else.',
  'bobbin-first': 'Bobbin first: nothing else is worth turning before it.',
  'not-sewn': 'Sew, so that there is something to see.',
  'before-knobs': 'Lint, path and feel before any knob.',
  'by-feel': 'The pull is plainly off. Set by feel first, it saves a sample.',
  differ: 'Good one way, bad another: that is no setting.',
  'both-faces': 'Dots on both faces are seldom a setting.',
  'draws-in': 'The cloth draws in: loosen the thread that pulls.',
  lifts: 'Stitches lift: tighten the slack one.',
  'top-on-back': 'Top colour comes through to the back.',
  'bobbin-on-top': 'Bobbin colour comes up on top.',
  circles: 'Turning goes in circles. Something else is at work.',
  long: 'A long while with no gain: other eyes will see more.',
  balanced: 'Each colour stays on its own face.',
  snug: 'Snug on both faces, as far as can be felt.',
  accept: 'This may be as good as this cloth and thread can be.',
  'cant-tell': 'The lines could not be read. Look closer.',
  'nothing-more': 'Look closer at what you see.',
  'since-good': 'That is new since it was last good.',
  disagree: 'The three do not agree: that is no setting.',
  'two-cases': 'Two bobbin cases, and neither drops alike: look deeper.',
  'two-jams': 'Two jams in one day are no accident.',
  'knob-dead': 'The thread is in the discs and the knob does nothing.',
  'just-changed': 'This screw was turned since all was good.',
  'drop-out': 'The drop is out of its band.',
  'both-out': 'Drop and feel are both out: start again from neutral.',
  'loosen-winner': 'It is strained: loosen the thread that pulls harder.',
  'tighten-loser': 'Stitches lift: tighten the slack thread.',
  'loosen-first': 'Nothing is proven: loosening does least harm.',
  'top-at-end': 'The top has no more way to go.',
  'feel-disagrees': 'The feel of the top and the stitch disagree.',
  'drop-disagrees': 'The drop is in band, yet the stitch blames the bobbin.',
  dense: 'Cloth this dense can’t hide the lock. Match the colours.',
  technician: 'What was found is a technician’s to mend.',
  'used-up': 'What an operator can do is done.',
  'no-effect': 'It was turned and nothing moved.',
  'wrong-way': 'It was turned, and the stitch went the other way.',
  'no-step': 'Wrong on both sides of a small step: that is no setting.',
  'nothing-found': 'Nothing was found: a small move, and look.',
  'no-neutral': 'There is no neutral to count from.',
  'lost-count': 'The count is lost: find neutral first.',
  'two-phones': 'Two phones disagree where it stands: find neutral.',
  tolerance: 'Good enough for this kind of work.',
  'all-directions': 'Show work wants every direction looked at.',
};

/** The top is set by a number, on a dial or a screen. */
const byNumber = (screw: string, ctx: Ctx) =>
  !isBobbin(screw) && (ctx.machines.find((m) => m.id === ctx.machine)?.topKnob ?? 'turns') !== 'turns';

/** The advice as something to do. */
export function adviceSays(a: Advice, ctx: Ctx): string {
  switch (a.do) {
    case 'turn':
      return byNumber(a.screw, ctx)
        ? `Top tension: a little ${a.minutes > 0 ? 'tighter' : 'looser'}, and write the number down.`
        : moveHeading(`${screwName(a.screw, ctx)}: `, a.minutes);
    case 'neutral':
      return `${screwName(a.screw, ctx)}: back to neutral.`;
    case 'check':
      return checkSay[a.finding]?.say ?? 'Look at this first.';
    case 'act':
      return actSay[a.action] ?? 'Do this first.';
    case 'drop':
      return 'Three drops.';
    case 'feel':
      return 'Feel the top thread.';
    case 'sew':
      return a.why === 'not-sewn' ? 'Sew two lines.' : 'Sew the same lines once more.';
    case 'star':
      return 'Sew the star.';
    case 'see':
      return 'Say what you see.';
    case 'stop':
      return 'Stop. Power off.';
    case 'technician':
      return 'Call a technician.';
    case 'good':
      return 'Good enough?';
  }
}

/** Why, in one sentence; a finding that led to it is named by what it showed. */
export function adviceWhy(a: Advice): string {
  const [one, other] = a.about ?? [];
  if (a.why === 'likely' && one !== undefined) return `Most likely: ${nameOfCause(one)}.`;
  if (a.why === 'mends' && one !== undefined) return `It may be ${nameOfCause(one)}.`;
  if (a.why === 'tells' && one !== undefined)
    return other === undefined || other === 'no_fault' || one === 'no_fault'
      ? `Shows whether it is ${nameOfCause(one === 'no_fault' && other ? other : one)}.`
      : `Tells ${nameOfCause(one)} from ${nameOfCause(other)}.`;
  const known = Object.hasOwn(whys, a.why) ? whys[a.why] : undefined;
  if (known && a.do === 'turn' && a.sure) return `${known} ${sures[a.sure]}`;
  if (known) return known;
  return (
    (Object.hasOwn(seen, a.why) ? seen[a.why] : undefined) ?? 'What a look found is mended before a knob is turned.'
  );
}

/** A reason that a record keeps as a code, in words without their full stop; undefined for what is no code of ours. */
export const whyWords = (code: string): string | undefined =>
  [whys, seen, drops].find((t) => Object.hasOwn(t, code))?.[code]?.replace(/\.$/, '');

/** How sure a turn is to be enough. */
const sures = {
  likely: 'This should be enough.',
  near: 'This should come near.',
  guess: 'A first guess: the next lines will say more.',
} as const;

/** What was seen, and why no knob comes first; by the finding. */
const seen: { readonly [finding: string]: string } = {
  top_on_back: 'Big loops are threading, not tension.',
  nest: 'A nest at the start is in the tails.',
  random_loops: 'Single loops come from cone, lint or spring.',
  eyelash: 'Lashes on curves come from speed first.',
  skips: 'Skips are needle, cloth or hook.',
  broken_end: 'The broken end says where to look.',
  bobbin_breaks: 'Bobbin thread breaks at stops, or at the core.',
  pattern_time: 'It comes and goes: that is no setting.',
  bobbin_level: 'It follows the bobbin: look at the bobbin.',
  patch_only: 'Only over patches: the patch, not the knob.',
  cloth_motion: 'The cloth moves where it should lie still.',
  stitch_length: 'Uneven stitches are wheels or hands.',
  holes: 'The holes ask about the needle.',
  fibre: 'Fibre comes through: needle or batting.',
  mode_dep: 'In one mode only: that is no setting.',
  both_sides: 'Dots on both faces are seldom a setting.',
  pull_top: 'The feel of the top says so.',
};

/** Advices that stand beside the first, as the task keeps them. */
export const othersOf = (s: TaskState): readonly Advice[] =>
  Array.isArray(s.data.others) ? (s.data.others as unknown as readonly Advice[]) : [];

const drops: { readonly [why: string]: string } = {
  'in-band': 'In its band. The bobbin is settled.',
  'nobody-turned': 'It was in band, and nobody turned it: card first.',
  disagree: 'The three do not agree: that is no setting.',
  'turned-since': 'The screw was turned since it was in band: turn it back.',
  'not-proven': 'Never in band yet: lint and thread before the screw.',
  'new-thread': 'New bobbin thread: the screw may need a move.',
  'other-case': 'Another bobbin case was in band with this thread.',
  'no-gain': 'Three turns and no gain: it is not the screw.',
  out: 'Out of its band.',
};

/** A drop test's result in one sentence; what the record says of the last good one goes first. */
export function dropSays(v: DropVerdict, ctx: Ctx): string {
  const side = v.state === 'barely' ? 'Too tight' : 'Too loose';
  if (v.why === 'out') return `${side}: a small move of the bobbin case screw.`;
  const known = Object.hasOwn(drops, v.why) ? drops[v.why] : undefined;
  if (!v.before || v.why !== 'nobody-turned') return known ?? 'Look first.';
  const { at, tenthsIn } = v.before;
  const was = tenthsIn === undefined ? 'it was in band' : `it dropped ${lengthIn(tenthsIn, ctx.units)}`;
  const when = ago(at, ctx.now);
  return `${when.charAt(0).toUpperCase()}${when.slice(1)} ${was}, nobody turned it: card first.`;
}

/** And its one next act. */
export function dropActs(v: DropVerdict, ctx: Ctx): string {
  switch (v.act) {
    case 'on':
      return 'On to the top.';
    case 'checks':
      return 'Card under the spring, thread again, a good bobbin.';
    case 'case':
      return `Put in ${ctx.bobbinCases.find((c) => c.id === v.bobbinCase)?.label ?? 'that case'}.`;
    case 'technician':
      return 'Stop turning. Another bobbin case, or a technician.';
    case 'turn':
      return `Bobbin case screw: ${move(v.minutes ?? 0)}.`;
  }
}
