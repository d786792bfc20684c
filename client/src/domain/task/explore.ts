/** Walks every action of every step from many ways in. For tests; not part of the program. */
import type { Ctx } from './context';
import { write } from './ledger';
import { offers } from './run';
import { type Action, type TaskData, type TaskName, type TaskState, taskNames } from './task';
import { acted, bare, bobbinCase, filled, type Here, machine, opened, said, where } from './world';
import { writer } from './writer';

const bobbin = `bobbin:${bobbinCase}`;
const top = `top:${machine}`;

function ledger(ctx: Ctx): Ctx {
  const w = writer({ ...ctx, ids: Array.from({ length: 12 }, (_, i) => `e${i}`.padStart(32, '0')) });
  write(w, bobbin, { type: 'neutral' });
  w.put('reading', { type: 'pen', machine, bobbinCase, clockMinute: 10 });
  write(w, bobbin, { type: 'move', minutes: 5 });
  write(w, top, { type: 'neutral' });
  write(w, top, { type: 'move', minutes: -30 });
  return w.ctx();
}
/** Not the quilt's first balancing, so two lines are enough. */
const known: Ctx = {
  ...filled,
  balancings: [{ id: 'c'.repeat(32), at: 0, by: '', machine, quilt: filled.bench.quilt }],
};
const toLines = ['clean', 'right', 'right', 'finger', 'tips', 'next', 'as_usual', 'next'];
const needle = ['see', 'looks-wrong', 'not-now', 'next', 'not-now', 'not-now', 'not-now', 'next'];
const { bobbinThread: thread } = filled.bench;
const inBand: Ctx = {
  ...filled,
  readings: [{ id: 'd'.repeat(32), at: 1, by: '', type: 'finger', answer: 'tips', bobbinCase, thread }],
};
const dial: Ctx = { ...filled, machines: filled.machines.map((m) => ({ ...m, topKnob: 'dial' as const })) };
const alike: Ctx = { ...filled, threads: filled.threads.map((t) => ({ ...t, colour: '#113388' })) };
const stopped: Ctx = { ...filled, events: [{ id: 'f'.repeat(32), at: 0, by: '', type: 'do-not-run' }] };

/** The quilt was good before: looks that need no stitches come first, and how far back it is bad is asked. */
const wentWrong: Ctx = { ...known, balancings: known.balancings.map((b) => ({ ...b, ended: 'good-enough' as const })) };

/** Task, what is known, what it is given, and words to play before. */
export type Way = readonly [task: TaskName, ctx: Ctx, data?: TaskData, before?: readonly string[]];

/** Ways in, with worlds that differ in what is known, so that every branch has one that takes it. */
export const ways: readonly Way[] = [
  ...taskNames.map((name) => [name, filled] as const),
  ...taskNames.map((name) => [name, bare] as const),
  ['balance', ledger(filled)],
  ['balance', wentWrong],
  ['balance', known, undefined, [...toLines, '0@0', '1@180', 'next', 'not-now', 'next', 'not-now']],
  ['balance', known, undefined, [...toLines, '1@all', 'next', 'next', 'not-now', 'turn', bobbin]],
  [
    'balance',
    known,
    undefined,
    [...toLines, '1@all', 'next', 'next', 'next', '1@all', ...needle, 'next', '0@all', 'next'],
  ],
  [
    'balance',
    known,
    undefined,
    [...toLines, '0@0', '1@180', 'next', 'not-now', 'next', 'not-now', 'next', 'damaged', 'next'],
  ],
  ['drop-test', inBand, undefined, ['start', 'passed2', 'falls@0', 'falls@1', 'falls@2', 'next']],
  ['drop-test', inBand, undefined, ['start', 'passed2', 'right@0', 'falls@1', 'nothing@2', 'next']],
  ['balance', stopped],
  ['see', filled, undefined, ['top', 'dots@top_face', 'show', '2@compare']],
  ['see', filled, undefined, ['=back', 'lashes@back_face', 'show', '8']],
  ['sew', alike],
  ['balance', { ...known, threads: alike.threads }, undefined, [...toLines, 'next', '0@all', 'next']],
  ['sew', stopped],
  ['lift', stopped],
  ['drop-test', ledger(filled), { measure: true }],
  ['change-screw', dial, { door: 'about', screw: top }],
  ['change-screw', ledger(filled), { door: 'about', screw: bobbin, minutes: 5 }],
  ...(['turned', 'points', 'mark', 'lost', 'neutral'] as const).map(
    (door) => ['change-screw', ledger(filled), { door, screw: bobbin }] as const,
  ),
  ...(['points', 'lost', 'neutral'] as const).map(
    (door) => ['change-screw', ledger(filled), { door, screw: top }] as const,
  ),
  ...(['body', 'top-knob', 'modes', 'bobbin-case', 'tightens'] as const).map(
    (question) => ['ask', bare, { question }] as const,
  ),
  ...(['struck', 'jam', 'knock', 'heat', 'runs-by-itself', 'dropped'] as const).map(
    (happened) => ['stop', ledger(filled), { happened }] as const,
  ),
];

