/**
 * The loop: a person's intent → domain → records → store → state → screen. What was done is on disk before it is
 * shown as done; acts wait for one another, so each works on what the one before it left.
 */
import { signal } from '@preact/signals';
import { codeInAddress } from './code';
import type { NoWayBack } from './domain/change';
import type { FieldFault } from './domain/field';
import { faults } from './domain/records';
import type { Action, Ctx, Result, TaskState } from './domain/task';
import { fact, undo } from './domain/task/facts';
import { usualGaps } from './domain/task/pace';
import { cautionStep } from './domain/task/writer';
import { readMachine } from './machine';
import {
  backTo,
  bringBack,
  contextFor,
  find,
  joinText,
  list,
  needText,
  type Row,
  type Rows,
  removal,
  shown,
  withRows,
} from './read';
import {
  type CodesAct,
  type CodesIn,
  type CodesOut,
  type Intent,
  type LinkAct,
  type Settings,
  type State,
  type Storage,
  usualSettings,
} from './state';
import { type Draft, type KeptTask, type Phone, type Store, StoreError, type Told } from './store/store';
import { type Json, newId } from './sync/ops';
import { usualName } from './text/first';
import type { TableName } from './text/tables';
import { createTyping, keyOf } from './typing';

/** An act that what records may hold does not allow, a change taken back already, or a file that is no picture: said, and nothing written. */
class Unfit extends Error {
  constructor(readonly reason: FieldFault | NoWayBack | 'no-picture') {
    super(reason);
  }
}

const same = (a: Intent, b: Intent): boolean => JSON.stringify(a) === JSON.stringify(b);

/** What the loop needs from outside: time, the address, files; given by main, replaced in tests. */
export type Outside = {
  now(): number;
  zone(): number;
  path(): string;
  hash?(): string; // what stands behind the # of the address
  go(path: string, replace?: boolean): void;
  back(): void;
  photo?(file: Blob): Promise<{ sha256: string; bytes: ArrayBuffer; type: string; width: number; height: number }>;
  saveCopy?(store: Store): Promise<void>;
  saveTable?(store: Store, table: TableName): Promise<void>;
  giveFile?(file: Blob, name: string): Promise<void>;
  lookAtCopy?(store: Store, file: Blob, told: Told): Promise<Json>; // what opening it would bring
  openCopy?(store: Store, file: Blob, told: Told): Promise<Json>;
  codesOut?(store: Store): Promise<CodesOut>; // the studio, for another phone's camera
  codesIn?(store: Store, act: CodesAct, before?: CodesIn): Promise<CodesIn>;
  link?(act: LinkAct, app: App): Promise<Json | undefined>;
  wrote?(): void; // something waits to go
  seen?(): Promise<void>; // what is shown was painted
  storage?(ask: boolean): Promise<Storage>;
  putHome?(): Promise<void>;
};

/** Tasks that have an address of their own (manifest.webmanifest). */
const byAddress = ['drop-test', 'see'] as const;
/** A task left this long is filed as unfinished (24 h). It is kept, and found in the Book. */
export const fileAfterMs = 24 * 3600 * 1000;
/** Acts that write. What could not be written before goes first; while it can't, they wait for the person. */
const writing: readonly Intent['type'][] = [
  ...(['act', 'fact', 'take-back', 'write', 'remove', 'undo', 'begin', 'photo', 'need', 'open-copy', 'link'] as const),
];

const nothing: Rows = new Map();
const nothingDone = Promise.resolve();

/** The tasks come with their first use: Frame does not wait for them. */
const engine = () => import('./domain/task/run');

export type App = ReturnType<typeof createApp>;

