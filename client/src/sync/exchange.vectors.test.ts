import { expect, test } from 'vitest';
import { covers, trim } from './merge';
import type { Json } from './ops';
import { newStub, type StubServer, serve } from './stub-server';
import { loadVectors } from './vectors';
import { readAnswer, readRecord, recordText, requestBody } from './wire';

type Step = { may?: 'read' | 'write'; onePage?: true; fill?: [text: string, times: number]; request: Json; want: Json };

/** An answer without what each copy may keep or not: dead dots that the server's vector covers, records that hold nothing. */
function plain(answer: { records: Json[] }, { c }: StubServer): Json {
  const records = answer.records
    .map((tree) => trim(readRecord(tree), { has: (dot) => covers(c, dot) }))
    .filter((rec) => Object.keys(rec.fields).length > 0)
    .map((rec) => JSON.parse(recordText(rec)));
  return { ...answer, records };
}

function checkStep(server: StubServer, step: Step, where: string): void {
  for (const key of Object.keys(step)) expect(['may', 'onePage', 'fill', 'request', 'want'], where).toContain(key);
  server.mayWrite = step.may !== 'read';
  server.mayPurge = step.may === undefined;
  server.pageRecords = step.onePage ? 1 : 1000;
  const text = JSON.stringify(step.request);
  const body = step.fill ? text.replace('@@', step.fill[0].repeat(step.fill[1])) : text;
  expect(plain(JSON.parse(serve(server, body)), server), where).toEqual(step.want);
}

/** Whether a phone of this version could have asked it: servers carry frames, and later versions say more. */
const ofPhone = (request: Record<string, Json>) => !request.frames && !request.later;

function checkWords({ request, want }: Step, where: string): void {
  const answer = want as Record<string, Json>;
  const read = readAnswer(answer);
  const none = { voids: [], forks: [], photosWanted: [] };
  const records = read.records.map((rec) => JSON.parse(recordText(rec)));
  expect({ ...read, records }, `${where}: the answer as read`).toEqual({ ...none, ...answer });
  const asked = request as Record<string, Json>;
  if (!ofPhone(asked)) return;
  const { ops, reading = 0, back, ...rest } = asked;
  const texts = (ops as Json[]).map((op) => JSON.stringify(op));
  const part = back && { ...(back as object), records: (back as { records: Json[] }).records.map(readRecord) };
  const written = requestBody({ ...rest, ops: texts, reading, ...(part && { back: part }) } as never);
  expect(JSON.parse(written), `${where}: the request as written`).toEqual(asked);
}

const cases = loadVectors<{ name: string; steps: Step[] }>('exchange', ['name', 'steps']);

test.each(cases)('$name', ({ steps }) => {
  const server = newStub('9'.repeat(32));
  expect(steps.length).toBeGreaterThan(0);
  for (const [i, step] of steps.entries()) {
    checkStep(server, step, `step ${i}`);
    checkWords(step, `step ${i}`);
  }
});
