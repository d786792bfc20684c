/** The tasks' public face: what the screens and words of a task import. */
export type { ChangeData } from './change-screw';
export { stepsOf } from './change-screw';
export type { Ctx, Gaps } from './context';
export type { DropData, Row } from './drop-test';
export { bandOf, type DropVerdict } from './drop-verdict';
export type { Fact } from './facts';
export { bobbinScrew, isBobbin, topScrew } from './ledger';
export type { Advice } from './next-step';
export { type Cue, dropMs, fitGaps, gapBounds, schedule, type Touch, touchCounts, usualGaps } from './pace';
export { act, cautionsOf, kindOf, offers } from './run';
export { pointsBack, position } from './screws';
export type { SeeData } from './see';
export type { SewData } from './sew';
export { steps } from './steps';
export type { Happening } from './stop-checks';
export { foundNow, type Suspect } from './suspects';
export { type FeatureId, features, type Match, matches, questions, symptoms } from './symptoms';
export type { Action, Caution, Draft, Offer, Result, TaskData, TaskName, TaskState } from './task';
