/**
 * The most that the tables by themselves can tell: a world that answers exactly as they say, with nothing off and nothing
 * misread, where the diagnosis is exact inference but for findings counted half. What first suspicions reach there in so many
 * answers, these tables cannot pass by reasoning; only a machine that speaks more plainly than they expect can.
 */
import type { Findings } from '../src/domain/diagnosis';
import { faultModel } from '../src/domain/fault-model';
import { fork, weighted } from '../src/domain/virtual';
import { asked, complaintBy, type Trouble } from './faults';

/** Rightness after 0, 1, 2 … answers, with the causes of these troubles. */
export function byTheTables(troubles: readonly Trouble[], answers: number): readonly (readonly boolean[])[] {
  return troubles.map((t) => {
    const r = fork(t.seed, 17);
    const [one = 0, other = one] = t.v.faults.map((f) => faultModel.causes.indexOf(f.cause));
    const said = new Map<string, string | undefined>();
    const tell = (finding: string): string | undefined => {
      const f = faultModel.findings.get(finding);
      if (!f) return undefined;
      const { alone, pairs } = f.shown();
      const at = (f.place[one] ?? 0) * (f.bearing.length + 1) + (f.place[other] ?? 0);
      const chances = f.states.map((state, s) => [state, (one === other ? alone[s]?.[one] : pairs[s]?.[at]) ?? 0]);
      if (!said.has(finding)) said.set(finding, weighted(r, Object.fromEntries(chances)));
      return said.get(finding);
    };
    const complaint: Findings = complaintBy(tell, () => true, r) ?? {};
    return asked({ ...t, complaint }, answers, tell).right;
  });
}
