/** The virtual machine's face: a head with hidden faults, and a person who sews, looks and tests. */
export { broken, changes, inKnobs, physicsOf, without } from './faults';
export { answer, bears, type Surveyed, survey, tableSpread } from './look';
export { type Fault, soundMachine, type Virtual } from './machine';
export { type DropState, dropTest, feelTop, rate } from './person';
export { between, chance, fork, pick, type Random, seeded, weighted } from './random';
export { dropBandMm, ranges, starts } from './ranges';
export { depthAt, isGood, sewLine, trueScore, type Where } from './sew';
export { star } from './survey';
export { topThreads } from './threads';
