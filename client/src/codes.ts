/** A studio as a run of codes for another phone's camera, and what such a camera reads, until it is a file like any other. */
import { deflated, inflated } from './deflate';
import type { CodesAct, CodesIn, CodesOut } from './state';
import type { Store } from './store/store';
import {
  bytesOf,
  missing,
  mostUnpackedBytes,
  partBytes,
  type Run,
  roundOf,
  runCodes,
  shownAt,
  takeCode,
  takenUp,
} from './sync/code-run';
import { BadFile } from './sync/statefile';

/**
 * The file that a copy would be, packed. It bears the day and not the moment: while nothing is written it is the same run
 * all day, which a phone that stopped reading can take up again.
 */
export async function codesOut(store: Store): Promise<CodesOut> {
  const file = await store.exportCopy(new Date().setHours(0, 0, 0, 0));
  const stays = store.unsaved().length === 0; // what could not be saved is written anew into each file
  if (file.size > mostUnpackedBytes) return { codes: [], count: Math.ceil(file.size / partBytes), round: [], stays };
  const packed = await deflated(new Uint8Array(await file.arrayBuffer()));
  const count = Math.ceil(packed.length / partBytes);
  const round = Array.from({ length: roundOf(count) }, (_, nth) => shownAt(count, nth));
  return { codes: runCodes(packed) ?? [], count, round, stays };
}

/** What is read now. Every code that is new is kept before it counts. */
export async function codesIn(store: Store, act: CodesAct, before: CodesIn = {}): Promise<CodesIn> {
  if (act.do === 'drop') {
    await store.dropCodes(before.run?.id);
    return {};
  }
  if (act.do === 'take-up') return before.run || before.came ? before : made(takenUp(await store.codes(Date.now())));
  const took = takeCode(before.run, act.text);
  if ('fault' in took) return { ...before, fault: took.fault };
  const { run, fresh } = took;
  if (!fresh) return before.fault ? { ...before, fault: undefined } : before;
  await store.keepCode({ run: run.id, index: run.codes.indexOf(act.text), text: act.text, at: Date.now() });
  return made(run);
}

/** With the file where all of the run is here. What does not come out of it whole is refused. */
async function made(run: Run | undefined): Promise<CodesIn> {
  if (!run) return {};
  const read = { run, missing: missing(run) };
  if (read.missing.length > 0) return read;
  const packed = bytesOf(run);
  if (!packed) return { ...read, fault: 'not-whole' };
  try {
    return { ...read, file: new File([await inflated(new Uint8Array(packed), mostUnpackedBytes)], '') };
  } catch (e) {
    if (e instanceof BadFile) return { ...read, fault: 'not-whole' };
    throw e;
  }
}
