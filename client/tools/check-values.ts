import { type Calcs, type CheckValue, runChecks } from '../src/domain/check/calc';
import { calcs } from '../src/domain/check/calcs';
import { next, type Stamp, seen } from '../src/sync/clock';
import { jsonOf } from './json-file';

type ClockEvent = { readonly pt: number; readonly msg?: Stamp };

/** The clock belongs to the sync core, so its values are run from here: what is received is seen, then stamped. */
export const clock: Calcs = {
  hlc: (g) => {
    let at = g.start as Stamp;
    return (g.events as readonly ClockEvent[]).map(({ pt, msg }) => {
      at = next(msg ? seen(at, msg, pt).last : at, pt);
      return at;
    });
  },
};

const isEntry = (v: unknown): v is CheckValue =>
  typeof v === 'object' && v !== null && ['id', 'topic', 'calc', 'given', 'expect', 'tolerance'].every((k) => k in v);

/** Prints passed, failed and unknown by topic, and each miss; 1 when one failed, 2 when the file is none of that form. */
export default function run(args: readonly string[], say: (line: string) => void = console.log): number {
  const file = jsonOf(args, 'npm run check-values -- FILE');
  if ('say' in file) {
    say(file.say);
    return 2;
  }
  if (!Array.isArray(file.json) || file.json.length === 0 || !file.json.every(isEntry)) {
    say('The file is no list of check values: each has id, topic, calc, given, expect and tolerance.');
    return 2;
  }
  const outcomes = runChecks(file.json, { ...calcs, ...clock });
  for (const o of outcomes) if (o.how === 'failed') say(`failed ${o.id} ${o.calc}: ${o.why}`);
  for (const topic of new Set(outcomes.map((o) => o.topic))) {
    const own = outcomes.filter((o) => o.topic === topic);
    const count = (how: string) => own.filter((o) => o.how === how).length;
    const unknown = [...new Set(own.filter((o) => o.how === 'unknown').map((o) => o.calc))];
    say(
      `${topic}: ${count('passed')} passed, ${count('failed')} failed, ${count('unknown')} unknown` +
        (unknown.length > 0 ? ` (${unknown.join(', ')})` : '') +
        (count('data') > 0 ? `, ${count('data')} that others lean on` : ''),
    );
  }
  return outcomes.some((o) => o.how === 'failed') ? 1 : 0;
}
