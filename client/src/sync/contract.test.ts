/**
 * The client against api/openapi.yaml: what it sends is of the contract, and what the contract says a server answers is
 * read, and becomes what the client's types promise. The server is held to the same file by api/contract_test.go.
 */
import { readFileSync } from 'node:fs';
import Ajv from 'ajv/dist/2020';
import { describe, expect, test } from 'vitest';
import { parse } from 'yaml';
import { newMemoryPhone, request, write } from './memory';
import { newKeyPair } from './sign';
import { Failed, transport } from './transport';

type Tree = { [key: string]: Tree };
type Media = { schema: object; example: unknown };
type Operation = { requestBody?: { content: Record<string, Media> }; responses: Record<string, Reply> };
type Reply = { $ref?: string; content?: Record<string, Media> };

const file = parse(readFileSync(new URL('../../../api/openapi.yaml', import.meta.url), 'utf8')) as {
  paths: Record<string, Record<string, Operation>>;
  components: { schemas: Tree; responses: Record<string, Reply> };
};
const errorKinds = file.components.schemas.Error?.properties?.kind?.enum as unknown as string[];

/** A body may hold only what its schema names: a key of another name is a mistake on one of the two sides. */
function closed(schema: unknown): void {
  if (typeof schema !== 'object' || schema === null) return;
  if ('properties' in schema && !('additionalProperties' in schema))
    Object.assign(schema, { additionalProperties: false });
  for (const part of Object.values(schema)) closed(part);
}
closed(file.components.schemas);

const ajv = new Ajv({ strict: false, allErrors: true });
ajv.addSchema({ $id: 'file', ...file });

/** What is wrong with a value by a schema of the file; nothing where it is of it. */
function wrong(schema: object, value: unknown): string[] {
  const check = ajv.compile(JSON.parse(JSON.stringify(schema).replaceAll('"#/', '"file#/')));
  return check(value) ? [] : (check.errors ?? []).map((e) => `${e.instancePath} ${e.message}`);
}

const reply = (operation: Operation, status: string): Reply | undefined => {
  const found = operation.responses[status];
  return found?.$ref ? file.components.responses[found.$ref.split('/').at(-1) ?? ''] : found;
};

const json = (of: { content?: Record<string, Media> } | undefined): Media | undefined =>
  Object.entries(of?.content ?? {}).find(([kind]) => kind.includes('json'))?.[1];

/** The operation of the file that a call is for. */
function operationOf(method: string, url: string): { name: string; operation: Operation } {
  for (const [path, item] of Object.entries(file.paths)) {
    const form = new RegExp(`^${path.replace(/\{\w+\}/g, '[^/]+')}$`);
    const operation = item[method.toLowerCase()];
    if (form.test(url) && operation) return { name: `${method} ${path}`, operation };
  }
  throw new Error(`the file has no ${method} ${url}`);
}

const studio = 'c0ffee00c0ffee00c0ffee00c0ffee00';
const sum = '0'.repeat(64);
const person = { id: '0a1b2c3d4e5f60718293a4b5c6d7e8f9', name: 'Ines' };
const phone = { key: `B${'A'.repeat(86)}`, label: 'Phone on the frame' };
const calls: Record<string, (t: ReturnType<typeof transport>) => Promise<unknown>> = {
  'GET /v1/server': (t) => t.server(),
  'POST /v1/claim': (t) => t.claim({ code: '7KMW2RTA', person, phone, studio: { id: studio, name: 'Barn studio' } }),
  'POST /v1/join': (t) => t.join({ code: '4FHN9CXP', person, phone }),
  'POST /v1/token': (t) => t.signIn(),
  'POST /v1/studios': (t) =>
    t.addStudio({ studio: { id: studio, name: 'Barn' }, person: { name: 'Ines' }, label: 'Phone' }),
  'POST /v1/studios/{studio}/invites': (t) => t.invite(studio, { kind: 'class', role: 'guest', ends: 1798761600000 }),
  'POST /v1/studios/{studio}/endings': (t) => t.end(studio, { person: person.id }),
  'POST /v1/studios/{studio}/roles': (t) => t.giveRole(studio, { person: person.id, role: 'operator' }),
  'POST /v1/studios/{studio}/exchange': (t) => {
    const mine = newMemoryPhone(studio, '11111111111111111111111111111111');
    write(mine, { kind: 'note', id: '2'.repeat(32), set: { text: 'Lint', zone: 60 }, over: {} }, 1764064800000);
    return t.exchange(studio, request(mine, '5e0f6a3c9b1d4e2f8a7c6b5d4e3f2a1b'));
  },
  'GET /v1/studios/{studio}/history/{kind}/{id}': (t) => t.history(studio, 'note', '2'.repeat(32)),
  'GET /v1/studios/{studio}/events': async (t) => {
    const heard: number[] = [];
    await t.events(studio, (upTo) => heard.push(upTo), new AbortController().signal);
    return { upTo: heard[0] };
  },
  'PUT /v1/studios/{studio}/photos/{sha256}': (t) => t.putPhoto(studio, sum, new Uint8Array(1000)),
};

