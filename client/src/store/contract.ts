/** For tests: what the contract of every store is written with (contract-*.ts). */
import { expect } from 'vitest';
import { newId } from '../sync/ops';
import type { Answer, Request } from '../sync/wire';
import type { Row, Store } from './store';

/** A store of its own for one test. `again` opens the same one anew, as after a restart; `fail` spoils the next write. */
export type Fixture = { store: Store; again(): Promise<Store>; fail(reason: 'full' | 'lost'): void };

export const server = '5e'.repeat(16);
export const epoch = 'e0'.repeat(16);

/** What a server says that took all of a request and has these records; chained as a server's log is not. */
export function answerTo(request: Request, more: Partial<Answer> = {}): Answer {
  const upTo = request.after + Math.max(1, request.ops.length);
  return {
    format: 1,
    server,
    epoch,
    upTo,
    upToDigest: upTo.toString(16).padStart(16, '0'),
    reading: upTo,
    acked: {},
    records: [],
    more: false,
    have: {},
    voids: [],
    forks: [],
    refused: [],
    photosWanted: [],
    ...more,
  };
}

export const first = (row: Row | undefined, field: string) => row?.fields[field]?.live[0]?.value;

/** Small acts that the tests share. */
export function kit(make: () => Promise<Fixture>) {
  const note = (text: string, id = newId()) => ({ kind: 'note', id, set: { text } });
  const begin = async () => {
    const f = await make();
    await f.store.startStudio('');
    return f;
  };
  /** A server that was met once: from now on it is sent what waits. */
  const greet = async (store: Store) => {
    const request = await store.nextRequest(store.device.studio, server);
    await store.take(store.device.studio, request, answerTo(request), 1);
  };
  const joined = async () => {
    const f = await begin();
    await greet(f.store);
    return f;
  };
  const acked = async (store: Store, n: number) => {
    const { meta } = (await store.phone()) as NonNullable<Awaited<ReturnType<Store['phone']>>>;
    expect(meta.last).toBe(n);
    return { [meta.replica]: [n, meta.lastChain.slice(0, 16)] as const };
  };
  const opsOf = async (store: Store) => {
    if (!(await store.phone())?.meta.cursors[server]) await greet(store);
    const request = await store.nextRequest(store.device.studio, server);
    return request.ops.map((text) => JSON.parse(text) as { n: number; set: Record<string, unknown>; over: object });
  };
  return { make, note, begin, greet, joined, acked, opsOf };
}
