/**
 * The sync loop of one browser: one tab at a time sends, reads and listens, as long as it is looked at. It never stands
 * between a person and their work: it has no say over what is written, and no failure of it loses or forgets anything.
 */
import { Failed, type FailureKind } from './http';
import { type Round, type RoundStore, type RoundTransport, round } from './round';
import type { Transport } from './transport';
import { asked, atRest, failed, type Standing, standingAfter, succeeded, type Trigger } from './when';

export type { Standing, Trigger } from './when';

/** For the strip: is my work safe to leave, and do I have what the others wrote? */
export type LoopState = {
  readonly state: Standing;
  readonly waiting: number; // own ops that the server lacks
  readonly photosWaiting: number;
  readonly needs: number; // what needs the person
  readonly heardAt?: number; // ms UTC of the server's last answer
  readonly nextAt?: number; // ms UTC of the next try, where one is planned
  readonly why?: FailureKind | string; // of 'offline' and 'refused': a failure's kind, or a refusal's reason
  readonly text?: string; // the server's own sentence, for where there are no better words
  readonly more: boolean; // a long reading or sending is under way
};

export type LoopStore = RoundStore & {
  phone(studio: string): Promise<{ readonly links: { readonly [server: string]: unknown } } | undefined>;
  counts(): Promise<{ waiting: number; photosWaiting: number; needs: number; heardAt?: number }>;
  onChange(listener: (change: { readonly by: string; readonly studio: string }) => void): () => void;
};

export type LoopTransport = RoundTransport & Pick<Transport, 'events'>;

/** What the loop needs of the page it runs in; the defaults are the browser's (page.ts). */
export type Page = {
  now(): number;
  random(): number;
  /** Calls back once, after so many ms. Returns how to stop it. */
  after(ms: number, act: () => void): () => void;
  visible(): boolean;
  /** Calls back at each such moment. Returns how to stop it. */
  on(moment: 'online' | 'visible' | 'hidden', act: () => void): () => void;
  /** Runs the work while no other tab of this browser does, until it ends. Rejects when the signal does before its turn. */
  alone(work: () => Promise<void>, signal: AbortSignal): Promise<void>;
  /** What the tabs tell each other; undefined where they can't. */
  tabs?: { post(message: TabMessage): void; listen(listener: (message: TabMessage) => void): () => void };
};

export type TabMessage =
  | { readonly type: 'state'; readonly studio: string; readonly state: LoopState }
  | { readonly type: 'poke'; readonly studio: string; readonly trigger: Trigger };

export type Loop = {
  /** Now, or soon: see Trigger. Does nothing in a studio that is joined to no server. */
  poke(trigger: Trigger): void;
  state(): LoopState;
  onState(listener: (state: LoopState) => void): () => void;
  /** Ends it: after the call under way where that is quick, and without waiting where it is not. */
  stop(): Promise<void>;
};

const nothing: LoopState = { state: 'alone', waiting: 0, photosWaiting: 0, needs: 0, more: false };
/** A stream of news that ended is opened again after so long at least, longer after each failure. */
const reopenMs = 1000;

