/** Which drawing stands on which step, where the step has none of its own. */
import type { ComponentChildren } from 'preact';
import { isBobbin, type TaskState } from '../../domain/task';
import { pictures as words } from '../../text/task-screen';
import {
  BobbinTurn,
  CardUnderSpring,
  CaseOverHand,
  FingerPadCheck,
  HandsOff,
  NeedleSet,
  PullBehindNeedle,
  StarDrawing,
  TwoLines,
} from '../../ui/drawings';

const drawings = {
  'case-over-hand': <CaseOverHand label={words['case-over-hand']} />,
  'card-under-spring': <CardUnderSpring label={words['card-under-spring']} />,
  'finger-pad': <FingerPadCheck label={words['finger-pad']} />,
  'bobbin-turn': <BobbinTurn label={words['bobbin-turn']} turns="clockwise" />, // one way has to be drawn; the words defer to the manual
  'needle-set': <NeedleSet label={words['needle-set']} />,
  'pull-behind-needle': <PullBehindNeedle label={words['pull-behind-needle']} />,
  'two-lines': <TwoLines label={words['two-lines']} />,
  star: <StarDrawing label={words.star} />,
  'hands-off': <HandsOff label={words['hands-off']} />,
};

export type Drawing = keyof typeof drawings;
export const drawing = (id: Drawing): ComponentChildren => drawings[id];

const ofStep: { readonly [step: string]: Drawing } = {
  blocked: 'hands-off',
  'balance.ready-card': 'card-under-spring',
  'balance.ready-bobbin': 'bobbin-turn',
  'balance.drop': 'case-over-hand',
  'balance.top': 'pull-behind-needle',
  'balance.sew': 'two-lines',
  'balance.pair': 'two-lines',
  'drop-test.setup': 'case-over-hand',
  'drop-test.finger': 'finger-pad',
  'drop-test.card': 'card-under-spring',
  'top-feel.pull': 'pull-behind-needle',
  'sew.stitch': 'two-lines',
  'sew.differ': 'star',
  'sew.other-mode': 'star',
  'first-five.needle': 'needle-set',
  'first-five.card': 'card-under-spring',
  'first-five.drops': 'case-over-hand',
  'first-five.lines': 'two-lines',
  'stop.power-off': 'hands-off',
  'stop.needle': 'needle-set',
  'stop.drops': 'case-over-hand',
  'stop.technician': 'hands-off',
};

const ofLook: { readonly [finding: string]: Drawing } = {
  card_spring: 'card-under-spring',
  bobbin_way: 'bobbin-turn',
  needle_look: 'needle-set',
  pull_top: 'pull-behind-needle',
};

export function pictureOf(s: TaskState): ComponentChildren {
  if (s.asking) return undefined;
  if (s.task === 'sew' && s.step === 'stitch' && s.data.form === 'star') return drawings.star;
  if (s.task === 'change-screw' && s.step === 'neutral')
    return typeof s.data.screw === 'string' && isBobbin(s.data.screw) ? drawings['case-over-hand'] : undefined;
  const advice = s.task === 'balance' && s.step === 'check' ? s.data.advice : undefined;
  const finding = typeof advice === 'object' && advice !== null && 'finding' in advice ? String(advice.finding) : '';
  const id =
    ofStep[`${s.task}.${s.step}`] ?? ofStep[s.step] ?? (Object.hasOwn(ofLook, finding) ? ofLook[finding] : undefined);
  return id && drawings[id];
}