/**
 * A server that answers each call with the file's own example, or `refuse` with that refusal. It says what was wrong with
 * what came, by the operation it was for.
 */
async function served(refuse?: { name: string; kind: string }) {
  const pair = await newKeyPair();
  const came: Record<string, string[]> = {};
  const answer = (name: string, operation: Operation): Response => {
    if (name === refuse?.name) return Response.json({ kind: refuse.kind, text: 'words' }, { status: 400 });
    if (name.startsWith('HEAD')) return new Response(null, { status: 404, headers: { 'Photo-Have': '0' } });
    const ok = json(reply(operation, '200'));
    return ok ? new Response(`${JSON.stringify(ok.example)}\n`) : new Response(null, { status: 204 });
  };
  const talk = transport(
    async () => ({ phone: '9a8b7c6d5e4f30213243546576879809', key: pair.privateKey }),
    '',
    async (url, init) => {
      const { name, operation } = operationOf(init.method ?? 'GET', url);
      const asked = json(operation.requestBody);
      came[name] = asked ? wrong(asked.schema, await new Response(init.body as BodyInit).json()) : [];
      return answer(name, operation);
    },
  );
  return { talk, came };
}

describe('the contract', () => {
  test('the file is checked: an example with a letter changed is not of its schema', () => {
    const { schema, example } = json(operationOf('POST', '/v1/claim').operation.requestBody) as Media;
    expect(wrong(schema, example)).toEqual([]);
    expect(wrong(schema, { ...(example as object), code: 7 })).not.toEqual([]);
    expect(wrong(schema, { ...(example as object), extra: 7 })).not.toEqual([]);
  });

  test.each(Object.keys(calls))('%s: what is sent is of it, what it answers is read', async (name) => {
    const { talk, came } = await served();
    const got = await calls[name]?.(talk);
    expect(came).toHaveProperty([name], []);
    expect(Object.values(came).flat()).toEqual([]);
    const [method = '', path = ''] = name.split(' ');
    const said = json(reply(file.paths[path]?.[method.toLowerCase()] as Operation, '200'))?.example;
    if (name.endsWith('/token')) expect(got).toBe('5e0f6a3c9b1d4e2f8a7c6b5d4e3f2a1b');
    else if (name.startsWith('PUT') || said === undefined) expect(got).toBeUndefined();
    else expect(got).toMatchObject(said as object);
  });

  test('every call of the client is in the file, and every path of the file that phones use is called', async () => {
    const forServers = /healthz|readyz|roll$|purges$|deeds$/;
    const named = Object.entries(file.paths)
      .filter(([path]) => !forServers.test(path))
      .flatMap(([path, item]) => Object.keys(item).map((verb) => `${verb.toUpperCase()} ${path}`))
      .filter((name) => /^(GET|POST|PUT|HEAD) /.test(name));
    const { talk, came } = await served();
    for (const call of Object.values(calls)) await call(talk);
    await talk.getPhoto(studio, sum).catch(() => undefined);
    const unused = named.filter((name) => !(name in came));
    expect(unused).toEqual(['GET /v1/studios/{studio}/invites']);
  });

  test.each(errorKinds)('a refusal of kind %s is known by its name', async (kind) => {
    const name = 'GET /v1/server';
    const { talk } = await served({ name, kind });
    const failure = await talk.server().catch((e: unknown) => e);
    expect(failure).toBeInstanceOf(Failed);
    expect((failure as Failed).kind).toBe(kind);
  });
});
