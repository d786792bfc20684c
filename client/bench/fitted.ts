/**
 * The most that any reasoning could make of the answers: the fault model's own way of reckoning, but with tables fitted to
 * the virtual machine itself, every finding counted in full. What it reaches, no table made by hand can be asked to pass.
 */
import { faultModel, type Model, modelOf } from '../src/domain/fault-model';
import type { Cause, Look, Tables } from '../src/domain/knowledge/faults/shape';
import { tables } from '../src/domain/knowledge/faults/tables';
import { answer, broken, fork, soundMachine, survey, topThreads } from '../src/domain/virtual';

export function fittedModel(machines: number): Model {
  const rowsOf = (cause: string | undefined, n: number) => {
    const counts = new Map([...faultModel.findings.values()].map((f) => [f.id, f.states.map(() => 0.5)]));
    for (let i = 0; i < machines; i++) {
      const seed = 1_000_000 + 1000 * n + i;
      const r = fork(seed, 21);
      const thread = topThreads[i % topThreads.length];
      if (!thread) throw new RangeError('no thread');
      const sound = soundMachine(seed, fork(seed, 1), thread);
      const s = survey(cause === undefined ? sound : broken(sound, { cause, much: r.next() }), faultModel, r);
      for (const f of faultModel.findings.values()) {
        const at = f.states.indexOf(answer(s, f.id, r) ?? '');
        const row = counts.get(f.id);
        if (row && at >= 0) row[at] = (row[at] ?? 0) + 1;
      }
    }
    return Object.fromEntries(
      [...counts].map(([id, row]) => {
        const sum = row.reduce((a, b) => a + b, 0);
        return [id, row.map((c) => (10_000 * c) / sum)];
      }),
    );
  };
  const sound = rowsOf(undefined, 0);
  const looks = Object.fromEntries(
    Object.entries<Look>(tables.looks).map(([id, look]) => [id, { ...look, base: sound[id] ?? look.base }]),
  );
  const causes = Object.fromEntries(
    Object.entries<Cause>(tables.causes).map(([id, c], i) => [id, { ...c, shows: rowsOf(id, i + 1) }]),
  );
  const whole: Tables = { ...tables, looks, causes, alike: [] };
  return modelOf(whole);
}
