/** What the loop shows and takes: the state that every screen is made of, and the intents that screens send. */
import type { Brought } from './code';
import type { NoWayBack, TakeBack } from './domain/change';
import type { FieldFault } from './domain/field';
import type { Calibration } from './domain/ruler';
import type { Paper } from './domain/sheet';
import type { Action, Ctx, Draft as Drawn, Fact, TaskData, TaskName, TaskState } from './domain/task';
import { usualGaps } from './domain/task/pace';
import type { Rows } from './read';
import type { Draft, Needed, Photo, StoreError } from './store/store';
import type { Run, RunFault } from './sync/code-run';
import type { Json } from './sync/ops';
import type { TableName } from './text/tables';

export type Settings = {
  readonly theme: 'system' | 'day' | 'lamp' | 'glare';
  readonly text: 'normal' | 'large' | 'largest';
  readonly hand: 'right' | 'left';
  readonly units: 'in' | 'mm';
  readonly paper: Paper; // what sheets are printed on
  readonly sound: boolean;
  readonly buzz: boolean;
  readonly flash: boolean;
  readonly voice: boolean;
  readonly gauge: boolean;
  readonly gaps: Ctx['gaps'];
  readonly acknowledged: readonly string[];
  readonly ruler?: Calibration; // this screen, once it was matched with a card
  readonly homeNotNowAt: number; // ms UTC of the last "Not now" to the home screen, 0 for never
};

export const usualSettings: Settings = {
  theme: 'system',
  text: 'normal',
  hand: 'right',
  units: 'in',
  paper: 'a4',
  sound: true,
  buzz: true,
  flash: true,
  voice: false,
  gauge: false,
  gaps: usualGaps,
  acknowledged: [],
  homeNotNowAt: 0,
};

/** What stands between the person and safety; a sentence for each is in the text. */
export type Trouble = StoreError['reason'] | FieldFault | NoWayBack | 'no-picture' | 'unknown';

export type Storage = {
  readonly used?: number;
  readonly allowed?: number;
  readonly kept?: boolean;
  readonly installed: boolean;
};

/** A studio on this phone beside the one that is shown. `waiting` and `refused`: things in it that no server has. */
export type OtherStudio = {
  readonly id: string;
  readonly name: string;
  readonly records: number;
  readonly shared: boolean;
  readonly waiting: number;
  readonly refused: number;
};

/** How it stands with the studio's server. */
export type Link = {
  readonly joined: boolean;
  readonly state: 'alone' | 'idle' | 'sending' | 'offline' | 'refused' | 'too-old' | 'too-new';
  readonly server?: string;
  readonly studioName?: string;
  readonly heardAt?: number;
  readonly role?: string;
  readonly phone?: string; // this phone in the studio's list
  readonly pendingCode?: string;
  readonly trouble?: string; // the server's own sentence
  readonly more?: boolean; // a first reading is under way
  readonly busy?: boolean; // a code is being tried
  readonly others?: readonly OtherStudio[]; // also on this phone
};

/**
 * A studio as codes for another phone's camera, `count` of them; none where that is more than a run may have, and a count of 0
 * where they could not be made. `round`: in which order. `stays`: they are the same the next time, while nothing is written.
 */
export type CodesOut = {
  readonly codes: readonly string[];
  readonly count: number;
  readonly round: readonly number[];
  readonly stays: boolean;
};

/** What a camera read of such codes. `fault`: why the last one was not taken; `file`: all of them are here, and it is in them. */
export type CodesIn = {
  readonly run?: Run;
  readonly missing?: readonly number[];
  readonly fault?: RunFault | 'not-whole' | undefined;
  readonly file?: File;
  readonly came?: string; // what the last run came to
};

/** `take-up`: what was read before and kept; `drop` throws it away. */
export type CodesAct =
  | { readonly do: 'take-up' }
  | { readonly do: 'drop' }
  | { readonly do: 'read'; readonly text: string };

