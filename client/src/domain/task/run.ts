/** Runs the tasks: one act in, the next state and what to write out. Pure; knows no task by name. */
import type { Ctx } from './context';
import { takeBack, waysBack } from './ledger';
import {
  type Action,
  type Caution,
  type Move,
  type Offer,
  type Outcome,
  type Place,
  type Result,
  type Step,
  type StepKind,
  type TaskData,
  type TaskName,
  type TaskState,
  taskNames,
} from './task';
import { tasks } from './tasks';
import { afterBlocked, gate, standing, wayIn } from './way-in';
import { writer } from './writer';

/** Longer away than this and a step that can start again asks first (60 s: our choice). */
export const askAfterMs = 60_000;
/** How far back "the step before" reaches. */
const trailLength = 12;

type Pen = ReturnType<typeof writer>;
type At = { readonly state: TaskState | undefined; readonly done?: Outcome };

/** Opens a task. `with` presets its data (which screw, which door). */
export function begin(name: TaskName, ctx: Ctx, options: Place & { readonly with?: TaskData } = {}): Result {
  const pen = writer(ctx);
  return result(open(name, options.with ?? {}, undefined, options, ctx, pen), pen);
}

/** One act of the person, or of the page (`opened`, `passed`, `hidden`). */
export function act(state: TaskState, action: Action, ctx: Ctx): Result {
  const pen = writer(ctx);
  const at = whole(action) ? take(state, action, ctx, pen) : undefined;
  return at ? result(at, pen) : { state, drafts: [], refused: true };
}

/** Numbers in an action are whole, and none is -0: what a record may hold. Times since Start may be fractions. */
function whole(a: Action): boolean {
  const n = a.do === 'add' ? a.by : a.do === 'set' ? a.to : a.do === 'passed' ? a.drop : 0;
  return Number.isSafeInteger(n) && !Object.is(n, -0);
}

/** Everything the person can do now, in the order to draw it. */
export function offers(state: TaskState, ctx: Ctx): readonly Offer[] {
  const small = (action: Action): Offer => ({ action, as: 'small' });
  if (state.asking) return [{ action: { do: 'carry-on' }, as: 'main' }, small({ do: 'again' }), small({ do: 'leave' })];
  const own = stepOf(state).offers(state, ctx);
  if (kindOf(state) === 'paced') return own; // sound paces: nothing else is live
  return [
    ...own,
    ...(state.undo ? waysBack(ctx, state.undo.change).map((how) => small({ do: how })) : []),
    ...(before(state) ? [small({ do: 'back' })] : []),
    small({ do: 'leave' }),
  ];
}

function take(state: TaskState, a: Action, ctx: Ctx, pen: Pen): At | undefined {
  const touched: TaskState = { ...state, touchedAt: ctx.now };
  const step = stepOf(state);
  const { asking: _, ...clear } = touched;
  if (a.do === 'leave') return { state: touched };
  if (a.do === 'opened') {
    if (state.asking) return { state };
    const away = Math.max(0, ctx.now - state.touchedAt);
    const move = step.opened ? step.opened(state, away, ctx, pen) : away > askAfterMs && step.again ? 'ask' : undefined;
    if (move === undefined) return { state };
    return move === 'ask' ? { state: { ...touched, asking: 'carry-on' } } : go(clear, move, pen);
  }
  if (state.asking) {
    if (a.do === 'carry-on') return step.carryOn ? go(clear, step.carryOn(clear, ctx), pen) : { state: clear };
    return a.do === 'again' ? go(clear, step.again?.(clear) ?? { to: state.step }, pen) : undefined;
  }
  if (tasks[state.task].sews && state.step !== 'blocked' && standing(ctx).length > 0)
    return { state: { ...clear, step: 'blocked', data: { ...state.data, stoodAt: state.step } } };
  const paced = step.kind === 'paced';
  if (a.do === 'back' && !paced) {
    const there = before(clear);
    return there && { state: arrive({ ...there, touchedAt: ctx.now }, pen) };
  }
  if (a.do === 'turned-back' || a.do === 'wrote-wrong') {
    const { undo, ...rest } = clear;
    if (!undo || paced || takeBack(a.do, undo.change, pen)) return undefined;
    return { state: { ...rest, undo: answerTo(undo, pen) } };
  }
  const move = step.act(clear, a, ctx, pen);
  if (!move) return undefined;
  const { undo: __, ...rest } = clear;
  const at = go(rest, move, pen);
  const passed = a.do === 'pick' && a.value === 'not-now'; // nothing was done: nothing is said to have been
  return passed && at.state ? { ...at, state: { ...at.state, did: undefined } } : at;
}

/** What taking back wrote is said in its turn, with the ways back that it has. */
function answerTo({ screw }: NonNullable<TaskState['undo']>, pen: Pen): TaskState['undo'] {
  const last = pen.drafts.at(-1);
  if (!last) return undefined;
  const { minutes } = last.set;
  return typeof minutes === 'number' ? { change: last.id, screw, minutes } : { change: last.id, screw };
}

