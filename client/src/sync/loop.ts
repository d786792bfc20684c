/**
 * The sync loop of one browser: one tab at a time sends, reads and listens, as long as it is looked at. It never stands
 * between a person and their work: it has no say over what is written, and no failure of it loses or forgets anything.
 */
import { Failed } from './http';
import { listen } from './listen';
import { mostAtOnce } from './replication';
import { type Round, type RoundStore, type RoundTransport, round } from './round';
import type { Transport } from './transport';
import { asked, atRest, failed, never, type Standing, standingAfter, succeeded, type Trigger } from './when';

export type { Standing, Trigger } from './when';

/** For the strip: is my work safe to leave, and do I have what the others wrote? */
export type LoopState = {
  readonly state: Standing;
  readonly waiting: number; // own ops that the server lacks
  readonly photosWaiting: number;
  readonly needs: number; // what needs the person
  readonly heardAt?: number; // ms UTC of the server's last answer
  readonly nextAt?: number; // ms UTC of the next try, where one is planned
  readonly why?: string; // of 'offline' and 'refused': a failure's kind (http.ts), or a refusal's reason
  readonly text?: string; // the server's own sentence, for where there are no better words
  readonly more: boolean; // a long reading or sending is under way
  readonly share?: number | undefined; // how much of a long reading is here, 0 to 1
};

export type LoopStore = RoundStore & {
  phone(studio: string): Promise<{ readonly links: { readonly [server: string]: unknown } } | undefined>;
  counts(): Promise<{ waiting: number; photosWaiting: number; needs: number; heardAt?: number }>;
  onChange(listener: (change: { readonly by: string; readonly studio: string }) => void): () => void;
};

export type LoopTransport = RoundTransport & Pick<Transport, 'events'>;

/** What the loop needs of the page it runs in (page.ts is the browser's). What gives back a function stops by it. */
export type Page = {
  now(): number;
  random(): number;
  /** Calls back once, after so many ms. */
  after(ms: number, act: () => void): () => void;
  visible(): boolean;
  /** Calls back at each such moment. */
  on(moment: 'online' | 'visible' | 'hidden', act: () => void): () => void;
  /** Runs the work while no other tab of this browser does, until it ends. Rejects when the signal comes before its turn. */
  alone(work: () => Promise<void>, signal: AbortSignal): Promise<void>;
  /** What the tabs tell each other; undefined where they can't. */
  tabs?: { post(message: TabMessage): void; listen(listener: (message: TabMessage) => void): () => void };
};

export type TabMessage =
  | { readonly type: 'state'; readonly studio: string; readonly state: LoopState }
  | { readonly type: 'poke'; readonly studio: string; readonly trigger: Trigger }
  | { readonly type: 'hello'; readonly studio: string }; // how does it stand?

export type Loop = {
  /** Now, or soon: see Trigger. Nothing is sent from a studio that is joined to no server. */
  poke(trigger: Trigger): void;
  state(): LoopState;
  onState(listener: (state: LoopState) => void): () => void;
  /** Ends it, between two calls. */
  stop(): Promise<void>;
};

