import { expect, test } from 'vitest';
import { request, spell, take } from './memory';
import type { Json } from './ops';
import { newScene, texts } from './scene';
import { serve } from './stub-server';
import { readAnswer, requestBody } from './wire';

const deep = { zLater: [1, { more: null }] };

/** An answer as a server of the next version would give it: more keys at every place that has keys of its own. */
function later(answer: { [key: string]: Json }): Json {
  const records = (answer.records as { [key: string]: Json }[]).map((r) => ({ ...r, ...deep }));
  const refused = (answer.refused as { [key: string]: Json }[]).map((r) => ({ ...r, ...deep }));
  const voids = ((answer.voids ?? []) as { [key: string]: Json }[]).map((v) => ({ ...v, ...deep }));
  return { ...answer, ...deep, records, refused, voids };
}

test('a server of the next version, which says more, is understood', () => {
  const [plain, told] = [newScene(), newScene()];
  for (const scene of [plain, told]) {
    for (const text of ['one', 'two']) {
      scene.say(text);
      for (let i = 0; i < 3; i++) {
        const asked = request(scene.phone, scene.server.id, scene.world);
        const answer = JSON.parse(serve(scene.server, requestBody(asked))) as { [key: string]: Json };
        take(scene.phone, asked, readAnswer(scene === told ? later(answer) : answer), scene.world);
      }
    }
  }
  expect(told.phone.outbox).toEqual([]);
  expect(texts(told.phone)).toEqual(['two']);
  expect(spell(told.phone)).toBe(spell(plain.phone));
});

test('a reason that this program has never heard is a refusal like any other: nothing is lost', () => {
  for (const forGood of [false, true]) {
    const { phone, server, world, say, sync } = newScene();
    sync();
    say('words');
    const asked = request(phone, server.id, world);
    const answer = JSON.parse(serve(server, requestBody(asked))) as { [key: string]: Json };
    const n = asked.from;
    const acked = forGood ? answer.acked : { [asked.replica]: [0, '0'.repeat(16)] };
    const told = {
      ...answer,
      acked,
      records: [],
      refused: [{ replica: asked.replica, n, reason: 'moon-phase', forGood }],
    };
    take(phone, asked, readAnswer(told as Json), world);
    expect(forGood ? phone.needs.map((need) => need.reason) : phone.outbox.length).toEqual(
      forGood ? ['moon-phase'] : 1,
    );
    expect(JSON.stringify(phone.outbox) + JSON.stringify(phone.needs)).toContain('words');
  }
});

test('kinds and fields that this program does not know are kept, sent on and left alone', () => {
  const { phone, server, world, sync } = newScene();
  sync();
  const value = { b: [1, true, null, { z: 'é' }] };
  const dot = `${'7'.repeat(32)}:1`;
  const record = {
    kind: 'weave',
    id: 'd'.repeat(32),
    fields: { rhythm: { live: [{ dot, at: [1, 0], by: '', value }] } },
  };
  const asked = request(phone, server.id, world);
  const answer = JSON.parse(serve(server, requestBody(asked))) as { [key: string]: Json };
  const have = { ...(answer.have as object | undefined), ['7'.repeat(32)]: [1, '0'.repeat(16)] };
  take(phone, asked, readAnswer({ ...answer, records: [record], have } as Json), world);
  const kept = [...phone.rows.values()].find((r) => r.kind === 'weave');
  expect(kept?.fields.rhythm?.live[0]?.value).toEqual(value);
});
