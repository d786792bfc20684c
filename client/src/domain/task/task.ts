/**
 * The shapes of a task: a task is a table of steps, a step is a pure function of (state, action, context), and the
 * state is JSON. Whoever runs it writes state and drafts in one transaction and paints afterwards, so a task comes back
 * after a crash at the very step it was left.
 */
import type { Ctx, Json } from './context';

export const taskNames = [
  'first-run',
  'balance',
  'drop-test',
  'change-screw',
  'top-feel',
  'sew',
  'see', // "What do you see?"
  'first-five',
  'stop',
  'lift', // take "do not run" away, with a reason
  'ask', // a question about the machine, just before the first act that needs its answer
] as const;
export type TaskName = (typeof taskNames)[number];

/** What one task knows so far. JSON; a missing key means not answered. */
export type TaskData = { readonly [key: string]: Json | undefined };

export type TaskState<D extends TaskData = TaskData> = {
  readonly id: string;
  readonly task: TaskName;
  readonly step: string;
  readonly data: D;
  readonly machine: string; // record id; '' only while the first machine is being named
  readonly balancing?: string;
  readonly round: number; // from 1
  readonly startedAt: number; // ms since 1970 UTC
  readonly touchedAt: number; // ms of the last act
  readonly trail: readonly string[]; // steps that can be gone back to, oldest first; emptied where a record was written
  readonly did?: string; // task.step done just before this one, for the line that says so
  readonly asking?: 'carry-on'; // "Carry on or start this one again?": nothing else is taken
  readonly undo?: Undo; // the change just written, until the next act
  readonly back?: TaskState; // the task that opened this one
};

export type Undo = { readonly change: string; readonly screw: string; readonly minutes?: number };

/** A record to write: a new one, or fields of one that exists. */
export type Draft = { readonly kind: string; readonly id: string; readonly set: { readonly [field: string]: Json } };

export type Action =
  | { readonly do: 'next' } // the main button
  | { readonly do: 'pick'; readonly value: string; readonly of?: string } // a tile; `of` is its row or question
  | { readonly do: 'add'; readonly by: number; readonly of?: string } // plus and minus buttons
  | { readonly do: 'set'; readonly to: number; readonly of?: string } // a tap on the clock, a number typed
  | { readonly do: 'type'; readonly text: string; readonly of?: string }
  | { readonly do: 'start' | 'stop' } // of what sound paces
  | { readonly do: 'passed'; readonly drop: number } // the quiet after this drop is over (0, 1, 2)
  | { readonly do: 'hidden'; readonly atMs: number } // the page was hidden, ms since Start
  | { readonly do: 'opened' } // shown again: after a start, a hide, a crash
  | { readonly do: 'carry-on' | 'again' }
  | { readonly do: 'leave' } // to Frame; the place is kept
  | { readonly do: 'back' } // the step before, while nothing was written
  | { readonly do: 'turned-back' | 'wrote-wrong' }; // about `undo`

/** How a task ended, told to the task that opened it. */
export type Outcome = { readonly task: TaskName; readonly how: string; readonly data: TaskData };

export type Result = {
  readonly state: TaskState | undefined; // undefined: no task is open any more
  readonly drafts: readonly Draft[]; // write them with the state, in this order, in one transaction
  readonly done?: Outcome; // the outermost task has ended
  readonly refused?: true; // this step does not take that action now; nothing changed
};

export type StepKind = 'tick' | 'paced' | 'tiles' | 'set' | 'choose' | 'result' | 'text';

/** Something the person can do now: a screen draws these. */
export type Offer = {
  readonly action: Action;
  /** main: the 88 px button · tile: an answer · adjust: plus, minus, clock · small: beside the main one · write: a text field */
  readonly as: 'main' | 'tile' | 'adjust' | 'small' | 'write';
  readonly on?: boolean; // chosen already
};

/** The short lines that stay on a step; the words are in the text. */
export type Caution =
  | 'still' // stopped, needle locked out or power off, phone off the head
  | 'screw'
  | 'needle'
  | 'floor'
  | 'one-change'
  | 'moving'
  | 'pieces'
  | 'eyes'
  | 'oil'
  | 'technician'
  | 'manual';

/** Which balancing and round what follows belongs to. */
export type Place = { readonly balancing?: string; readonly round?: number };

/** Where a step leads: `to` a step of this task (the same one to stay), `call` another task, `end` this one. */
export type Move<D> =
  | { readonly to: string; readonly data?: Partial<D>; readonly place?: Place }
  | { readonly ask: 'carry-on'; readonly data?: Partial<D> } // stay, and ask "Carry on or start this one again?"
  | {
      readonly call: TaskName;
      readonly with?: TaskData;
      readonly at?: string; // the step to stand at meanwhile, and to come back to; this one if not given
      readonly data?: Partial<D>;
      readonly place?: Place;
    }
  | { readonly end: string; readonly with?: TaskData };

/** Fields to write; those that are undefined are left out. */
export type Fields = { readonly [field: string]: Json | undefined };

/** Collects what one act writes. Its context has the drafts applied, so what comes next can be worked out at once. */
export type Writer = {
  fresh(): string;
  put(kind: string, set: Fields, id?: string): string; // returns the record's id
  ctx(): Ctx;
};

export type Step<D extends TaskData> = {
  readonly kind: StepKind;
  /** The lines that stay on it; by its data where they hang on which screw it is. */
  readonly cautions?: readonly Caution[] | ((s: TaskState<D>) => readonly Caution[]);
  /** What is worked out on the way in and then stands: what was shown is what is acted on. */
  enter?(s: TaskState<D>, ctx: Ctx): Partial<D>;
  offers(s: TaskState<D>, ctx: Ctx): readonly Offer[];
  act(s: TaskState<D>, a: Action, ctx: Ctx, w: Writer): Move<D> | undefined;
  /** Shown again after the page was away for awayMs. Without it a long absence asks to carry on where `again` is given. */
  opened?(s: TaskState<D>, awayMs: number, ctx: Ctx, w: Writer): Move<D> | 'ask' | undefined;
  /** Where "start this one again" leads, and "carry on" where that is not simply this step as it stands. */
  again?(s: TaskState<D>): Move<D>;
  carryOn?(s: TaskState<D>, ctx: Ctx): Move<D>;
};

export type Task<D extends TaskData> = {
  readonly name: TaskName;
  /** A full caution to acknowledge once per person. */
  readonly caution?: readonly Caution[];
  /** The machine sews in it: not opened while "do not run" stands. */
  readonly sews?: boolean;
  first(s: TaskState<D>, ctx: Ctx, w: Writer): Move<D>;
  returned?(s: TaskState<D>, o: Outcome, ctx: Ctx, w: Writer): Move<D>;
  readonly steps: { readonly [step: string]: Step<D> };
};
