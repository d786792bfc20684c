/** The trade's public face: data and functions of data, nothing else. The tasks show theirs in `task/index.ts`. */
export {
  type ChangeRecord,
  type Ledger,
  type Line,
  type LookAtDial,
  ledger,
  movedSince,
  otherScrewMoved,
  type Position,
  positionAt,
  positionsOfRounds,
  type SameOrTwo,
  stepMinutes,
  toStrike,
  type WayBack,
  wayBack,
} from './change';
export { ciede2000, tooAlike } from './colour';
export { bytesInOp, type FieldFault, fieldFaults } from './field';
export { type FindingId, findingStates } from './knowledge/findings';
export { type Fault, type Fields, faults, kinds, limits, type Usable, usable } from './records';
export { looksSince, type SinceGood, type SinceWhat, sinceGood } from './since-good';
export { passes, type Tolerance, tolerances, type Work } from './tolerance';
export {
  type ClockMinutes,
  clockMinutes,
  type DialTenths,
  dialTenths,
  type LengthFault,
  parseLength,
  type TenthsInch,
  tenthsInch,
} from './units';
export { type Pulls, type Which, type WhichWhy, whichScrew } from './which-screw';
