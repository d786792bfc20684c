import { expect, test } from 'vitest';
import { createApp } from './app';
import { careNow, dueNow } from './domain/care';
import { careInput, newId, recipesOf } from './read';
import type { Intent } from './state';
import { memoryEngine } from './store/memory';
import { storeOver } from './store/store';

const start = Date.UTC(2026, 4, 1, 9);
const hour = 3_600_000;

/** A phone whose clock is set by hand. */
async function phone(engine = memoryEngine(), clock = { now: start }) {
  const now = () => clock.now;
  const [zone, path, nothing] = [() => 0, () => '/', () => {}];
  const app = createApp(() => storeOver(engine, { zone }), { now, zone, path, go: nothing, back: nothing });
  await app.start();
  const send = async (...intents: Intent[]) => {
    for (const i of intents) app.send(i);
    await app.settled();
  };
  const due = () => {
    const { rows, ctx } = app.state.value;
    return dueNow(careNow(careInput(rows, ctx))).map((s) => s.item.id);
  };
  return {
    state: () => app.state.value,
    send,
    due,
    later: (ms: number) => phone(engine, { now: clock.now + ms }),
    clock,
  };
}

async function withMachine() {
  const p = await phone();
  await p.send({ type: 'start' }, { type: 'act', action: { do: 'next' } });
  return p;
}

test('what is due is known from what one tap writes, and what was done is remembered over a restart', async () => {
  const p = await withMachine();
  const { machine } = p.state();
  expect(p.due()).toEqual([]);
  p.clock.now += hour;
  await p.send({ type: 'fact', fact: 'new-bobbin' });
  p.clock.now += hour;
  await p.send({ type: 'fact', fact: 'new-bobbin' });
  expect(p.due()).toEqual(['hook', 'oil']);
  const done = (item: string): Intent => ({
    type: 'write',
    drafts: [{ kind: 'careDone', id: newId(), set: { machine, item, who: 'operator', zone: 0 } }],
  });
  p.clock.now += hour;
  await p.send(done('oil'), { type: 'fact', fact: 'cleaned' });
  expect(p.due()).toEqual([]);
  const { rows, ctx } = p.state();
  expect(careInput(rows, ctx).done).toMatchObject([{ item: 'oil', who: 'operator', at: start + 3 * hour }]);
  const again = await p.later(hour);
  expect(again.due()).toEqual([]);
  await again.send({ type: 'fact', fact: 'new-bobbin' });
  expect(again.due()).toEqual(['hook']);
  await again.send({ type: 'write', drafts: [{ kind: 'carePlan', id: machine, set: { hook: { every: 2 } } }] });
  expect(again.due()).toEqual([]);
  expect((await again.later(hour)).due()).toEqual([]);
});

test('a case brings its own log to the machine it sits in now', async () => {
  const p = await withMachine();
  const [bobbinCase, other] = [newId(), newId()];
  const at = (machine: string): Intent => ({
    type: 'write',
    drafts: [
      { kind: 'bobbinCase', id: bobbinCase, set: { label: 'Blue dot', zone: 0 } },
      { kind: 'bench', id: machine, set: { bobbinCase } },
    ],
  });
  await p.send(
    { type: 'write', drafts: [{ kind: 'machine', id: other, set: { name: 'Window seat', zone: 0 } }] },
    at(p.state().machine),
    {
      type: 'write',
      drafts: [
        { kind: 'careDone', id: newId(), set: { machine: p.state().machine, bobbinCase, item: 'card', zone: 0 } },
      ],
    },
    { type: 'pick-machine', machine: other },
    at(other),
  );
  const { rows, ctx } = p.state();
  const card = careNow(careInput(rows, ctx)).find((s) => s.item.id === 'card');
  expect(card?.doneAt).toBe(start);
});

test('a new bobbin says on which quilt it went and of what thread; the last use of a recipe counts', async () => {
  const p = await withMachine();
  const [quilt, bobbinThread, recipe] = [newId(), newId(), newId()];
  const { machine } = p.state();
  const use = (worked: boolean): Intent => ({
    type: 'write',
    drafts: [{ kind: 'recipeUse', id: newId(), set: { recipe, worked, machine, zone: 0 } }],
  });
  await p.send(
    {
      type: 'write',
      drafts: [
        { kind: 'quilt', id: quilt, set: { machine, name: 'River stones', zone: 0 } },
        { kind: 'thread', id: bobbinThread, set: { number: '60', fibre: 'polyester', zone: 0 } },
        { kind: 'bench', id: machine, set: { quilt, bobbinThread } },
        { kind: 'recipe', id: recipe, set: { name: 'Night sky', machine, zone: 0 } },
      ],
    },
    { type: 'fact', fact: 'new-bobbin' },
    use(true),
  );
  p.clock.now += hour;
  await p.send({ type: 'fact', fact: 'good' });
  await p.send(use(false));
  expect(p.state().ctx.events.map(({ type, quilt: q, thread }) => [type, q, thread])).toEqual([
    ['new-bobbin', quilt, bobbinThread],
    ['good', undefined, undefined],
  ]);
  const { recipes, worked } = recipesOf(p.state().rows);
  expect(recipes.map((r) => r.name)).toEqual(['Night sky']);
  expect(worked.get(recipe)).toBe(false);
});
