/** Worked cases, answered by the advice: a story told as findings, with what a good technician would suspect and do. */
import { diagnose, type Findings, type Onset } from '../diagnosis';
import { nextSteps } from '../troubleshoot';

type Told = { readonly finding: string; readonly state: string };
/** A case as its file has it. `early` tells only the first few findings; its next step may be a look or an act. */
export type WorkedCase = {
  readonly id: string;
  readonly prior: Onset;
  readonly findings: readonly Told[];
  readonly expected: {
    readonly firstSuspicion: readonly string[];
    readonly nextAction: readonly string[];
    readonly wrong: readonly { readonly action: string; readonly why: string }[];
  };
  readonly early?: {
    readonly findings: number;
    readonly firstSuspicion: readonly string[];
    readonly nextStep: readonly string[];
  };
};

export type Answer = {
  readonly suspicion: string;
  readonly step: string;
  readonly suspected: boolean;
  readonly helped: boolean;
  readonly harmful: readonly string[];
};
export type CaseResult = { readonly id: string; readonly full: Answer; readonly early?: Answer };

const foundOf = (told: readonly Told[]): Findings => Object.fromEntries(told.map((t) => [t.finding, t.state]));

/** The first step on offer is the answer; harmful are those of the three on offer that the case names as wrong. */
export function answerCase(c: WorkedCase): CaseResult {
  const wrong = c.expected.wrong.map((w) => w.action);
  const answer = (told: readonly Told[], suspects: readonly string[], steps: readonly string[]): Answer => {
    const found = foundOf(told);
    const advised = nextSteps({ found, onset: c.prior });
    const suspicion = diagnose(found, c.prior).suspicions[0]?.cause ?? '';
    const step = advised.steps[0]?.id ?? '';
    return {
      suspicion,
      step,
      suspected: suspects.includes(suspicion),
      helped: steps.includes(step),
      harmful: advised.steps.map((s) => s.id).filter((id) => wrong.includes(id)),
    };
  };
  return {
    id: c.id,
    full: answer(c.findings, c.expected.firstSuspicion, c.expected.nextAction),
    early: c.early && answer(c.findings.slice(0, c.early.findings), c.early.firstSuspicion, c.early.nextStep),
  };
}