/** Starts the loop for one studio; for another one, stop this and start anew. */
export function startLoop(studio: string, store: LoopStore, transport: LoopTransport, page: Page): Loop {
  const listeners = new Set<(state: LoopState) => void>();
  const photoFailed: Round['photoFailed'] = new Map();
  const ended = new AbortController();
  const undo: (() => void)[] = [];
  let state = nothing;
  let pace = atRest;
  let joined = false;
  let turn: AbortController | undefined; // of this tab, while it is looked at
  let leading = false; // no other tab sends
  let running: Promise<void> | undefined;
  let stopTimer: () => void = () => {};
  let wake: () => void = () => {};
  let heardUpTo = -1; // of the server's log, as far as it was read

  function show(more: Partial<LoopState>): void {
    state = { ...state, ...more };
    if (leading) page.tabs?.post({ type: 'state', studio, state });
    for (const listener of listeners) listener(state);
  }

  async function recount(): Promise<void> {
    const { waiting, photosWaiting, needs, heardAt } = await store.counts();
    show({ waiting, photosWaiting, needs, heardAt });
  }

  function poke(trigger: Trigger): void {
    if (ended.signal.aborted) return;
    if (!leading) return page.tabs?.post({ type: 'poke', studio, trigger });
    pace = asked(pace, trigger, page.now());
    plan();
  }

  function plan(): void {
    stopTimer();
    if (running || !leading || pace.nextAt === Number.POSITIVE_INFINITY) return;
    stopTimer = page.after(Math.max(0, pace.nextAt - page.now()), () => void run());
  }

  /** One round, and what follows from it. Never throws. */
  function run(): Promise<void> {
    running ??= once().finally(() => {
      running = undefined;
      plan();
    });
    return running;
  }

  async function once(): Promise<void> {
    pace = { ...pace, nextAt: Number.POSITIVE_INFINITY }; // what is asked for from now on needs a round of its own
    const wish = () => pace.nextAt;
    try {
      joined = Object.keys((await store.phone(studio))?.links ?? {}).length > 0;
      if (!joined) {
        pace = atRest;
        show({ state: 'alone', why: undefined, text: undefined, nextAt: undefined, more: false });
        return await recount();
      }
      show({ state: 'sending', nextAt: undefined });
      const took = (more: boolean) => void (more && !state.more && show({ more }));
      const { signal } = ended;
      const { upTo, waiting } = await round({ store, transport, studio, now: page.now, photoFailed, signal, took });
      heardUpTo = upTo;
      pace = waiting ? failed(pace, page.now(), page.random()) : { ...succeeded(page.now()), nextAt: wish() };
      show(waiting ? { state: 'refused', why: waiting.reason } : { state: 'idle', why: undefined, text: undefined });
      wake();
    } catch (e) {
      if (ended.signal.aborted) return;
      fail(e);
    } finally {
      if (!ended.signal.aborted) {
        show({ more: false, nextAt: pace.nextAt === Number.POSITIVE_INFINITY ? undefined : pace.nextAt });
        await recount().catch(() => {}); // the store has said so where it was asked by the person
      }
    }
  }

  /** A failure is shown and tried again later; it never takes anything away. */
  function fail(e: unknown): void {
    const { kind, text, seconds } = e instanceof Failed ? e : { kind: reasonOf(e), text: '', seconds: 0 };
    pace = failed(pace, page.now(), page.random(), seconds);
    show({ state: e instanceof Failed ? standingAfter(e.kind) : 'refused', why: kind, text: text || undefined });
  }

  /** Listens for news while this tab leads: reopened when it ends, later and later while it can't be. */
  async function listen(signal: AbortSignal): Promise<void> {
    let failures = 0;
    while (!signal.aborted) {
      if (state.state !== 'idle') {
        await new Promise<void>((resolve) => {
          wake = resolve; // after the next round that went well
          signal.addEventListener('abort', () => resolve(), { once: true });
        });
        continue;
      }
      const end = await transport
        .events(
          studio,
          (upTo) => {
            failures = 0;
            if (upTo !== heardUpTo || state.state === 'offline') poke('news');
          },
          signal,
        )
        .catch(() => 'failed' as const);
      if (signal.aborted) return;
      if (end === 'access') poke('news'); // the exchange says what became of the right
      if (end === 'token') continue;
      const wait = failed({ ...atRest, failures: failures++ }, 0, page.random()).nextAt;
      await pause(end === 'failed' || failures > 1 ? wait : reopenMs, signal);
      if (!signal.aborted && end !== 'failed') poke('news'); // something may have come while nobody listened
    }
  }

  const pause = (ms: number, signal: AbortSignal) =>
    new Promise<void>((resolve) => {
      const cancel = page.after(ms, resolve);
      signal.addEventListener('abort', () => (cancel(), resolve()), { once: true });
    });

  /** While this tab is looked at: waits for its turn, then leads until it is hidden. */
  function enter(trigger: Trigger): void {
    if (turn || ended.signal.aborted) return;
    const mine = new AbortController();
    turn = mine;
    const lead = async () => {
      leading = true;
      poke(trigger);
      await listen(mine.signal);
      stopTimer();
      if (pace.nextAt !== Number.POSITIVE_INFINITY && pace.failures === 0 && !ended.signal.aborted) void run(); // what was just saved
      while (running) await running;
      leading = false;
    };
    page.alone(lead, mine.signal).catch(() => {}); // it went away before its turn came
  }

  function leave(): void {
    turn?.abort();
    turn = undefined;
  }

  undo.push(
    page.on('visible', () => enter('visible')),
    page.on('hidden', leave),
    page.on('online', () => poke('online')),
    store.onChange((change) => {
      if (change.studio !== studio) return;
      if (change.by !== 'studio') poke('saved');
      void recount().catch(() => {});
    }),
  );
  const unlisten = page.tabs?.listen((message) => {
    if (message.studio !== studio) return;
    if (message.type === 'poke' && leading) poke(message.trigger);
    if (message.type === 'state' && !leading) {
      state = message.state;
      for (const listener of listeners) listener(state);
    }
  });
  if (unlisten) undo.push(unlisten);
  void recount().catch(() => {});
  if (page.visible()) enter('open');

  return {
    poke,
    state: () => state,
    onState: (listener) => {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
    stop: async () => {
      ended.abort();
      leave();
      stopTimer();
      for (const act of undo) act();
      await running;
    },
  };
}

const reasonOf = (e: unknown): string =>
  typeof e === 'object' && e !== null && 'reason' in e && typeof e.reason === 'string' ? e.reason : 'internal';
