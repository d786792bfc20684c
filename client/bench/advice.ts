/**
 * npm run bench:advice [RUNS [PARTS]]: how good the advice is, on virtual machines. Every figure stands beside its bar, seeded,
 * so that the same program prints the same figures. It ends with 1 where one misses. PARTS, with commas: cases, settings,
 * faults, harm; of harm ten times the runs.
 */
import casesFile from '../../testdata/published/cases.json';
import { answerCase, type WorkedCase } from '../src/domain/check/cases';
import { diagnose } from '../src/domain/diagnosis';
import { tableSpread } from '../src/domain/virtual';
import { byChecklist, cure, curedAlike, perturbed, suspect, troubleOf } from './faults';
import { type Figure, reached } from './figure';
import { fittedModel } from './fitted';
import { harmFigures } from './harm';
import { advised, history, ruleOfThumb, startOf, type Walk, walk } from './settings';
import { byTheTables } from './table-world';

const firstSeed = 1000;
const answers = 6;
const seeds = (runs: number) => Array.from({ length: runs }, (_, i) => firstSeed + i);
const mean = (xs: readonly number[]) => xs.reduce((n, x) => n + x, 0) / Math.max(1, xs.length);
const percent = (xs: readonly boolean[]) => 100 * mean(xs.map(Number));
export const quantile = (xs: readonly number[], q: number) =>
  [...xs].sort((a, b) => a - b)[Math.floor(q * (xs.length - 1))] ?? 0;

/** Pure setting faults: samples until it is good enough. One that never ends counts as thirty. */
export function settingFigures(runs: number) {
  const all = (walker: (seed: number) => Parameters<typeof walk>[1]) =>
    seeds(runs).map((seed) => walk(startOf(seed), walker(seed)));
  const [rule, advice, learned] = [all(() => ruleOfThumb), all(() => advised()), all((seed) => advised(history(seed)))];
  const samples = (ws: readonly Walk[]) => ws.map((w) => w.samples);
  const fewer = (ws: readonly Walk[]) => 100 * (1 - mean(samples(ws)) / mean(samples(rule)));
  const figures: readonly Figure[] = [
    { what: 'settings: samples, median', is: quantile(samples(advice), 0.5), bar: 3 },
    { what: 'settings: samples, 95th percentile', is: quantile(samples(advice), 0.95), bar: 7 },
    { what: 'settings: fewer samples than the plain walk, %', is: fewer(advice), bar: 40, least: true },
    {
      what: 'virtual machine: samples of the plain walk, median',
      is: quantile(samples(rule), 0.5),
      bar: 5,
      least: true,
    },
    { what: 'harm: turns past the caps', is: [...advice, ...learned].flatMap((w) => w.harm).length, bar: 0 },
  ];
  const line = (name: string, ws: readonly Walk[]) =>
    `  ${name}: mean ${mean(samples(ws)).toFixed(2)}, not ended ${ws.filter((w) => !w.ended).length} of ${runs}, drop tests ${mean(ws.map((w) => w.drops)).toFixed(2)}`;
  const notes = [
    line('plain walk', rule),
    line('advice', advice),
    `${line('advice with three balancings behind it', learned)}, ${fewer(learned).toFixed(1)} % fewer`,
  ];
  return { figures, notes };
}

