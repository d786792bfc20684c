import { answerCase, type WorkedCase } from '../src/domain/check/cases';
import { jsonOf } from './json-file';

const isCase = (v: unknown): v is WorkedCase => {
  if (typeof v !== 'object' || v === null) return false;
  const c = v as Partial<WorkedCase>;
  return (
    typeof c.id === 'string' &&
    (c.prior === 'wrong' || c.prior === 'changed') &&
    Array.isArray(c.findings) &&
    Array.isArray(c.expected?.firstSuspicion) &&
    Array.isArray(c.expected?.nextAction) &&
    Array.isArray(c.expected?.wrong)
  );
};

/** Prints how many first suspicions and next actions are right and how much is harmful, each miss named; 1 when there is one. */
export default function run(args: readonly string[], say: (line: string) => void = console.log): number {
  const file = jsonOf(args, 'npm run cases -- FILE');
  if ('say' in file) {
    say(file.say);
    return 2;
  }
  const cases = (file.json as { readonly cases?: unknown } | null)?.cases;
  if (!Array.isArray(cases) || cases.length === 0 || !cases.every(isCase)) {
    say('The file holds no worked cases: { "cases": [ { id, prior, findings, expected, … } ] }.');
    return 2;
  }
  let misses = 0;
  const told = { suspicion: 0, step: 0, harmful: 0, early: 0, earlySuspicion: 0, earlyStep: 0 };
  for (const c of cases) {
    const { full, early } = answerCase(c);
    const miss = (what: string, got: string, want: readonly string[]) => {
      misses++;
      say(`${c.id}: ${what} ${got}, not ${want.join(' or ')}`);
    };
    if (full.suspected) told.suspicion++;
    else miss('suspects', full.suspicion, c.expected.firstSuspicion);
    if (full.helped) told.step++;
    else miss('advises', full.step, c.expected.nextAction);
    for (const harm of [...full.harmful, ...(early?.harmful ?? [])]) {
      told.harmful++;
      misses++;
      say(`${c.id}: offers ${harm}, which is wrong here`);
    }
    if (!c.early || !early) continue;
    told.early++;
    if (early.suspected) told.earlySuspicion++;
    else miss('early on suspects', early.suspicion, c.early.firstSuspicion);
    if (early.helped) told.earlyStep++;
    else miss('early on advises', early.step, c.early.nextStep);
  }
  say(
    `first suspicion ${told.suspicion} of ${cases.length}, next action ${told.step} of ${cases.length}, harmful ${told.harmful}`,
  );
  if (told.early > 0)
    say(
      `early on: first suspicion ${told.earlySuspicion} of ${told.early}, next step ${told.earlyStep} of ${told.early}`,
    );
  return misses > 0 ? 1 : 0;
}
