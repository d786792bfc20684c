// The table of every step of every task, made from the task definitions, and for each step a phone that stands there: the
// rows its store would hold, the button that the step's example act has, and what the engine says that act must come to.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';

let read;

/** The client's own modules, those of modules.ts, bundled once. */
export function sources() {
  read ??= bundled();
  return read;
}

async function bundled() {
  const dir = mkdtempSync(join(tmpdir(), 'evenpull-'));
  try {
    const file = join(dir, 'modules.mjs');
    const r = spawnSync('go', ['run', './client/build/script', 'client/e2e/modules.ts', file], { encoding: 'utf8' });
    if (r.status !== 0) throw new Error(`the client's modules could not be bundled: ${r.error ?? r.stderr}`);
    return await import(pathToFileURL(file));
  } finally {
    rmSync(dir, { recursive: true, force: true });
  }
}

const lists = {
  machines: 'machine',
  bobbinCases: 'bobbinCase',
  threads: 'thread',
  quilts: 'quilt',
  balancings: 'balancing',
  changes: 'change',
  readings: 'reading',
  findings: 'finding',
  samples: 'sample',
  events: 'event',
  symptoms: 'symptom', // a phone may have seen some; the tasks' own world has none
};
const ofMachine = new Set(['quilt', 'balancing', 'reading', 'finding', 'sample', 'event', 'symptom']);

/** Times of the tasks' own world, moved to today; what has no time there was an hour ago. */
const moved = (value, by) =>
  JSON.parse(JSON.stringify(value), (_, v) => (typeof v === 'number' && v > 1e12 ? v + by : v));

/** A context as the drafts that would have made it, oldest first. */
function draftsOf(ctx) {
  const all = Object.entries(lists).flatMap(([name, kind]) =>
    (ctx[name] ?? []).map(({ id, at, by: _, ...set }) => ({
      at: at > 1e12 ? at : ctx.now - 3_600_000 + at,
      draft: { kind, id, set: { ...(ofMachine.has(kind) ? { machine: ctx.machine } : {}), ...set, zone: ctx.zone } },
    })),
  );
  const bench = { kind: 'bench', id: ctx.machine, set: { ...ctx.bench, zone: ctx.zone } };
  if (Object.keys(ctx.bench).length > 0) all.push({ at: ctx.now - 3_600_000, draft: bench });
  return all.sort((a, b) => a.at - b.at);
}

/** Ids that were made by this act, and times, are not to be foreseen; everything else is. */
export function plainly(value, known) {
  return JSON.parse(JSON.stringify(value ?? null), (_, v) => {
    if (typeof v === 'number' && v > 1e12) return 'a time';
    if (typeof v === 'string')
      return v.replace(/[0-9a-f]{32}/g, (id) => (known.has(id) ? id : 'an id')).replace(/^\d+-\d+$/, 'an id');
    return v;
  });
}

const tables = ['records', 'outbox', 'phones', 'tasks', 'meta'];

/** What the store of a phone would hold in a world: a context of the tasks' own, and a task that is open in it. */
function databaseOf(src) {
  const { storeOver } = src.store;
  const { memoryEngine } = src.memory;
  const { within } = src.tables;
  const { usualSettings } = src.state;
  return async ({ ctx, state, quiet = true }, now) => {
    const engine = memoryEngine();
    const store = await storeOver(engine, { zone: () => ctx.zone });
    await store.startStudio('');
    const { acknowledged, gauge, gaps } = ctx;
    const settings = { ...usualSettings, acknowledged, gauge, gaps, sound: !quiet, buzz: false };
    await store.saveDevice({ ...store.device, settings });
    await store.saveMeta('machine', ctx.machine);
    const by = now - ctx.now;
    for (const { at, draft } of draftsOf(ctx)) await store.write([draft], at + by);
    if (state) {
      const kept = moved(state, by);
      await store.write([], now, { id: rootOf(kept).id, touchedAt: now, state: { ...kept, touchedAt: now } });
    }
    const rows = {};
    await engine.run(tables, 'read', async (tx) => {
      for (const name of tables) {
        const plainKey = name === 'phones' || name === 'meta';
        rows[name] = await tx.list(name, plainKey ? { from: '', to: '\uffff' } : within(store.device.studio));
      }
    });
    return rows;
  };
}

/**
 * The phone of a quilter who has answered everything and filled the bench; `change` may tell more, and with `quiet: false`
 * it makes sounds. Gives its rows.
 */
export async function phoneOf(change = (ctx) => ctx, { quiet = true } = {}) {
  const src = await sources();
  const ctx = change({ ...src.world.filled, gauge: false });
  return await databaseOf(src)({ ctx, quiet }, Date.now());
}

/** Everything the kill test needs: { steps, places }, one place for each row of the table that has a way to it. */
export async function places() {
  const src = await sources();
  const { task, world, read, taskOffers, taskDone, explore } = src;
  const database = databaseOf(src);

  /** The world after these acts. */
  function played({ way: [name, ctx, data] }, path) {
    const first = world.opened(name, ctx, data);
    return path.reduce(
      (here, action, i) => world.acted(here, i + 1, action, action.do === 'opened' ? 61_000 : 1000),
      first,
    );
  }

  async function placed(route) {
    const paced = task.steps.find((s) => s.task === route.task && s.step === route.step)?.kind === 'paced';
    const here = played(route, route.path);
    const start = paced ? played(route, route.path.slice(0, -1)) : here;
    const action =
      route.example.do === 'type'
        ? { ...route.example, text: 'Words “typed” <b>here</b> \\ 0x1f9f5 🧵' }
        : route.example;
    const now = Date.now();
    const rows = await database(start, now);
    const known = new Set(JSON.stringify(rows).match(/[0-9a-f]{32}/g));
    const ctxNow = contextOf(here, rows, now);
    const state = moved(here.state, now - here.ctx.now);
    const result = task.act(state, action, ctxNow);
    const opened = result.state && task.act(result.state, { do: 'opened' }, ctxNow);
    const asks =
      opened?.state?.asking &&
      task.offers(opened.state, ctxNow).map((o) => taskOffers.offerWords(o, opened.state, ctxNow));
    const label = (a, at) => {
      const offer = task.offers(at.state, at.ctx).find((o) => JSON.stringify(o.action) === JSON.stringify(a));
      return taskOffers.offerWords(offer, at.state, at.ctx);
    };
    return {
      name: `${route.task}.${route.step}`,
      rows,
      known,
      before: paced ? [{ action: route.path.at(-1), label: label(route.path.at(-1), start) }] : [],
      action,
      label: label(route.example, { state, ctx: ctxNow }), // times in it are those of today
      expected: { state: opened?.state, drafts: result.drafts, refused: result.refused === true },
      done: opened?.state && !opened.state.asking ? taskDone.doneLine(opened.state) : undefined, // said to who comes back
      asks,
    };
  }

  /** The context as the app works it out from these rows. */
  function contextOf({ ctx }, { records }, now) {
    const rows = read.withRows(new Map(), records);
    const { acknowledged, gauge, gaps } = ctx;
    const zone = -new Date().getTimezoneOffset() || 0;
    const ids = Array.from({ length: 48 }, (_, i) => `f${i}`.padStart(32, '0'));
    return read.contextFor(rows, ctx.machine, { now, zone, ids, acknowledged, gauge, gaps });
  }

  const found = [];
  for (const route of explore.routes()) found.push(await placed(route));
  return { steps: task.steps.map((s) => `${s.task}.${s.step}`), places: found };
}

function rootOf(t) {
  return t.back ? rootOf(t.back) : t;
}
