/**
 * The loop: a person's intent → domain → records → store → state → screen. What was done is on disk before it is
 * shown as done; acts wait for one another, so each works on what the one before it left.
 */
import { signal } from '@preact/signals';
import type { Action, Ctx, Fact, Result, TaskData, TaskName, TaskState } from './domain/task';
import { fact, undo } from './domain/task/facts';
import { bobbinScrew, topScrew } from './domain/task/ledger';
import { usualGaps } from './domain/task/pace';
import { cautionStep } from './domain/task/writer';
import { contextFor, find, list, type Rows, shown, withRows } from './read';
import { type Draft, type Needed, type Photo, type Store, StoreError, type TextDraft } from './store/store';
import { type Json, newId } from './sync/ops';
import { usualName } from './text/first';

export type Settings = {
  readonly theme: 'system' | 'day' | 'lamp' | 'glare';
  readonly text: 'normal' | 'large' | 'largest';
  readonly hand: 'right' | 'left';
  readonly units: 'in' | 'mm';
  readonly sound: boolean;
  readonly buzz: boolean;
  readonly flash: boolean;
  readonly voice: boolean;
  readonly gauge: boolean;
  readonly gaps: Ctx['gaps'];
  readonly acknowledged: readonly string[];
};

export const usualSettings: Settings = {
  theme: 'system',
  text: 'normal',
  hand: 'right',
  units: 'in',
  sound: true,
  buzz: true,
  flash: true,
  voice: false,
  gauge: false,
  gaps: usualGaps,
  acknowledged: [],
};

/** What stands between the person and safety; a sentence for each is in the text. */
export type Trouble = 'full' | 'lost' | 'blocked' | 'newer' | 'refused' | 'unknown';

export type Storage = {
  readonly used?: number;
  readonly allowed?: number;
  readonly kept?: boolean;
  readonly installed: boolean;
};

/** How it stands with the studio's server. */
export type Link = {
  readonly joined: boolean;
  readonly state: 'alone' | 'idle' | 'sending' | 'offline' | 'refused' | 'too-old' | 'too-new';
  readonly server?: string;
  readonly studioName?: string;
  readonly heardAt?: number;
  readonly role?: string;
  readonly pendingCode?: string;
  readonly trouble?: string; // the server's own sentence
  readonly more?: boolean; // a first reading is under way
  readonly others?: readonly { readonly id: string; readonly name: string; readonly records: number }[]; // also on this phone
};