function open(name: TaskName, data: TaskData, back: TaskState | undefined, place: Place, ctx: Ctx, pen: Pen): At {
  const state: TaskState = {
    id: pen.fresh(),
    task: name,
    step: gate,
    data,
    machine: ctx.machine,
    balancing: place.balancing,
    round: place.round ?? 1,
    startedAt: ctx.now,
    touchedAt: ctx.now,
    trail: [],
    did: back?.did,
    back,
  };
  return enterTask(state, pen);
}

/** The way in: machine not to be run, then the full caution, then the task's own first step. */
function enterTask(state: TaskState, pen: Pen): At {
  const task = tasks[state.task];
  const ctx = pen.ctx();
  const atGate = { ...state, step: gate };
  if (task.sews && standing(ctx).length > 0) return { state: { ...state, step: 'blocked' } };
  if (unread(state.task, ctx).length > 0) return { state: { ...state, step: 'caution' } };
  const at = go(atGate, task.first(atGate, ctx, pen), pen);
  return at.state && at.state.id === state.id ? { ...at, state: { ...at.state, trail: [] } } : at;
}

function go(state: TaskState, move: Move<TaskData>, pen: Pen, returned = false): At {
  if ('end' in move) return end(state, { task: state.task, how: move.end, data: move.with ?? {} }, pen);
  const place = 'place' in move ? move.place : undefined;
  const here: TaskState = { ...state, ...place, data: { ...state.data, ...move.data } };
  if ('ask' in move) return { state: { ...here, asking: move.ask } };
  if ('call' in move) {
    const at = move.at === undefined || move.at === here.step ? here : walk(here, move.at, pen, returned);
    return open(move.call, move.with ?? {}, at, here, pen.ctx(), pen);
  }
  if (move.to === gate) return enterTask(here, pen);
  if (move.to === here.step && !returned) return { state: here };
  return { state: arrive(walk(here, move.to, pen, returned), pen) };
}

/** To another step. What was written can't be gone back behind. */
function walk(here: TaskState, to: string, pen: Pen, returned: boolean): TaskState {
  const past = returned ? here.trail : [...here.trail, here.step];
  const did = here.step === gate || returned ? here.did : `${here.task}.${here.step}`;
  return { ...here, step: to, did, trail: here.step === gate || pen.drafts.length > 0 ? [] : past.slice(-trailLength) };
}

/** Works out what the step shows, once, on the way in. */
function arrive(state: TaskState, pen: Pen): TaskState {
  const found = stepOf(state).enter?.(state, pen.ctx());
  return found ? { ...state, data: { ...state.data, ...found } } : state;
}

function end(state: TaskState, done: Outcome, pen: Pen): At {
  const parent = state.back;
  if (!parent) return { state: undefined, done };
  const trail = pen.drafts.length > 0 || done.data.wrote ? [] : parent.trail;
  const here: TaskState = { ...parent, touchedAt: pen.ctx().now, trail, did: `${state.task}.${state.step}` };
  const { stoodAt } = parent.data;
  const move =
    parent.step === 'blocked'
      ? afterBlocked(done, typeof stoodAt === 'string' ? stoodAt : undefined)
      : (tasks[parent.task].returned?.(here, done, pen.ctx(), pen) ?? { to: parent.step });
  const at = go(here, move, pen, true);
  const undo = undoOf(done);
  return at.state && undo ? { ...at, state: { ...at.state, undo } } : at;
}

/** A change just written can be taken back from wherever it led. */
function undoOf({ data: { change, screw, minutes } }: Outcome): TaskState['undo'] {
  if (typeof change !== 'string' || typeof screw !== 'string') return undefined;
  return typeof minutes === 'number' ? { change, screw, minutes } : { change, screw };
}

/** One step back; before the first step of a task that another opened, back to that one as if nothing had been. */
function before(state: TaskState): TaskState | undefined {
  const step = state.trail.at(-1);
  if (step !== undefined) return { ...state, step, trail: state.trail.slice(0, -1) };
  return state.back?.step === gate ? before(state.back) : state.back;
}

function stepOf(state: TaskState): Step<TaskData> {
  const step = tasks[state.task].steps[state.step] ?? wayIn[state.step];
  if (!step) throw new RangeError(`no step ${state.task}.${state.step}`);
  return step;
}

function result(at: At, pen: Pen): Result {
  return { state: at.state, drafts: pen.drafts, ...(at.done ? { done: at.done } : {}) };
}

export const kindOf = (state: TaskState): StepKind => stepOf(state).kind;

/** The short lines that stay on this step, or what the full caution says: what this person has not read in another task's. */
export function cautionsOf(state: TaskState, ctx: Ctx): readonly Caution[] {
  if (state.step === 'caution') return unread(state.task, ctx);
  const { cautions = [] } = stepOf(state);
  return typeof cautions === 'function' ? cautions(state) : cautions;
}

function unread(name: TaskName, ctx: Ctx): readonly Caution[] {
  if (ctx.acknowledged.includes(name)) return [];
  const read = ctx.acknowledged.flatMap((t) => taskNames.filter((n) => n === t).flatMap((n) => tasks[n].caution ?? []));
  return (tasks[name].caution ?? []).filter((c) => !read.includes(c));
}