export type State = {
  readonly phase: 'starting' | 'new' | 'ready' | 'broken';
  readonly trouble?: Trouble;
  readonly path: string;
  readonly rows: Rows;
  readonly partly?: boolean; // only what Frame shows at once is read; the rest comes in a moment
  readonly ctx: Ctx;
  readonly machine: string;
  readonly reading?: boolean; // the studio that was joined is not read to an end for the first time
  readonly task?: TaskState;
  readonly open: readonly TaskState[]; // the one touched last first
  readonly filed: readonly TaskState[]; // left too long and put away as unfinished, the last first
  readonly waiting: number;
  readonly needs: readonly Needed[];
  readonly keptHere: readonly Needed[]; // refused for good, and kept on this phone only
  readonly copies: number; // things written since the last copy out
  readonly copiedAt: number;
  readonly settings: Settings;
  readonly person: string;
  readonly drafts: ReadonlyMap<string, string>; // texts that are being typed, by key
  readonly wrote?: { readonly change: string; readonly screw: string }; // the change just written, until the next act
  readonly undo?: { readonly of: 'removal' | 'fact'; readonly drafts: readonly Draft[] }; // takes the last one back, until the next act
  readonly storage: Storage;
  readonly home?: 'offered' | 'by-hand'; // the way to the home screen, where this browser has one
  readonly link: Link;
  readonly update?: () => void; // a new version waits
  readonly updateHeld?: boolean; // it was not let in: a tab is in the middle of a task
  readonly photoOf: (sha256: string) => Promise<Photo | undefined>;
  readonly brought?: Brought; // a code that the address brought, until a form was opened with it
  readonly codesOut?: CodesOut | undefined;
  readonly codesIn?: CodesIn | undefined;
  readonly said?: Json; // what the last act of a screen came to, for that screen to show
  readonly looked?: Blob | undefined; // the file that `said` is of, where one was looked at
};

export type Intent =
  | { readonly type: 'start' }
  | { readonly type: 'go'; readonly path: string }
  | { readonly type: 'back' }
  | { readonly type: 'pick-machine'; readonly machine: string }
  | { readonly type: 'begin'; readonly task: TaskName; readonly with?: TaskData }
  | { readonly type: 'resume'; readonly id: string }
  | { readonly type: 'act'; readonly action: Action }
  | { readonly type: 'fact'; readonly fact: Fact }
  | { readonly type: 'take-back'; readonly how: TakeBack; readonly change: string }
  | {
      readonly type: 'write';
      readonly drafts: readonly (Draft | Drawn)[]; // as a screen puts them together, or as the domain draws them up
      readonly goTo?: string;
      readonly used?: readonly string[]; // keys of the form texts that are in these drafts
    }
  | { readonly type: 'remove'; readonly kind: string; readonly id: string; readonly goTo?: string }
  | { readonly type: 'undo' }
  | { readonly type: 'try-again' } // what could not be written
  | {
      readonly type: 'typed';
      readonly kind: string;
      readonly id: string;
      readonly field: string;
      readonly text: string;
    }
  | { readonly type: 'left-field'; readonly kind: string; readonly id: string; readonly field: string }
  | { readonly type: 'settings'; readonly set: Partial<Settings> }
  | { readonly type: 'load'; readonly kinds: readonly string[] }
  | { readonly type: 'photo'; readonly parentKind: string; readonly parent: string; readonly file: Blob }
  | { readonly type: 'save-copy' }
  | { readonly type: 'save-table'; readonly table: TableName }
  | { readonly type: 'give-file'; readonly file: Blob; readonly name: string } // to another app, or to the phone's files
  | { readonly type: 'look-at-copy'; readonly file: Blob }
  | { readonly type: 'open-copy'; readonly file: Blob }
  | { readonly type: 'codes-out' }
  | { readonly type: 'codes-in'; readonly do: CodesAct }
  | {
      readonly type: 'need';
      readonly key: number;
      readonly do: 'retry' | 'keep' | 'drop';
      readonly text?: string; // for another try: the text as it is now
    }
  | { readonly type: 'keep-storage' }
  | { readonly type: 'home'; readonly do: 'put' | 'not-now' }
  | { readonly type: 'link'; readonly do: LinkAct };

export type LinkAct =
  | { readonly do: 'send-now' }
  | { readonly do: 'claim'; readonly code: string; readonly name: string }
  | { readonly do: 'join'; readonly code: string; readonly name: string; readonly copy: boolean }
  | {
      readonly do: 'invite';
      readonly kind: 'person' | 'my-phone' | 'class';
      readonly role: 'keeper' | 'operator' | 'guest';
    }
  | { readonly do: 'history'; readonly kind: string; readonly id: string; readonly field: string }
  | { readonly do: 'end'; readonly phone?: string; readonly person?: string }
  | { readonly do: 'enter' | 'remove'; readonly studio: string }
  | { readonly do: 'role'; readonly person: string; readonly role: 'keeper' | 'operator' | 'guest' };

export type Send = (intent: Intent) => void;
