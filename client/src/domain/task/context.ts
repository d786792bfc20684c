/** What a task is told about the world: plain data, worked out by the app from the store before each act. */
import type { Sized } from '../thread';

/** Why something was advised, kept with what was done about it: an old round can still say why, by the tables of its time. */
export type Advised = {
  readonly why?: string;
  readonly about?: readonly string[]; // causes
  readonly model?: number; // version of the tables
};

export type Json = null | boolean | number | string | readonly Json[] | { readonly [key: string]: Json };

/** A record as read: its id, when (ms UTC) and by whom it was written, and its fields. */
export type Kept<T> = T & { readonly id: string; readonly at: number; readonly by: string };

export type Machine = {
  readonly name: string;
  readonly body?: 'frame' | 'sit-down';
  readonly topKnob?: 'turns' | 'dial' | 'screen';
  readonly topTightens?: 'clockwise' | 'counter';
  readonly modes?: readonly ('hand-guided' | 'regulated' | 'manual' | 'computer')[];
  readonly minutesPerBobbin?: number; // running minutes, as somebody corrected them
  readonly bobbinOuterUm?: number;
  readonly bobbinCoreUm?: number;
  readonly bobbinWidthUm?: number;
  readonly bobbinThreadMg?: number; // thread on one full bobbin, weighed
  readonly windingPercent?: number; // thread in the room of a bobbin
};
export type BobbinCase = {
  readonly label: string;
  readonly fits?: readonly string[];
  readonly tightens?: 'clockwise' | 'counter';
  readonly setFor?: string;
  readonly penLine?: boolean;
};
export type Thread = Sized & {
  readonly number: string;
  readonly fibre: string;
  readonly colour?: string;
  readonly name?: string;
  readonly coneM?: number;
};
export type Quilt = {
  readonly name: string;
  readonly machine?: string;
  readonly work?: 'show' | 'custom' | 'edge-to-edge' | 'practice';
  readonly widthMm?: number;
  readonly heightMm?: number;
  readonly spacingUm?: number; // between the lines of its pattern
  readonly stitchesTenthsPerInch?: number;
  readonly thicknessUm?: number; // of the sandwich, pressed
  readonly wastePercent?: number;
  readonly lockPercent?: number;
};
export type Bench = {
  readonly quilt?: string;
  readonly topThread?: string;
  readonly bobbinThread?: string;
  readonly bobbinKind?: string;
  readonly bobbinCase?: string;
  readonly needle?: string;
  readonly needleSince?: number; // ms UTC
  readonly startedFrom?: string; // the recipe
  readonly batting?: string;
  readonly backing?: string;
  readonly previous?: { readonly quilt?: string; readonly batting?: string; readonly backing?: string }; // before a new quilt
};
export type Change = {
  readonly screw: string;
  readonly type: 'move' | 'back' | 'neutral' | 'lost' | 'strike' | 'dial' | 'same';
  readonly minutes?: number;
  readonly dialTenths?: number;
  readonly strikes?: string;
  readonly backOf?: string;
  readonly sameAs?: readonly string[]; // of 'same': the records that are one; none: they are two
  readonly after: readonly string[];
  readonly why?: string;
  readonly about?: readonly string[];
  readonly model?: number;
  readonly balancing?: string;
  readonly round?: number;
};
export type Drop = {
  readonly answer?: DropAnswer;
  readonly tenthsIn?: number;
  readonly out?: boolean;
  readonly hidden?: boolean;
};
export type DropAnswer = 'falls' | 'creeps' | 'nothing' | 'short' | 'right' | 'far';
export type Reading = {
  readonly type: 'drop' | 'finger' | 'pull' | 'pen' | 'gauge';
  readonly bobbinCase?: string;
  readonly thread?: string;
  readonly bobbinKind?: string;
  readonly fill?: Fill;
  readonly drops?: readonly Drop[];
  readonly answer?: string;
  readonly clockMinute?: number;
  readonly tenthsGf?: number;
  readonly balancing?: string;
  readonly round?: number;
  readonly interrupted?: boolean;
};
export type Fill = 'full' | 'half' | 'low';
export type Finding = Advised & {
  readonly finding: string;
  readonly state: string;
  readonly source?: string; // the symptom that it was noted with
  readonly balancing?: string;
  readonly round?: number;
};
export type Ray = {
  readonly direction: number | 'circle-left' | 'circle-right';
  readonly score: number;
  readonly marks?: readonly string[];
};
export type Sample = {
  readonly mode?: 'regulated' | 'manual';
  readonly rays: readonly Ray[];
  readonly allAlike: boolean;
  readonly balancing?: string;
  readonly round?: number;
};
export type Event = Advised & {
  readonly type: string;
  readonly bobbinCase?: string;
  readonly reason?: string;
  readonly balancing?: string;
  readonly round?: number;
  readonly step?: string;
  readonly of?: string;
  readonly quilt?: string;
  readonly thread?: string;
  readonly count?: number; // of bobbins wound
  readonly hoursTenths?: number; // on the machine's counter
  readonly verdict?: 'good' | 'watch' | 'stop'; // of a hand-over
  readonly row?: string;
  readonly tight?: string;
};

export type Balancing = {
  readonly machine: string;
  readonly quilt?: string;
  readonly ended?: string;
  readonly work?: string;
  readonly cured?: string; // a cause of the fault model
};
/** Lists are oldest first. Those of a screw are of this machine's top and of every bobbin case; the rest of this machine. */
export type Ctx = {
  readonly now: number; // ms UTC
  readonly zone: number; // minutes east of UTC
  readonly ids: readonly string[]; // fresh record ids, at least 12 for an act
  readonly acknowledged: readonly string[]; // tasks whose full caution this person has acknowledged
  readonly units?: 'in' | 'mm'; // what lengths are read in; inches where nothing is said
  readonly gauge: boolean; // a tension gauge is owned
  readonly gaps: Gaps;
  readonly machine: string;
  readonly machines: readonly Kept<Machine>[];
  readonly bench: Bench;
  readonly benchAt?: { readonly [field: string]: number }; // when each field of the bench was last written, ms UTC
  readonly bobbinCases: readonly Kept<BobbinCase>[];
  readonly threads: readonly Kept<Thread>[];
  readonly quilts: readonly Kept<Quilt>[];
  readonly balancings: readonly Kept<Balancing>[];
  readonly changes: readonly Kept<Change>[];
  readonly readings: readonly Kept<Reading>[];
  readonly findings: readonly Kept<Finding>[];
  readonly samples: readonly Kept<Sample>[];
  readonly events: readonly Kept<Event>[];
};

/** Pauses of the drop test in seconds. 3 s hold is common practice, no published source; the rest our choice. */
export type Gaps = { readonly pickUpS: number; readonly holdS: number; readonly quietS: number };