/** Starts the loop for the studio that is entered; for another one, stop this and start anew. */
export function startLoop(studio: string, store: LoopStore, transport: LoopTransport, page: Page): Loop {
  const listeners = new Set<(state: LoopState) => void>();
  const ended = new AbortController();
  let state: LoopState = { state: 'sending', waiting: 0, photosWaiting: 0, needs: 0, more: false }; // about to
  let pace = atRest;
  let turn: AbortController | undefined; // of this tab, while it is looked at
  let leading = false; // no other tab sends
  let running: Promise<void> | undefined;
  let stopTimer = () => {};
  let answered = false; // the server, when it was asked last
  let wake = () => {}; // who waits for that
  let upToHere = -1; // how far its log was read
  let newsUpTo = -1; // how far it goes, as it said last

  function show(more: Partial<LoopState>): void {
    state = { ...state, ...more };
    if (leading) page.tabs?.post({ type: 'state', studio, state });
    for (const listener of listeners) listener(state);
  }

  /** The figures of the strip. A store that can't be read has said so where the person asked it something. */
  const recount = () => store.counts().then(show, () => {});

  function poke(trigger: Trigger): void {
    if (leading) {
      pace = asked(pace, trigger, page.now());
      plan();
    } else if (!ended.signal.aborted) page.tabs?.post({ type: 'poke', studio, trigger });
  }

  function plan(): void {
    stopTimer();
    if (running || !leading || pace.nextAt === never) return;
    stopTimer = page.after(Math.max(0, pace.nextAt - page.now()), () => void run());
  }

  function run(): Promise<void> {
    running ??= once().finally(() => {
      running = undefined;
      plan();
    });
    return running;
  }

  const roundOf: Round = {
    store,
    transport,
    studio,
    now: page.now,
    size: { most: mostAtOnce },
    photoFailed: new Map(),
    signal: ended.signal,
    took: (more, share) => {
      if (more && (!state.more || share !== state.share)) show({ more, share });
    },
  };

  /** One round and what follows from it. Never rejects: a failure is shown and tried again later, and takes nothing away. */
  async function once(): Promise<void> {
    pace = { ...pace, nextAt: never }; // what is asked for from now on wants a round of its own
    answered = false;
    try {
      const joined = Object.keys((await store.phone(studio))?.links ?? {}).length > 0;
      show({ state: joined ? 'sending' : 'alone', nextAt: undefined });
      if (joined) {
        const { upTo, waiting } = await round(roundOf);
        upToHere = upTo;
        answered = true;
        pace = waiting ? failed(pace, page.now(), page.random()) : succeeded(pace, page.now());
        show({ state: waiting ? 'refused' : 'idle', why: waiting?.reason, text: undefined });
        wake();
        if (newsUpTo > upToHere) poke('news'); // it came while we read
      }
    } catch (e) {
      if (ended.signal.aborted) return;
      const { kind, text, seconds } = e instanceof Failed ? e : { kind: reasonOf(e), text: '', seconds: 0 };
      pace = failed(pace, page.now(), page.random(), seconds);
      show({ state: e instanceof Failed ? standingAfter(e.kind) : 'refused', why: kind, text: text || undefined });
    }
    show({ more: false, share: undefined, nextAt: pace.nextAt === never ? undefined : pace.nextAt });
    await recount();
  }

  /** While this tab is looked at: waits for its turn, then leads until it is hidden. */
  function enter(trigger: Trigger): void {
    if (turn || ended.signal.aborted) return;
    turn = new AbortController();
    const { signal } = turn;
    const lead = async () => {
      leading = true;
      poke(trigger);
      await listen(ears, signal);
      stopTimer();
      const unsent = pace.nextAt !== never && pace.failures === 0; // what was saved a moment ago
      if (unsent && !ended.signal.aborted) await run();
      await running;
      leading = false;
      stopTimer();
    };
    page.alone(lead, signal).catch(() => {}); // it went away before its turn came
  }

  function leave(): void {
    turn?.abort();
    turn = undefined;
  }

  const ears = {
    events: (news: (upTo: number) => void, signal: AbortSignal) => transport.events(studio, news, signal),
    answers: async (signal: AbortSignal) => {
      const waiting = (done: () => void) => {
        wake = done;
        return () => {};
      };
      while (!answered && !signal.aborted) await until(signal, waiting);
    },
    news: (upTo: number) => {
      newsUpTo = upTo;
      if (!running && (upTo !== upToHere || !answered)) poke('news');
    },
    unsure: () => {
      answered = false;
      poke('news');
    },
    pause: (ms: number, signal: AbortSignal) => until(signal, (done) => page.after(ms, done)),
    random: page.random,
  };

  const undo = [
    page.on('visible', () => enter('visible')),
    page.on('hidden', leave),
    page.on('online', () => poke('online')),
    store.onChange((change) => {
      if (change.studio !== studio) return;
      if (change.by !== 'studio') poke('saved');
      void recount();
    }),
    page.tabs?.listen((message) => {
      if (message.studio !== studio) return;
      if (message.type === 'poke' && leading) poke(message.trigger);
      if (message.type === 'hello' && leading) show({});
      if (message.type === 'state' && !leading) show(message.state);
    }),
  ];
  void recount();
  page.tabs?.post({ type: 'hello', studio });
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
      for (const act of undo) act?.();
      await running;
    },
  };
}

/** Waits for what `begin` is told to call, or for the signal, which then calls what `begin` gave back. */
function until(signal: AbortSignal, begin: (done: () => void) => () => void): Promise<void> {
  return new Promise((resolve) => {
    const done = () => {
      signal.removeEventListener('abort', cancel);
      resolve();
    };
    const stop = begin(done);
    const cancel = () => {
      stop();
      resolve();
    };
    signal.addEventListener('abort', cancel, { once: true });
  });
}

const reasonOf = (e: unknown): string =>
  typeof e === 'object' && e !== null && 'reason' in e && typeof e.reason === 'string' ? e.reason : 'internal';
