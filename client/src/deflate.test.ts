import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { deflated, inflated } from './deflate';
import { bytesOf as bytesOfRun, mostUnpackedBytes, runCodes, takenUp } from './sync/code-run';
import { BadFile, decodeStudioFile } from './sync/statefile';

const bytesOf = (text: string) => new TextEncoder().encode(text);
const most = 1 << 20;

test('what is packed comes out as it went in, smaller where there is something to pack', async () => {
  await fc.assert(
    fc.asyncProperty(fc.uint8Array({ maxLength: 5_000 }), async (any) => {
      const bytes = new Uint8Array(any);
      expect(await inflated(await deflated(bytes), most)).toEqual(bytes);
    }),
    { numRuns: 30 },
  );
  const long = bytesOf('{"kind":"note"}\n'.repeat(2_000));
  expect((await deflated(long)).length).toBeLessThan(long.length / 50);
});

test('is read as RFC 1951 has it: a last block that is stored, its length, that length inverted, the bytes (3.2.4)', async () => {
  const text = bytesOf('stitch');
  expect(await inflated(Uint8Array.of(1, 6, 0, 249, 255, ...text), most)).toEqual(text);
});

test('a small thing that unpacks to a very large one is refused', async () => {
  const bomb = await deflated(new Uint8Array(4 * most));
  expect(bomb.length).toBeLessThan(5_000);
  const came = await inflated(bomb, most).catch((e: unknown) => e); // never bytes: those would be printed for minutes
  expect(came instanceof BadFile && came.reason).toBe('too-large');
});

test('the limit itself may come out, one byte more may not', async () => {
  const packed = await deflated(bytesOf('x'.repeat(1_000)));
  expect(await inflated(packed, 1_000)).toHaveLength(1_000);
  await expect(inflated(packed, 999)).rejects.toMatchObject({ reason: 'too-large' });
});

test('what is cut short or is nothing packed is refused', async () => {
  const packed = await deflated(bytesOf('{"kind":"note","id":"1"}\n'.repeat(40)));
  const bad = [packed.slice(0, -1), packed.slice(0, 5), new Uint8Array(), Uint8Array.of(7, 255, 255, 255)];
  for (const bytes of bad) await expect(inflated(bytes, most)).rejects.toMatchObject({ reason: 'damaged' });
});

test('a copy of a studio goes through a run of codes, read backwards', async () => {
  const copy = readFileSync(new URL('../../testdata/golden/server-export.evenpull', import.meta.url), 'utf8');
  const codes = runCodes(await deflated(bytesOf(copy))) ?? [];
  expect(codes.length).toBeGreaterThan(1);
  const run = takenUp(codes.toReversed());
  const came = await inflated(new Uint8Array((run && bytesOfRun(run)) ?? []), mostUnpackedBytes);
  expect(decodeStudioFile(new TextDecoder().decode(came))).toEqual(decodeStudioFile(copy));
});