/** Mechanical and mixed faults: first suspicion, what tables fitted to the machine would make of it, and minutes to the cure. */
export function faultFigures(runs: number, fittedTo: number) {
  const fitted = fittedModel(fittedTo);
  const troubles = seeds(runs).map((seed) => troubleOf(seed));
  const asked = troubles.map((t) => suspect(t, answers));
  const right = Array.from({ length: answers + 1 }, (_, k) => percent(asked.map((s) => s.right[k] === true)));
  const firstBy = (model: typeof fitted | undefined) =>
    troubles.map((t, i) => diagnose(asked[i]?.found[answers] ?? {}, t.onset, [], model).suspicions[0]?.cause ?? '');
  const isTrue = (i: number, cause: string) => troubles[i]?.v.faults.some((f) => f.cause === cause) === true;
  const first = firstBy(undefined);
  const ceiling = percent(firstBy(fitted).map((cause, i) => isTrue(i, cause)));
  const ownQuestions = percent(troubles.map((t) => suspect(t, answers, fitted).right[answers] === true));
  const tablesOwn = percent(byTheTables(troubles, answers).map((right) => right[answers] === true));
  const alike = percent(first.map((c, i) => troubles[i]?.v.faults.some((f) => curedAlike(f.cause, c)) === true));
  const confused = new Map<string, number>();
  for (const [i, c] of first.entries()) {
    if (isTrue(i, c)) continue;
    const name = `${troubles[i]?.v.faults.map((f) => f.cause).join(' + ')} taken for ${c}`;
    confused.set(name, (confused.get(name) ?? 0) + 1);
  }
  const most = [...confused].sort((a, b) => b[1] - a[1]).slice(0, 12);
  const off = percent(troubles.map((t) => suspect(t, answers, perturbed(t.seed, tableSpread)).right[answers] === true));
  const [advice, list] = [troubles.map((t) => cure(t)), troubles.map((t) => byChecklist(t))];
  const minutes = (cs: typeof advice) => mean(cs.map((c) => c.minutes));
  const last = right[answers] ?? 0;
  const figures: readonly Figure[] = [
    { what: `faults: first suspicion right after ${answers} answers, %`, is: last, bar: 85, least: true },
    { what: 'faults: points lost with every likelihood off by 0.6', is: last - off, bar: 5 },
    { what: 'faults: minutes to the cure, % of the checklist', is: (100 * minutes(advice)) / minutes(list), bar: 60 },
  ];
  const ended = (cs: typeof advice) =>
    ['cured', 'technician', 'called-for-nothing', 'given-up']
      .map((h) => `${h} ${cs.filter((c) => c.how === h).length}`)
      .join(', ');
  const notes = [
    `  right after 0, 1 … ${answers} answers: ${right.map((p) => p.toFixed(1)).join(', ')} %`,
    `  inference by tables fitted to the machine reaches ${ceiling.toFixed(1)} % on the same answers: the advice ${((100 * last) / ceiling).toFixed(0)} % of that`,
    `  by its own ${answers} questions such tables reach ${ownQuestions.toFixed(1)} %: about the most that is to be had`,
    `  in a world that is exactly the tables, nothing off and nothing misread, ${answers} answers reach ${tablesOwn.toFixed(1)} %`,
    `  a suspicion counted as right also where one act cures it and the true cause alike: ${alike.toFixed(1)} %`,
    `  of a pair, either true cause counts; wrong most often: ${most.map(([name, n]) => `${name} ${n}`).join('; ')}`,
    `  advice ${minutes(advice).toFixed(1)} min (${ended(advice)})`,
    `  checklist ${minutes(list).toFixed(1)} min (${ended(list)})`,
  ];
  return { figures, notes };
}

/** The worked cases of the project's own file. */
export function caseFigures() {
  const cases = (casesFile as unknown as { readonly cases: readonly WorkedCase[] }).cases;
  const results = cases.map(answerCase);
  const all = results.length;
  const figures: readonly Figure[] = [
    {
      what: 'worked cases: first suspicion',
      is: results.filter((r) => r.full.suspected).length,
      bar: all,
      least: true,
    },
    { what: 'worked cases: next action', is: results.filter((r) => r.full.helped).length, bar: all, least: true },
    { what: 'worked cases: harmful', is: results.flatMap((r) => r.full.harmful).length, bar: 0 },
  ];
  return { figures, notes: [] as readonly string[] };
}

export default function main(args: readonly string[]): number {
  const runs = Number(args[0] ?? 1000);
  if (!Number.isInteger(runs) || runs < 1) {
    console.error('bench:advice: name how many runs, a whole number above 0.');
    return 2;
  }
  const figures: Figure[] = [];
  const parts: { readonly [part: string]: () => { figures: readonly Figure[]; notes: readonly string[] } } = {
    cases: caseFigures,
    settings: () => settingFigures(runs),
    faults: () => faultFigures(runs, 40),
    harm: () => harmFigures(10 * runs, firstSeed),
  };
  const asked = args[1]?.split(',') ?? Object.keys(parts);
  if (!asked.every((part) => Object.hasOwn(parts, part))) {
    console.error(`bench:advice: parts are ${Object.keys(parts).join(', ')}.`);
    return 2;
  }
  for (const part of asked) {
    const { figures: some, notes } = parts[part]?.() ?? { figures: [], notes: [] };
    figures.push(...some);
    for (const f of some)
      console.log(
        `${reached(f) ? 'reached' : 'MISSED '}  ${f.what}: ${Number(f.is.toFixed(1))} (bar ${f.least ? '≥' : '≤'} ${f.bar})`,
      );
    for (const note of notes) console.log(note);
  }
  const missed = figures.filter((f) => !reached(f)).length;
  console.log(`${figures.length - missed} reached, ${missed} missed; ${runs} runs from seed ${firstSeed}`);
  return missed > 0 ? 1 : 0;
}
