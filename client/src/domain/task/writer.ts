import type { Ctx, Json } from './context';
import type { Draft, Fields, Writer } from './task';

type List =
  | 'machines'
  | 'bobbinCases'
  | 'threads'
  | 'quilts'
  | 'balancings'
  | 'changes'
  | 'readings'
  | 'findings'
  | 'samples'
  | 'events';

/** The context's list that holds a kind. Kinds that no rule reads back within one act have none. */
const lists: { readonly [kind: string]: List } = {
  machine: 'machines',
  bobbinCase: 'bobbinCases',
  thread: 'threads',
  quilt: 'quilts',
  balancing: 'balancings',
  change: 'changes',
  reading: 'readings',
  finding: 'findings',
  sample: 'samples',
  event: 'events',
};

/** The `step` of the event that says a task's full caution was acknowledged. */
export const cautionStep = (task: string) => `caution ${task}`;

/** A writer over one act's context. Ids come from the context's list, in order, so an act is the same each time. */
export function writer(ctx: Ctx): Writer & { readonly drafts: Draft[] } {
  const drafts: Draft[] = [];
  let used = 0;
  let seen = ctx;
  const fresh = () => {
    const id = ctx.ids[used++];
    if (id === undefined) throw new RangeError(`only ${ctx.ids.length} fresh ids for one act`);
    return id;
  };
  return {
    drafts,
    fresh,
    ctx: () => seen,
    put(kind, set, id) {
      const record = id ?? fresh();
      const fields = defined(id === undefined ? { ...set, zone: ctx.zone } : set);
      drafts.push({ kind, id: record, set: fields });
      seen = withDraft(seen, kind, record, fields);
      return record;
    },
  };
}

function defined(set: Fields): Draft['set'] {
  return Object.fromEntries(Object.entries(set).filter((e): e is [string, Json] => e[1] !== undefined));
}

/** The context as it is once a draft is stored. */
export function withDraft(ctx: Ctx, kind: string, id: string, set: { readonly [field: string]: Json }): Ctx {
  if (kind === 'bench') return id === ctx.machine ? { ...ctx, bench: { ...ctx.bench, ...set } } : ctx;
  const step = kind === 'event' ? set.step : undefined;
  if (typeof step === 'string' && step.startsWith(cautionStep('')))
    return { ...ctx, acknowledged: [...ctx.acknowledged, step.slice(cautionStep('').length)] };
  const name = lists[kind];
  if (name === undefined) return ctx;
  const rows = ctx[name] as readonly { readonly id: string }[];
  const old = rows.find((r) => r.id === id);
  const next = old
    ? rows.map((r) => (r === old ? { ...r, ...set } : r))
    : [...rows, { id, at: ctx.now, by: '', ...set }];
  return { ...ctx, [name]: next };
}