export function createApp(openStore: () => Promise<Store>, outside: Outside) {
  const bare = contextFor(nothing, '', {
    now: outside.now(),
    zone: outside.zone(),
    ids: [],
    acknowledged: [],
    gauge: false,
    gaps: usualGaps,
  });
  const state = signal<State>({
    phase: 'starting',
    path: outside.path(),
    rows: nothing,
    ctx: bare,
    machine: '',
    open: [],
    filed: [],
    waiting: 0,
    needs: [],
    keptHere: [],
    copies: 0,
    copiedAt: 0,
    settings: usualSettings,
    person: '',
    drafts: new Map(),
    storage: { installed: false },
    link: { joined: false, state: 'alone' },
    photoOf: (sha256) => opened().photo(sha256),
  });
  let store: Store | undefined;
  const begun = outside.now();

  const set = (more: Partial<State>) => {
    state.value = { ...state.value, ...more };
  };

  /** One act at a time. A failure is said, never swallowed: what could not be written stays on the screen. */
  let last: Promise<unknown> = Promise.resolve();
  function queue<T>(work: () => Promise<T>): Promise<T | undefined> {
    const next = last.then(work).catch((e: unknown) => {
      failed(e);
      return undefined;
    });
    last = next;
    return next;
  }

  function failed(e: unknown): void {
    const known = e instanceof StoreError || e instanceof Unfit;
    set({ trouble: known ? e.reason : 'unknown' });
    if (!known) console.error(e);
  }

  const typing = createTyping({
    store: opened,
    now: () => outside.now(),
    rows: () => state.value.rows,
    show: (drafts) => set({ drafts }),
    ready: () => catchUp(),
    write: (drafts, draftDone) => write(drafts, undefined, draftDone),
    queue: (work) => void queue(work),
    failed,
  });

  function ctxNow(rows = state.value.rows, machine = state.value.machine): Ctx {
    const { settings } = state.value;
    const ids = Array.from({ length: 48 }, newId);
    const { acknowledged, units, gauge, gaps } = settings;
    const told = { acknowledged, units, gauge, gaps };
    return contextFor(rows, machine, { now: outside.now(), zone: outside.zone(), ids, ...told });
  }

  function opened(): Store {
    if (!store) throw new Error('the store is not open yet');
    return store;
  }

  /** Reads one machine's rows, what is small, and what screens asked for. */
  const read = (machine: string, first?: boolean): Promise<Rows> =>
    opened().look((at) => readMachine(at, machine, loaded, first));

  /** Kinds that a screen asked for whole. */
  const loaded = new Set<string>();

  async function open(): Promise<void> {
    store = await openStore();
    const settings = { ...usualSettings, ...(store.device.settings as Partial<Settings>) };
    set({ settings });
    if (!store.device.studio) {
      set({ phase: 'new', ctx: ctxNow() });
      await typing.restore();
      return;
    }
    const [kept, wanted] = await Promise.all([store.tasks(), store.meta<string>('machine')]);
    await enter(wanted ?? '', kept.map(stateOf));
    await typing.restore(); // what was typed before the browser ended becomes a record
    void askStorage(false).catch(() => {}); // only shown; nothing waits for it
    // a run of codes that was given up is not kept for ever; the first screen does not wait for that
    void (async () => {
      await outside.seen?.();
      await store.codes(outside.now());
    })().catch(() => {});
  }

  /** A kept task's state; what it lacks of its own place is the row's. */
  const stateOf = ({ id, touchedAt, state }: KeptTask) =>
    ({ id, touchedAt, ...(state as object) }) as unknown as TaskState;

  /** Shows a machine; with no such machine, the first one there is. */
  async function enter(wanted: string, tasks: readonly TaskState[]): Promise<void> {
    const s = opened();
    const now = outside.now();
    const live = tasks.filter((t) => now - t.touchedAt < fileAfterMs);
    const here = live[0];
    const first = here && state.value.path.startsWith('/task') ? here.machine : wanted; // the task that is on the screen
    const machines = list(withRows(nothing, await s.all('machine')), 'machine').filter(
      (r) => shown(r, 'name') !== undefined,
    );
    const machine = machines.find((r) => r.id === first)?.id ?? machines[0]?.id ?? '';
    // At a start on Frame what it shows is read first, the rest when that is seen; acts wait for both.
    const { phase: before, path } = state.value;
    const atOnce = before === 'starting' && path === '/' && machine !== '' && live.length === tasks.length;
    const [phone, found] = await Promise.all([s.phone(), read(machine, atOnce)]);
    const person = phone?.links[phone.server]?.person ?? s.device.person; // as the studio's server knows who writes here
    let rows = found;
    for (const t of tasks) if (!live.includes(t)) rows = withRows(rows, await file(t, rows));
    const reading = phone !== undefined && unread(phone); // its machine may be on its way
    const empty = !here && machine === '' && !reading;
    const phase = empty ? before : 'ready'; // a Frame without a machine is not shown on the way to its name
    set({ phase, reading, machine, rows, open: live, task: here, ctx: ctxNow(rows, machine), person, partly: atOnce });
    await recount();
    if (atOnce) {
      await outside.seen?.();
      rows = await read(machine);
      set({ rows, ctx: ctxNow(rows, machine), partly: false });
    }
    try {
      if (here && state.value.path.startsWith('/task')) await step({ do: 'opened' });
      else if (empty)
        await finish((await engine()).begin('first-run', ctxNow(rows, machine), { with: { text: usualName } }));
    } finally {
      set({ phase: 'ready' });
    }
  }

  /** Whether this phone is in a studio of which it has read nothing to an end yet. */
  const unread = ({ links, meta }: Phone): boolean =>
    Object.keys(links).length > 0 && !Object.values(meta.cursors).some((c) => c.after > 0 && c.reading === 0);

  /** Puts a task away that was left too long. A drop test that was cut off ends with a reading that says so. */
  async function file(t: TaskState, rows: Rows): Promise<readonly Row[]> {
    const s = opened();
    const id = rootOf(t)?.id ?? t.id;
    const { act } = await engine();
    let r: Result;
    try {
      r = act(t, { do: 'opened' }, ctxNow(rows, t.machine));
    } catch (e) {
      console.error(e); // a step of another version: it is kept, and stands in nobody's way
      await s.fileTask(id);
      return [];
    }
    const kept = r.state ? { id, touchedAt: t.touchedAt, state: r.state as unknown as Json } : { id, touchedAt: 0 };
    const wrote = await s.write(r.drafts as readonly Draft[], outside.now(), kept);
    if (r.state) await s.fileTask(id); // else it has ended with what it wrote
    return wrote;
  }

  async function recount(): Promise<void> {
    const s = opened();
    const [c, needs, keptHere, filed] = await Promise.all([s.counts(), s.needs(), s.keptHere(), s.filed()]);
    const { waiting, copies, copiedAt } = c;
    set({ waiting, copies, copiedAt, needs, keptHere, filed: filed.map(stateOf) });
  }

  /** Refuses what records may not hold before anything is written. Throws Unfit. */
  async function check(drafts: readonly Draft[]): Promise<void> {
    const made = new Set<string>();
    for (const { kind, id, set: fields } of drafts) {
      const key = `${kind}/${id}`;
      const row = made.has(key) || find(state.value.rows, kind, id) || (await opened().get(kind, id));
      const [fault] = faults(kind, fields, !row);
      if (fault) throw new Unfit(fault.fault);
      made.add(key);
    }
  }

  /** What could not be written is tried again, then everything is shown as the disk has it. Throws while it can't be. */
  async function catchUp(): Promise<boolean> {
    const s = opened();
    const acts = s.unsaved();
    if (acts.length === 0) return false;
    const rows = await s.writeUnsaved();
    set({ trouble: undefined });
    typing.wrote(
      acts.flatMap((a) => a.drafts),
      rows,
    );
    const open = (await s.tasks()).map(stateOf);
    const root = rootOf(state.value.task)?.id;
    const task = open.find((t) => rootOf(t)?.id === root);
    set({ open, task });
    await reread();
    if (!task && state.value.path.startsWith('/task')) goTo('/');
    outside.wrote?.();
    return true;
  }

  async function reread(): Promise<void> {
    const rows = await read(state.value.machine);
    set({ rows, ctx: ctxNow(rows) });
    await recount();
  }

  /** Writes and shows; `show` says what else is shown with it. Counting again comes after that. */
  async function write(
    drafts: readonly Draft[],
    task?: { id: string; state?: TaskState },
    draftDone?: string,
    show: () => void = () => {},
  ): Promise<void> {
    const s = opened();
    await check(drafts);
    const kept = task && {
      id: task.id,
      touchedAt: task.state?.touchedAt ?? outside.now(),
      state: task.state as unknown as Json,
    };
    const rows = await s.write(drafts, outside.now(), kept, draftDone);
    const all = withRows(state.value.rows, rows);
    set({ rows: all, ctx: ctxNow(all), trouble: undefined, undo: undefined, wrote: undefined });
    typing.wrote(drafts, rows);
    show();
    if (drafts.length > 0) await afterwards(drafts).catch(failed); // it is written: what follows can't undo that
  }

  async function afterwards(drafts: readonly Draft[]): Promise<void> {
    await acknowledge(drafts);
    await recount();
    outside.wrote?.();
    if (!asked) void askStorage(true).catch(failed);
    asked = true;
  }

  /** Whether the browser was asked on this page to keep what is here. */
  let asked = false;

  async function acknowledge(drafts: readonly Draft[]): Promise<void> {
    const lead = cautionStep('');
    const read = drafts
      .map((d) => (d.kind === 'event' ? d.set.step : undefined))
      .filter((s): s is string => typeof s === 'string' && s.startsWith(lead))
      .map((s) => s.slice(lead.length));
    if (read.length > 0)
      await saveSettings({ acknowledged: [...new Set([...state.value.settings.acknowledged, ...read])] });
  }

  async function saveSettings(more: Partial<Settings>): Promise<void> {
    const settings = { ...state.value.settings, ...more };
    const s = opened();
    await s.saveDevice({ ...s.device, settings: settings as unknown as { [key: string]: Json } });
    set({ settings });
    set({ ctx: ctxNow() });
  }

  /** What a task's act came to: records and its state in one transaction, then the screen. */
  async function finish(r: Result, before?: TaskState): Promise<void> {
    if (r.refused) return;
    const id = r.state?.id ?? before?.id;
    const outer = rootOf(r.state);
    const wasOuter = before ? rootOf(before) : undefined;
    const drafts = r.drafts as readonly Draft[];
    const machine = drafts.find((d) => d.kind === 'machine' && state.value.machine === '');
    const others = (all: readonly TaskState[]) => all.filter((t) => rootOf(t)?.id !== (outer ?? wasOuter)?.id);
    const rest = others(state.value.open);
    const { change, screw } = r.done?.data ?? {};
    const wrote = typeof change === 'string' && typeof screw === 'string' ? { change, screw } : undefined;
    const show = () => {
      set({ open: r.state ? [r.state, ...rest] : rest, filed: others(state.value.filed), task: r.state, wrote });
      if (machine) {
        set({ machine: machine.id });
        set({ ctx: ctxNow() });
      }
      if (!r.state) goTo(begunAt);
      else if (!state.value.path.startsWith('/task')) goTo('/task');
    };
    const kept = id !== undefined && outer ? { id: outer.id, state: r.state } : wasOuter && { id: wasOuter.id };
    await write(drafts, kept, undefined, show);
    if (machine) await opened().saveMeta('machine', machine.id);
  }

  /** Where the task that is open was begun on this page: there one stands again after it. */
  let begunAt = '/';

  /** Tasks nest: the outermost one is what is kept and resumed. */
  function rootOf(t: TaskState | undefined): TaskState | undefined {
    let root = t;
    while (root?.back) root = root.back;
    return root;
  }

  async function step(action: Action): Promise<void> {
    const t = state.value.task;
    if (!t) return;
    const r = (await engine()).act(t, action, ctxNow());
    if (action.do === 'leave') {
      const now = r.state ?? t;
      await write([], { id: rootOf(t)?.id ?? t.id, state: now }, undefined, () => {
        set({ open: [now, ...state.value.open.filter((o) => rootOf(o)?.id !== rootOf(now)?.id)] });
        goTo('/');
      });
      return;
    }
    await finish(r, t);
  }

  function goTo(path: string, replace = false): void {
    if (path === state.value.path) return;
    outside.go(path, replace);
    set({ path, brought: undefined });
  }

  async function askStorage(ask: boolean): Promise<void> {
    const storage = await outside.storage?.(ask);
    if (storage) set({ storage });
  }

  async function load(kinds: readonly string[]): Promise<void> {
    const missing = kinds.filter((k) => !loaded.has(k));
    if (missing.length === 0) return;
    const rows = await Promise.all(missing.map((k) => opened().all(k)));
    for (const k of missing) loaded.add(k);
    const all = withRows(state.value.rows, rows.flat());
    set({ rows: all, ctx: ctxNow(all) });
  }

  async function pickMachine(machine: string): Promise<void> {
    await typing.settleAll();
    await opened().saveMeta('machine', machine);
    loaded.clear(); // screens ask again for what they show of the other machine
    const rows = await read(machine);
    set({ machine, rows, ctx: ctxNow(rows, machine) });
  }

  /** How far a file is read, for a bar that shows it. */
  const howFar = (share: number): void => set({ said: { share } });

  /** What stood before an act that fails stands again, and no bar that moves no more. */
  const unsaid =
    (said: Json | undefined) =>
    (e: unknown): never => {
      set({ said });
      throw e;
    };

  /** Something was kept: that a phone had no room is said no longer, unless what was written waits for it. */
  function roomAgain(): void {
    if (opened().unsaved().length === 0) set({ trouble: undefined });
  }

  /** A run of codes whose file is in, brings nothing or can't be opened is not kept any more. */
  async function codesDone(file: Blob, said: Json | undefined): Promise<void> {
    if (typeof said !== 'string' || file !== state.value.codesIn?.file) return;
    await outside.codesIn?.(opened(), { do: 'drop' }, state.value.codesIn);
    set({ codesIn: { came: said } });
  }

  const handlers: { readonly [T in Intent['type']]: (i: Extract<Intent, { type: T }>) => Promise<void> } = {
    start: async () => {
      await opened().startStudio('');
      await enter('', []);
    },
    go: async (i) => {
      await typing.settleAll();
      goTo(i.path);
    },
    back: async () => outside.back(),
    'pick-machine': (i) => pickMachine(i.machine),
    begin: async (i) => {
      begunAt = state.value.path.startsWith('/task') ? '/' : state.value.path;
      const same = state.value.open.find(
        (t) => rootOf(t)?.task === i.task && !i.with && t.machine === state.value.machine,
      );
      if (same) {
        set({ task: same });
        goTo('/task');
        await step({ do: 'opened' });
      } else await finish((await engine()).begin(i.task, ctxNow(), i.with ? { with: i.with } : {}));
    },
    resume: async (i) => {
      const { open, filed, machine } = state.value;
      const t = [...open, ...filed].find((o) => o.id === i.id);
      if (!t) return;
      if (t.machine !== machine) await pickMachine(t.machine);
      set({ task: t });
      goTo('/task');
      await step({ do: 'opened' });
      const { task } = state.value;
      if (task && filed.includes(t)) await finish({ state: { ...task, touchedAt: outside.now() }, drafts: [] }, task);
    },
    act: (i) => step(i.action),
    fact: async (i) => {
      const drafts = fact(i.fact, ctxNow()) as readonly Draft[];
      if (drafts.length === 0) return; // the same tap again: what it wrote, and its way back, stand
      const before = state.value.rows;
      await write(drafts, undefined, undefined, () => {
        set({ undo: { of: 'fact', drafts: drafts.flatMap((d) => backTo(before, state.value.rows, d)) } });
      });
    },
    'take-back': async (i) => {
      const drafts = undo(i.how, i.change, ctxNow());
      if (typeof drafts === 'string') throw new Unfit(drafts); // a second tap on what was taken back already
      const [last] = drafts.slice(-1);
      const screw = String(last?.set.screw ?? '');
      await write(drafts as readonly Draft[], undefined, undefined, () => {
        set({ wrote: last && { change: last.id, screw } });
      });
    },
    write: async (i) => {
      await typing.settleAll();
      await write(i.drafts as readonly Draft[]);
      if (i.used) await typing.forget(i.used);
      if (i.goTo !== undefined) goTo(i.goTo);
    },
    remove: async (i) => {
      await typing.settleAll(); // what was typed just now goes with it
      const row = await opened().get(i.kind, i.id);
      if (!row) return;
      await write([removal(row)], undefined, undefined, () => {
        set({ undo: { of: 'removal', drafts: [bringBack(row)] } });
        if (i.goTo !== undefined) goTo(i.goTo);
      });
    },
    undo: async () => {
      if (state.value.undo) await write(state.value.undo.drafts);
    },
    'try-again': async () => {
      if (!(await catchUp())) set({ trouble: undefined }); // nothing waits: whatever there was no room for is done anew
      await typing.settleAll();
    },
    typed: (i) => typing.keep(i),
    'left-field': (i) => typing.settle(keyOf(i)),
    settings: (i) => saveSettings(i.set),
    load: (i) => load(i.kinds),
    photo: async (i) => {
      await typing.settleAll(); // a picture takes seconds to be made smaller: what was typed does not wait for it
      const p = await outside.photo?.(i.file).catch((e: unknown) => {
        throw e instanceof RangeError ? new Unfit('no-picture') : e;
      });
      if (!p) return;
      await opened().savePhoto({ sha256: p.sha256, bytes: p.bytes, type: p.type, sent: false });
      await write([
        {
          kind: 'photo',
          id: newId(),
          set: {
            parentKind: i.parentKind,
            parent: i.parent,
            sha256: p.sha256,
            bytes: p.bytes.byteLength,
            width: p.width,
            height: p.height,
            zone: outside.zone(),
          },
        },
      ]);
    },
    'save-copy': async () => {
      await typing.settleAll();
      await outside.saveCopy?.(opened());
      await opened().copied(outside.now());
      await recount();
    },
    'save-table': async (i) => {
      await typing.settleAll();
      await outside.saveTable?.(opened(), i.table);
    },
    'give-file': async (i) => outside.giveFile?.(i.file, i.name),
    'look-at-copy': async (i) => {
      if (i.file === state.value.looked) return; // it was, or it is brought in by now
      set({ said: undefined, looked: undefined });
      await typing.settleAll();
      const said = await outside.lookAtCopy?.(opened(), i.file, howFar).catch(unsaid(undefined));
      set({ said, looked: i.file });
      await codesDone(i.file, said);
    },
    'open-copy': async (i) => {
      const before = state.value.said;
      set({ said: undefined });
      await typing.settleAll().catch(unsaid(before));
      const said = await outside.openCopy?.(opened(), i.file, howFar).catch(unsaid(before)); // to be brought in again
      roomAgain();
      if (opened().device.studio) await enter(state.value.machine, state.value.open);
      set({ said });
      await codesDone(i.file, said);
    },
    'codes-out': async () => {
      set({ codesOut: undefined });
      try {
        await typing.settleAll();
        set({ codesOut: await outside.codesOut?.(opened()) });
      } catch (e) {
        set({ codesOut: { codes: [], count: 0, round: [], stays: false } });
        throw e;
      }
      roomAgain();
    },
    'codes-in': async (i) => {
      const before = state.value.codesIn;
      const codesIn = await outside.codesIn?.(opened(), i.do, before);
      set({ codesIn });
      if (codesIn?.run !== before?.run) roomAgain();
    },
    need: async (i) => {
      const s = opened();
      if (i.do === 'retry') await s.retryNeed(i.key, outside.now(), i.text);
      else await (i.do === 'keep' ? s.keepNeed(i.key) : s.dropNeed(i.key));
      if (i.do !== 'keep') await typing.forget([keyOf(needText(i.key))]);
      await reread();
      if (i.do === 'retry') outside.wrote?.();
    },
    'keep-storage': () => askStorage(true),
    home: (i) =>
      i.do === 'put' ? (outside.putHome?.() ?? nothingDone) : saveSettings({ homeNotNowAt: outside.now() }),
    link: async (i) => {
      await typing.settleAll(); // in the studio it was typed in
      const said = await outside.link?.(i.do, app);
      set({ said, looked: undefined });
    },
  };

  /** The writing act that failed last: the same tap again means the same act, not a second one. */
  let undone: Intent | undefined;

  async function run(intent: Intent): Promise<void> {
    if (state.value.phase === 'broken') return; // not all was read; what is typed is kept as it comes
    const writes = writing.includes(intent.type);
    if (writes) {
      const before = undone;
      const caughtUp = await catchUp();
      undone = undefined;
      // A step's answer was given to a screen that is past now.
      if (caughtUp && before && (intent.type === 'act' || same(intent, before))) return;
    }
    try {
      await (handlers[intent.type] as (i: Intent) => Promise<void>)(intent);
    } catch (e) {
      if (writes) undone = intent;
      throw e;
    }
  }

  function send(intent: Intent): void {
    if (intent.type === 'typed') {
      typing.typed(intent, intent.text); // on the screen and on its way to the disk at once, whatever is under way
      typing.keep(intent).catch(() => {}); // said by the act below
    }
    void queue(() => run(intent));
  }

  /** A code in the address goes to its form and does not stay in the address. */
  function takeCode(): void {
    const brought = codeInAddress(outside.hash?.() ?? '');
    if (!brought || (state.value.phase !== 'new' && state.value.phase !== 'ready')) return;
    const path = state.value.phase === 'new' ? state.value.path : '/people';
    outside.go(path, true);
    set({ path, brought });
    send({ type: 'typed', ...joinText.code, text: brought.code });
  }

  /** The address of a task, as the home screen's shortcuts have it, opens that task. */
  function takeTask(): void {
    const { phase, path, task } = state.value;
    const wanted = byAddress.find((name) => path === `/task/${name}`);
    if (phase !== 'ready' || !wanted || task) return;
    outside.go('/', true);
    set({ path: '/' });
    send({ type: 'begin', task: wanted });
  }

  const app = {
    state,
    send,
    /** Opens the store and shows the first screen. */
    start: () =>
      queue(async () => {
        try {
          await open();
          takeCode();
          takeTask();
        } catch (e) {
          set({ phase: 'broken', trouble: e instanceof StoreError ? e.reason : 'unknown' });
          if (!(e instanceof StoreError)) throw e;
        }
      }),
    /** The page is hidden or goes away: what is typed becomes a record. */
    hide: () => queue(typing.settleAll),
    /** The address changed: by the system's back, or by a person who put a code behind its #. */
    moved: (path: string) => {
      set({ path });
      takeCode();
      const { task } = state.value;
      if (path.startsWith('/task') && task) send({ type: 'resume', id: task.id });
    },
    /** A new version waits: applied at once where nothing is open, else when the person says so. */
    updateWaits: (apply: () => void) => {
      const { phase, path, drafts, update } = state.value;
      set({ update: apply });
      if (!update && phase === 'ready' && path === '/' && drafts.size === 0 && outside.now() - begun < 5000) apply();
    },
    /** Another tab or the studio wrote: reads again what is shown. */
    changed: () =>
      queue(async () => {
        if (state.value.phase !== 'ready') return;
        if (state.value.machine === '') return enter('', state.value.open); // the first machine may have come
        await reread();
      }),
    /** Another studio was entered: everything is read anew. Runs inside an act. */
    entered: async () => {
      const kept = await opened().tasks();
      await enter(state.value.machine, kept.map(stateOf));
      await typing.restore();
      if (state.value.path.startsWith('/people/') || state.value.path.startsWith('/task')) goTo('/', true);
    },
    /** Makes records of what is typed, before another studio is entered. Runs inside an act. */
    settleTyped: typing.settleAll,
    /** A code was taken: what its form held is done with. Runs inside an act, in the studio it was typed in. */
    codeTaken: () => {
      set({ brought: undefined });
      return typing.forget([keyOf(joinText.code), keyOf(joinText.name)]);
    },
    say: set,
    queue,
    store: opened,
    settled: () => last,
  };
  return app;
}
