/** A world for tests: a context that takes in what the tasks write, as the store does. Not part of the program. */
import type { Ctx } from './context';
import { usualGaps } from './pace';
import { act, begin } from './run';
import type { Action, Draft, Outcome, TaskData, TaskName, TaskState } from './task';
import { withDraft } from './writer';

export const hex = (n: number) => n.toString(16).padStart(32, '0');

export const machine = hex(0xa1);
export const bobbinCase = hex(0xb1);
export const otherCase = hex(0xb2);
const [topThread, bobbinThread, quilt] = [hex(0xc1), hex(0xc2), hex(0xd1)];
const kept = { at: 0, by: '' };

/** Nothing known: a machine with a name. */
export const bare: Ctx = {
  now: Date.UTC(2026, 3, 1, 9),
  zone: 120,
  ids: [],
  acknowledged: [],
  gauge: false,
  gaps: usualGaps,
  machine,
  machines: [{ id: machine, ...kept, name: 'Long one' }],
  bench: {},
  bobbinCases: [],
  threads: [],
  quilts: [],
  balancings: [],
  changes: [],
  readings: [],
  findings: [],
  samples: [],
  events: [],
};

/** Everything answered, bench filled, cautions acknowledged: what the tap budgets count from. */
export const filled: Ctx = {
  ...bare,
  acknowledged: ['balance', 'drop-test', 'change-screw', 'top-feel', 'sew', 'see', 'first-five', 'stop', 'lift', 'ask'],
  gauge: true,
  machines: [
    {
      id: machine,
      ...kept,
      name: 'Long one',
      body: 'frame',
      topKnob: 'turns',
      topTightens: 'clockwise',
      modes: ['regulated', 'manual'],
    },
  ],
  bobbinCases: [
    { id: bobbinCase, ...kept, label: 'Blue dot', fits: [machine], tightens: 'clockwise' },
    { id: otherCase, ...kept, label: 'Two notches', fits: [machine], tightens: 'clockwise' },
  ],
  threads: [
    { id: topThread, ...kept, number: '40', fibre: 'polyester', colour: '#113388' },
    { id: bobbinThread, ...kept, number: '60', fibre: 'polyester', colour: '#dd7711' },
  ],
  quilts: [{ id: quilt, ...kept, name: 'River stones', work: 'custom' }],
  bench: { quilt, topThread, bobbinThread, bobbinKind: 'pre-wound', bobbinCase },
};

export type Here = {
  readonly ctx: Ctx;
  readonly state: TaskState | undefined;
  readonly drafts: readonly Draft[];
  readonly done?: Outcome;
};

/** Ids that no earlier act has had: counted from what the context holds already. */
function supplied(ctx: Ctx, turn: number): Ctx {
  return { ...ctx, ids: Array.from({ length: 16 }, (_, i) => hex(0x1000 + turn * 16 + i)) };
}

function stored(ctx: Ctx, drafts: readonly Draft[]): Ctx {
  return drafts.reduce((c, d) => withDraft(c, d.kind, d.id, d.set), ctx);
}

export function opened(name: TaskName, ctx: Ctx, data?: TaskData, turn = 0): Here {
  const r = begin(name, supplied(ctx, turn), { with: data });
  return { ctx: stored(ctx, r.drafts), state: r.state, drafts: r.drafts, done: r.done };
}

/** One act, a second later. Throws where the step does not take it. */
export function acted(here: Here, turn: number, action: Action, laterMs = 1000): Here {
  if (!here.state) throw new Error(`no task is open for ${JSON.stringify(action)}`);
  const ctx = supplied({ ...here.ctx, now: here.ctx.now + laterMs }, turn);
  const r = act(here.state, action, ctx);
  if (r.refused)
    throw new Error(
      `${here.state.task}.${here.state.step} refused ${JSON.stringify(action)} with ${JSON.stringify(here.state.data)}`,
    );
  return { ctx: stored(ctx, r.drafts), state: r.state, drafts: r.drafts, done: r.done };
}

const plain = ['next', 'start', 'stop', 'opened', 'carry-on', 'again', 'leave', 'back', 'turned-back', 'wrote-wrong'];

/** Actions as short words: `do:again`, `add5`, `add-5@1`, `set35`, `passed0`, `hidden4000`, `"typed"`; any other word is a tile, `=back` too. */
export function said(word: string): Action {
  const [head = '', of] = word.split('@');
  const at = of === undefined ? {} : { of };
  const number = /^(add|set|passed|hidden)(-?\d+)$/.exec(head);
  const n = Number(number?.[2]);
  if (number?.[1] === 'add') return { do: 'add', by: n, ...at };
  if (number?.[1] === 'set') return { do: 'set', to: n, ...at };
  if (number?.[1] === 'passed') return { do: 'passed', drop: n };
  if (number?.[1] === 'hidden') return { do: 'hidden', atMs: n };
  if (head.startsWith('"')) return { do: 'type', text: head.slice(1, -1), ...at };
  if (head.startsWith('=')) return { do: 'pick', value: head.slice(1), ...at };
  const verb = head.replace(/^do:/, '');
  if (plain.includes(verb) && (verb !== 'again' || head !== verb)) return { do: verb } as Action;
  return { do: 'pick', value: head, ...at };
}

export type Story = Here & { readonly written: readonly Draft[]; readonly steps: readonly string[] };

/** Plays words one after the other, through JSON at each step. A second story on the same records needs another number, for its ids. */
export function play(name: TaskName, ctx: Ctx, words: readonly string[], data?: TaskData, story = 0): Story {
  let here = opened(name, ctx, data, story * 100);
  const written = [...here.drafts];
  const steps = [where(here.state)];
  words.forEach((word, i) => {
    const state = here.state && (JSON.parse(JSON.stringify(here.state)) as TaskState);
    here = acted({ ...here, state }, story * 100 + i + 1, said(word));
    written.push(...here.drafts);
    steps.push(where(here.state));
  });
  return { ...here, written, steps };
}

export const where = (s: TaskState | undefined): string => (s ? `${s.task}.${s.step}${s.asking ? '?' : ''}` : '');
