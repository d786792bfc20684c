/** The tasks' public face. */
export type { AskData, Question } from './ask';
export type { BalanceData } from './balance';
export type { ChangeData, Door } from './change-screw';
export { mostDialTenths, mostMinutes, stepsOf } from './change-screw';
export type { Ctx, Gaps, Kept } from './context';
export type { DropData, Row } from './drop-test';
export { type Band, bandOf, type DropVerdict, usualBand } from './drop-verdict';
export { type Fact, fact, facts, undo } from './facts';
export type { FirstFiveData } from './first-five';
export type { FirstRunData } from './first-run';
export { bobbinScrew, isBobbin, topScrew } from './ledger';
export type { LiftData } from './lift';
export type { Advice } from './next-step';
export { type Cue, dropAt, dropMs, fitGaps, gapBounds, schedule, type Touch, touchCounts, usualGaps } from './pace';
export { act, askAfterMs, begin, cautionsOf, kindOf, offers } from './run';
export { type Position, pointsBack, position } from './screws';
export type { SeeData } from './see';
export type { SewData } from './sew';
export { type StepRow, steps } from './steps';
export type { StopData } from './stop';
export { type Happening, happenings } from './stop-checks';
export { type FeatureId, features, type Match, matches, questions, symptoms } from './symptoms';
export type {
  Action,
  Caution,
  Draft,
  Offer,
  Outcome,
  Result,
  StepKind,
  TaskData,
  TaskName,
  TaskState,
  Undo,
} from './task';
export { taskNames } from './task';
export type { TopFeelData } from './top-feel';
export { nameLimit, reasonLimit } from './typed';
export { standing } from './way-in';
export { cautionStep } from './writer';