export type State = {
  readonly phase: 'starting' | 'new' | 'ready' | 'broken';
  readonly trouble?: Trouble;
  readonly path: string;
  readonly rows: Rows;
  readonly ctx: Ctx;
  readonly machine: string;
  readonly task?: TaskState;
  readonly open: readonly TaskState[]; // the one touched last first
  readonly waiting: number;
  readonly needs: readonly Needed[];
  readonly copies: number; // things written since the last copy out
  readonly copiedAt: number;
  readonly settings: Settings;
  readonly person: string;
  readonly drafts: ReadonlyMap<string, string>; // texts that are being typed, by key
  readonly wrote?: { readonly change: string; readonly screw: string }; // the change just written, until the next act
  readonly undo?: readonly Draft[]; // takes the last removal back, until the next act
  readonly storage: Storage;
  readonly link: Link;
  readonly update?: () => void; // a new version waits
  readonly photoOf: (sha256: string) => Promise<Photo | undefined>;
  readonly said?: Json; // what the last act of a screen came to, for that screen to show
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
  | { readonly type: 'take-back'; readonly how: 'turned-back' | 'wrote-wrong'; readonly change: string }
  | {
      readonly type: 'write';
      readonly drafts: readonly Draft[];
      readonly goTo?: string;
      readonly undo?: readonly Draft[];
    }
  | { readonly type: 'undo' }
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
  | { readonly type: 'open-copy'; readonly file: Blob }
  | { readonly type: 'drop-need'; readonly key: number }
  | { readonly type: 'retry-need'; readonly key: number }
  | { readonly type: 'keep-storage' }
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
  | { readonly do: 'end'; readonly phone?: string; readonly person?: string }
  | { readonly do: 'enter' | 'remove'; readonly studio: string }
  | { readonly do: 'role'; readonly person: string; readonly role: 'keeper' | 'operator' | 'guest' };

export type Send = (intent: Intent) => void;

/** What the loop needs from outside: time, the address, files; given by main, replaced in tests. */
export type Outside = {
  now(): number;
  zone(): number;
  path(): string;
  go(path: string, replace?: boolean): void;
  back(): void;
  photo?(file: Blob): Promise<{ sha256: string; bytes: ArrayBuffer; type: string; width: number; height: number }>;
  saveCopy?(store: Store): Promise<void>;
  openCopy?(store: Store, file: Blob): Promise<Json>;
  link?(act: LinkAct, app: App): Promise<Json | undefined>;
  wrote?(): void; // something waits to go
  storage?(ask: boolean): Promise<Storage>;
};

/** How many of a machine's records Frame reads: enough for a year's ledger of one screw, never everything. */
const newest = { change: 500, reading: 120, event: 300, sample: 60, finding: 200, balancing: 40, quilt: 100 } as const;
const whole = ['studio', 'machine', 'bobbinCase', 'thread', 'bench'] as const;
/** A task left this long is filed as unfinished (24 h). It is kept, and found in the Book. */
export const fileAfterMs = 24 * 3600 * 1000;
/** A text goes into a record after this long without a key (30 s). */
export const quietMs = 30_000;

const nothing: Rows = new Map();

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
    waiting: 0,
    needs: [],
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
  const typing = new Map<string, TextDraft>();
  const quiet = new Map<string, ReturnType<typeof setTimeout>>();

  const set = (more: Partial<State>) => {
    state.value = { ...state.value, ...more };
  };

  /** One act at a time. A failure is said, never swallowed: what could not be written stays on the screen. */
  let last: Promise<unknown> = Promise.resolve();
  function queue<T>(work: () => Promise<T>): Promise<T | undefined> {
    const next = last.then(work).catch((e: unknown) => {
      set({ trouble: e instanceof StoreError ? e.reason : 'unknown' });
      if (!(e instanceof StoreError)) console.error(e);
      return undefined;
    });
    last = next;
    return next;
  }

  function ctxNow(rows = state.value.rows, machine = state.value.machine): Ctx {
    const { settings } = state.value;
    const ids = Array.from({ length: 48 }, newId);
    const { acknowledged, gauge, gaps } = settings;
    return contextFor(rows, machine, { now: outside.now(), zone: outside.zone(), ids, acknowledged, gauge, gaps });
  }

  function opened(): Store {
    if (!store) throw new Error('the store is not open yet');
    return store;
  }

  /** Reads one machine's rows and what is small. */
  async function readMachine(machine: string): Promise<Rows> {
    const s = opened();
    const small = await Promise.all(whole.map((k) => s.all(k)));
    let rows = withRows(nothing, small.flat());
    const screws = [topScrew(machine), ...list(rows, 'bobbinCase').map((c) => bobbinScrew(c.id))];
    const cases = list(rows, 'bobbinCase').map((c) => c.id);
    const parts = await Promise.all([
      ...screws.map((p) => s.under('change', p, newest.change)),
      ...[machine, ...cases].map((p) => s.under('reading', p, newest.reading)),
      ...(['event', 'sample', 'finding', 'balancing', 'quilt'] as const).map((k) => s.under(k, machine, newest[k])),
    ]);
    rows = withRows(rows, parts.flat());
    return rows;
  }

  const loaded = new Set<string>();

  async function open(): Promise<void> {
    store = await openStore();
    const settings = { ...usualSettings, ...(store.device.settings as Partial<Settings>) };
    set({ settings, person: store.device.person });
    if (!store.device.studio) {
      set({ phase: 'new', ctx: ctxNow() });
      return;
    }
    const [kept, typed, wanted] = await Promise.all([store.tasks(), store.drafts(), store.meta<string>('machine')]);
    await enter(
      wanted ?? '',
      kept.map((t) => t.state as unknown as TaskState),
    );
    for (const d of typed) await settle(d); // what was typed before the browser ended becomes a record
  }

  /** Shows a machine; with no such machine, the first one there is. */
  async function enter(wanted: string, tasks: readonly TaskState[]): Promise<void> {
    const s = opened();
    const machines = (await s.all('machine')).filter((r) => shown(r, 'name') !== undefined).sort((a, b) => a.t - b.t);
    const machine = machines.find((r) => r.id === wanted)?.id ?? machines[0]?.id ?? '';
    const rows = await readMachine(machine);
    loaded.clear();
    const now = outside.now();
    const live = tasks.filter((t) => now - t.touchedAt < fileAfterMs);
    for (const t of tasks) if (!live.includes(t)) await file(t, rows);
    set({ phase: 'ready', machine, rows, open: live, task: live[0], ctx: ctxNow(rows, machine) });
    await recount();
    const here = live[0];
    if (here && state.value.path.startsWith('/task')) await step({ do: 'opened' });
    else if (!here && machine === '')
      await finish((await engine()).begin('first-run', ctxNow(rows, machine), { with: { text: usualName } }));
  }

  /** Puts a task away that was left too long. A drop test that was cut off is written down as such before. */
  async function file(t: TaskState, rows: Rows): Promise<void> {
    const s = opened();
    if (t.machine === state.value.machine || state.value.machine === '') {
      const { drafts } = (await engine()).act(t, { do: 'opened' }, ctxNow(rows, t.machine));
      if (drafts.length > 0) await s.write(drafts as readonly Draft[], outside.now());
    }
    await s.fileTask(rootOf(t)?.id ?? t.id);
  }

  async function recount(): Promise<void> {
    const s = opened();
    const [c, needs] = await Promise.all([s.counts(), s.needs()]);
    set({ waiting: c.waiting, copies: c.copies, copiedAt: c.copiedAt, needs });
  }

  /** Writes and shows. */
  async function write(
    drafts: readonly Draft[],
    task?: { id: string; state?: TaskState },
    draftDone?: string,
  ): Promise<void> {
    const s = opened();
    const first = drafts.length > 0 && state.value.waiting === 0;
    const kept = task && {
      id: task.id,
      touchedAt: task.state?.touchedAt ?? outside.now(),
      state: task.state as unknown as Json,
    };
    const rows = await s.write(drafts, outside.now(), kept, draftDone);
    const all = withRows(state.value.rows, rows);
    set({ rows: all, ctx: ctxNow(all), trouble: undefined, undo: undefined, wrote: undefined });
    await acknowledge(drafts);
    if (drafts.length > 0) {
      await recount();
      outside.wrote?.();
      if (first) void askStorage(true);
    }
  }

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
    if (id !== undefined && outer) await write(drafts, { id: outer.id, state: r.state });
    else if (wasOuter) await write(drafts, { id: wasOuter.id });
    else await write(drafts);
    const rest = state.value.open.filter((t) => rootOf(t)?.id !== (outer ?? wasOuter)?.id);
    const { change, screw } = r.done?.data ?? {};
    const wrote = typeof change === 'string' && typeof screw === 'string' ? { change, screw } : undefined;
    set({ open: r.state ? [r.state, ...rest] : rest, task: r.state ?? undefined, wrote });
    if (machine) {
      await opened().saveMeta('machine', machine.id);
      set({ machine: machine.id });
      set({ ctx: ctxNow() });
    }
    if (!r.state) goTo(r.done?.task === 'first-run' ? '/' : afterTask());
    else if (!state.value.path.startsWith('/task')) goTo('/task');
  }

  /** Tasks nest: the outermost one is what is kept and resumed. */
  function rootOf(t: TaskState | undefined): TaskState | undefined {
    let root = t;
    while (root?.back) root = root.back;
    return root;
  }

  const afterTask = () => '/';

  async function step(action: Action): Promise<void> {
    const t = state.value.task;
    if (!t) return;
    const r = (await engine()).act(t, action, ctxNow());
    if (action.do === 'leave') {
      await write([], { id: rootOf(t)?.id ?? t.id, state: r.state ?? t });
      const now = r.state ?? t;
      set({ open: [now, ...state.value.open.filter((o) => rootOf(o)?.id !== rootOf(now)?.id)] });
      goTo('/');
      return;
    }
    await finish(r, t);
  }

  function goTo(path: string, replace = false): void {
    if (path === state.value.path) return;
    outside.go(path, replace);
    set({ path });
  }

  /** A typed text becomes an op: on leaving the field, on hide, after a quiet while, at the next start. */
  async function settle(d: TextDraft): Promise<void> {
    const row = find(state.value.rows, d.kind, d.id) ?? (await opened().get(d.kind, d.id));
    if (shown(row, d.field) === d.text) await opened().dropDraft(d.key);
    else
      await write(
        [{ kind: d.kind, id: d.id, set: row ? { [d.field]: d.text } : { [d.field]: d.text, zone: outside.zone() } }],
        undefined,
        d.key,
      );
    if (typing.get(d.key)?.text === d.text) typing.delete(d.key);
    const drafts = new Map(state.value.drafts);
    if (!typing.has(d.key)) drafts.delete(d.key);
    set({ drafts });
  }

  async function settleAll(): Promise<void> {
    for (const d of [...typing.values()]) await settle(d);
  }

  async function askStorage(ask: boolean): Promise<void> {
    const storage = await outside.storage?.(ask);
    if (storage) set({ storage });
  }

  async function load(kinds: readonly string[]): Promise<void> {
    const missing = kinds.filter((k) => !loaded.has(k));
    const rows = await Promise.all(missing.map((k) => opened().all(k)));
    for (const k of missing) loaded.add(k);
    set({ rows: withRows(state.value.rows, rows.flat()) });
  }

  const handlers: { readonly [T in Intent['type']]: (i: Extract<Intent, { type: T }>) => Promise<void> } = {
    start: async () => {
      await opened().startStudio('');
      set({ person: opened().device.person });
      await enter('', []);
    },
    go: async (i) => {
      await settleAll();
      goTo(i.path);
    },
    back: async () => outside.back(),
    'pick-machine': async (i) => {
      await settleAll();
      await opened().saveMeta('machine', i.machine);
      const rows = await readMachine(i.machine);
      loaded.clear();
      set({ machine: i.machine, rows, ctx: ctxNow(rows, i.machine) });
    },
    begin: async (i) => {
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
      const t = state.value.open.find((o) => o.id === i.id);
      if (!t) return;
      if (t.machine !== state.value.machine)
        await handlers['pick-machine']({ type: 'pick-machine', machine: t.machine });
      set({ task: t });
      goTo('/task');
      await step({ do: 'opened' });
    },
    act: (i) => step(i.action),
    fact: async (i) => write(fact(i.fact, ctxNow()) as readonly Draft[]),
    'take-back': async (i) => write(undo(i.how, i.change, ctxNow()) as readonly Draft[]),
    write: async (i) => {
      await settleAll();
      await write(i.drafts);
      set({ undo: i.undo });
      if (i.goTo !== undefined) goTo(i.goTo);
    },
    undo: async () => {
      if (state.value.undo) await write(state.value.undo);
    },
    typed: async (i) => {
      const key = `${i.kind}/${i.id}/${i.field}`;
      const draft = {
        key,
        studio: opened().device.studio,
        kind: i.kind,
        id: i.id,
        field: i.field,
        text: i.text,
        at: outside.now(),
      };
      typing.set(key, draft);
      set({ drafts: new Map(state.value.drafts).set(key, i.text) });
      await opened().saveDraft(draft);
      clearTimeout(quiet.get(key));
      quiet.set(
        key,
        setTimeout(() => void queue(async () => typing.has(key) && settle(typing.get(key) as TextDraft)), quietMs),
      );
    },
    'left-field': async (i) => {
      const d = typing.get(`${i.kind}/${i.id}/${i.field}`);
      if (d) await settle(d);
    },
    settings: (i) => saveSettings(i.set),
    load: (i) => load(i.kinds),
    photo: async (i) => {
      const p = await outside.photo?.(i.file);
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
      await settleAll();
      await outside.saveCopy?.(opened());
      await opened().copied(outside.now());
      await recount();
    },
    'open-copy': async (i) => {
      set({ said: undefined });
      const said = await outside.openCopy?.(opened(), i.file);
      if (opened().device.studio) await enter(state.value.machine, state.value.open);
      set({ said });
    },
    'drop-need': async (i) => {
      await opened().dropNeed(i.key);
      await recount();
    },
    'retry-need': async (i) => {
      const need = state.value.needs.find((n) => n.key === i.key);
      if (!need) return;
      const op = JSON.parse(need.text) as { kind: string; id: string; set: { [field: string]: Json } };
      await write([{ kind: op.kind, id: op.id, set: op.set }]);
      await handlers['drop-need']({ type: 'drop-need', key: i.key });
    },
    'keep-storage': () => askStorage(true),
    link: async (i) => {
      const said = await outside.link?.(i.do, app);
      set({ said });
    },
  };

  function send(intent: Intent): void {
    if (intent.type === 'typed')
      set({ drafts: new Map(state.value.drafts).set(`${intent.kind}/${intent.id}/${intent.field}`, intent.text) });
    void queue(() => (handlers[intent.type] as (i: Intent) => Promise<void>)(intent));
  }

  const app = {
    state,
    send,
    /** Opens the store and shows the first screen. */
    start: () =>
      queue(async () => {
        try {
          await open();
        } catch (e) {
          set({ phase: 'broken', trouble: e instanceof StoreError ? e.reason : 'unknown' });
          if (!(e instanceof StoreError)) throw e;
        }
      }),
    /** The page is hidden or goes away: what is typed becomes a record. */
    hide: () => queue(settleAll),
    /** The address changed by the system's back. */
    moved: (path: string) => {
      set({ path });
      if (path.startsWith('/task') && state.value.task) void queue(() => step({ do: 'opened' }));
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
        const more = [...loaded];
        if (state.value.machine === '') return enter('', state.value.open); // the first machine may have come
        const rows = await readMachine(state.value.machine);
        loaded.clear();
        set({ rows, ctx: ctxNow(rows) });
        await load(more);
        await recount();
      }),
    /** Another studio was entered: everything is read anew. Runs inside an act. */
    entered: async () => {
      const kept = await opened().tasks();
      await enter(
        '',
        kept.map((t) => t.state as unknown as TaskState),
      );
      if (state.value.path.startsWith('/people/') || state.value.path.startsWith('/task')) goTo('/', true);
    },
    say: set,
    queue,
    store: opened,
    settled: () => last,
  };
  return app;
}