/** What tells two places apart: the chain of steps and what is chosen, not ids, times and numbers. */
function key(s: TaskState | undefined): string {
  if (!s) return 'over';
  const data = JSON.stringify(s.data, (k, v) => {
    if (/^(reading|sample|event|lost|gaps)$/.test(k)) return v !== undefined;
    if (k === 'text') return String(v).trim() !== '';
    if (k === 'minutes' || k === 'off') return Math.sign(v);
    if (k === 'advice') return v?.do;
    if (k === 'verdict') return v?.act;
    if (/^(rays|answers|skipped|did|rows|all)$/.test(k)) return Object.keys(v ?? {}).length;
    return typeof v === 'number' ? 0 : v;
  });
  return `${s.back ? `${chain(s.back)}>` : ''}${where(s)} ${data} ${s.undo ? 'undo' : ''}${s.trail.length > 0}`;
}
const chain = (s: TaskState): string => `${s.back ? `${chain(s.back)}>` : ''}${where(s)}`;

/** A place found, where each action from it leads, and how it was come by from the way in. */
export type Node = { readonly here: Here; readonly next: string[]; readonly path: readonly Action[] };
/** Places per way in. Each step is found well before; the ways that only lead somewhere need few. */
const capOf = (before: readonly string[]) => (before.length > 0 ? 80 : 200);

const explored = new Map<unknown, Map<string, Node>>();

/** Every place reached from a way in, worked out once. */
export function explore(way: Way): Map<string, Node> {
  const nodes = explored.get(way) ?? walk(way);
  explored.set(way, nodes);
  return nodes;
}

function walk([name, ctx, data, before = []]: Way): Map<string, Node> {
  const first = before.reduce((here, word, i) => acted(here, i + 1, said(word)), opened(name, ctx, data));
  const nodes = new Map<string, Node>([[key(first.state), { here: first, next: [], path: before.map(said) }]]);
  const queue = [first];
  const cap = capOf(before);
  let turn = before.length + 1;
  while (queue.length > 0) {
    const here = queue.shift() as Here;
    const node = nodes.get(key(here.state));
    if (!here.state || !node) continue;
    const extra =
      here.state.step === 'run' && !here.state.asking
        ? [{ do: 'passed', drop: 2 } as const, { do: 'hidden', atMs: 1 } as const]
        : [];
    for (const action of [
      ...offers(here.state, here.ctx).map((o) => o.action),
      ...extra,
      { do: 'opened' } as const,
      { do: 'leave' } as const,
    ]) {
      const state = JSON.parse(JSON.stringify(here.state)) as TaskState;
      const typed = action.do === 'type' ? { ...action, text: 'Words "typed" <b>here</b>' } : action;
      const next = acted({ ...here, state }, turn++, typed, action.do === 'opened' ? 61_000 : 1000);
      const k = key(next.state);
      node.next.push(k);
      if (!nodes.has(k) && nodes.size < cap) {
        nodes.set(k, { here: next, next: [], path: [...node.path, typed] });
        queue.push(next);
      }
    }
  }
  return nodes;
}

/** How to come to every step: a way in, and the acts from there. `example` is an act that the step itself takes. */
export type Route = {
  readonly task: TaskName;
  readonly step: string;
  readonly way: Way;
  readonly path: readonly Action[];
  readonly example: Action;
};

export function routes(): readonly Route[] {
  const found = new Map<string, Route>();
  for (const way of ways)
    for (const { here, path } of explore(way).values()) {
      const { state, ctx } = here;
      if (!state || state.asking) continue;
      const all = offers(state, ctx);
      const example = (all.find((o) => o.as !== 'adjust') ?? all[0])?.action; // another amount stands behind a button
      const old = found.get(where(state));
      if (example && (!old || old.path.length > path.length))
        found.set(where(state), { task: state.task, step: state.step, way, path, example });
    }
  return [...found.values()];
}
